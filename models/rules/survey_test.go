package rules_test

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

var surveyDay = models.MustDate("2026-09-12")

func plotsOf(placement models.Placement, plot, stand float64, counts ...int) *models.Plots {
	return &models.Plots{PlotAreaM2: plot, StandAreaM2: stand, Counts: counts, Placement: placement}
}

var (
	tenPlots    = []int{12, 7, 0, 15, 9, 4, 11, 6, 8, 13}
	eightClumps = []int{22, 35, 14, 28, 41, 19, 30, 25}
)

func TestSurveysOfKnownBounds(t *testing.T) {
	clumpCounts := plotsOf(models.Random, 25, 600, 3, 1, 0, 2, 4, 1, 2, 0, 3, 2)
	for _, c := range []struct {
		name       string
		confidence string
		req        models.NewSurvey
		estimate   float64
		error      float64
		bound      float64 // to one place
	}{
		{"plots at 80 %", "0.8", models.NewSurvey{Method: models.PlotCount, Plots: plotsOf(models.Systematic, 4, 400, tenPlots...)}, 850, 135.093, 730.7},
		{"plots at 90 %", "0.9", models.NewSurvey{Method: models.PlotCount, Plots: plotsOf(models.Random, 4, 400, tenPlots...)}, 850, 135.093, 663.2},
		{"plots at 95 %", "0.95", models.NewSurvey{Method: models.PlotCount, Plots: plotsOf(models.Random, 4, 400, tenPlots...)}, 850, 135.093, 602.4},
		{"chosen plots have the computed bound", "0.9", models.NewSurvey{Method: models.PlotCount, Plots: plotsOf(models.Chosen, 4, 400, tenPlots...)}, 850, 135.093, 663.2},
		{"clumps", "0.9", models.NewSurvey{Method: models.ClumpCount, Clumps: &models.Clumps{Total: ptr(37), StemsOnSample: eightClumps}}, 989.75, 100.915, 847.0},
		{"clumps from plots", "0.9", models.NewSurvey{Method: models.ClumpsFromPlots, Plots: clumpCounts, Clumps: &models.Clumps{StemsOnSample: eightClumps}}, 1155.6, 242.558, 812.4},
		{"a census", "0.9", models.NewSurvey{Method: models.Census, Stems: ptr(610), Plants: ptr(42)}, 610, 0, 610},
		{"every clump is a census", "0.9", models.NewSurvey{Method: models.ClumpCount, Clumps: &models.Clumps{Total: ptr(8), StemsOnSample: eightClumps}}, 214, 0, 214},
		{"every plot is a census", "0.9", models.NewSurvey{Method: models.PlotCount, Plots: plotsOf(models.Random, 40, 400, tenPlots...)}, 85, 0, 85},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.req.SurveyedOn = surveyDay
			got, _, err := rules.EnterSurvey(c.req, models.MustDecimal(c.confidence), surveyDay)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(got.Estimate-c.estimate) > 0.05 || math.Abs(*got.StandardError-c.error) > 0.0005 {
				t.Errorf("estimate %v and standard error %v, want %v and %v", got.Estimate, *got.StandardError, c.estimate, c.error)
			}
			if math.Abs(got.LowerBound.Float()-c.bound) >= 0.05 {
				t.Errorf("lower bound %s, want %.1f", got.LowerBound, c.bound)
			}
			if got.StemDefinition != models.DefaultStemDefinition || got.Confidence != models.MustDecimal(c.confidence) {
				t.Errorf("stem definition %q at confidence %s", got.StemDefinition, got.Confidence)
			}
		})
	}
}

func TestAnOcularEstimateIsARange(t *testing.T) {
	got, warnings, err := rules.EnterSurvey(models.NewSurvey{SurveyedOn: surveyDay, Method: models.Ocular, Low: ptr(300), High: ptr(500)}, models.MustDecimal("0.9"), surveyDay)
	if err != nil || len(warnings) > 0 {
		t.Fatal(err, warnings)
	}
	if got.LowerBound != models.DecimalOf(300) || got.Estimate != 400 || got.StandardError != nil {
		t.Errorf("bound %s, estimate %v and standard error %v", got.LowerBound, got.Estimate, got.StandardError)
	}
}

func TestWhichSurveysCountPlants(t *testing.T) {
	clumpCounts := plotsOf(models.Random, 25, 600, 3, 1, 0, 2, 4)
	for _, c := range []struct {
		name   string
		req    models.NewSurvey
		plants int // 0 for none
	}{
		{"a census of plants", models.NewSurvey{Method: models.Census, Stems: ptr(610), Plants: ptr(42)}, 42},
		{"a census of stems", models.NewSurvey{Method: models.Census, Stems: ptr(610)}, 0},
		{"clumps counted", models.NewSurvey{Method: models.ClumpCount, Clumps: &models.Clumps{Total: ptr(37), StemsOnSample: eightClumps}}, 37},
		{"clumps estimated", models.NewSurvey{Method: models.ClumpsFromPlots, Plots: clumpCounts, Clumps: &models.Clumps{StemsOnSample: eightClumps}}, 0},
		{"plots", models.NewSurvey{Method: models.PlotCount, Plots: plotsOf(models.Random, 4, 400, tenPlots...)}, 0},
	} {
		c.req.SurveyedOn = surveyDay
		got, _, err := rules.EnterSurvey(c.req, models.MustDecimal("0.9"), surveyDay)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		plants, counted := got.PlantsCounted()
		if plants != c.plants || counted != (c.plants > 0) {
			t.Errorf("%s: counted %t, %d plants, want %d", c.name, counted, plants, c.plants)
		}
	}
}

func TestSurveysThatCannotBe(t *testing.T) {
	few := []int{3, 4}
	long := strings.Repeat("x", models.MaxNote+1)
	for _, c := range []struct {
		name   string
		req    models.NewSurvey
		code   string
		fields []string
	}{
		{"no day, no method", models.NewSurvey{}, "invalid", []string{"surveyed_on", "method"}},
		{"of tomorrow", models.NewSurvey{SurveyedOn: surveyDay.Add(1), Method: models.Census, Stems: ptr(1)}, "in-the-future", []string{"surveyed_on"}},
		{"texts too long", models.NewSurvey{SurveyedOn: surveyDay, Method: models.Census, Stems: ptr(1), StemDefinition: long, SurveyedBy: long}, "invalid", []string{"surveyed_by", "stem_definition"}},
		{"a census without stems", models.NewSurvey{SurveyedOn: surveyDay, Method: models.Census}, "invalid", []string{"stems"}},
		{"fewer than no stems", models.NewSurvey{SurveyedOn: surveyDay, Method: models.Census, Stems: ptr(-1), Plants: ptr(0)}, "invalid", []string{"plants", "stems"}},
		{"a census with plots", models.NewSurvey{SurveyedOn: surveyDay, Method: models.Census, Stems: ptr(1), Plots: plotsOf("", 1, 2, 1)}, "invalid", []string{"plots"}},
		{"a range upside down", models.NewSurvey{SurveyedOn: surveyDay, Method: models.Ocular, Low: ptr(9), High: ptr(8)}, "invalid", []string{"low"}},
		{"a range with one end", models.NewSurvey{SurveyedOn: surveyDay, Method: models.Ocular, Low: ptr(9)}, "invalid", []string{"high"}},
		{"plots without plots", models.NewSurvey{SurveyedOn: surveyDay, Method: models.PlotCount}, "invalid", []string{"plots"}},
		{"two plots", models.NewSurvey{SurveyedOn: surveyDay, Method: models.PlotCount, Plots: plotsOf(models.Random, 4, 400, few...)}, "too-few-plots", []string{"plots.counts"}},
		{"plots beyond the stand", models.NewSurvey{SurveyedOn: surveyDay, Method: models.PlotCount, Plots: plotsOf(models.Random, 41, 400, tenPlots...)}, "plots-beyond-stand", []string{"plots.plot_area_m2"}},
		{"plots without area", models.NewSurvey{SurveyedOn: surveyDay, Method: models.PlotCount, Plots: plotsOf(models.Random, 0, 400, tenPlots...)}, "invalid", []string{"plots.plot_area_m2"}},
		{"a stand without area", models.NewSurvey{SurveyedOn: surveyDay, Method: models.PlotCount, Plots: plotsOf(models.Random, 4, -1, tenPlots...)}, "invalid", []string{"plots.stand_area_m2"}},
		{"an unknown placement", models.NewSurvey{SurveyedOn: surveyDay, Method: models.PlotCount, Plots: plotsOf("grid", 4, 400, 1, -2, 3)}, "invalid", []string{"plots.placement", "plots.counts[1]"}},
		{"two clumps", models.NewSurvey{SurveyedOn: surveyDay, Method: models.ClumpCount, Clumps: &models.Clumps{Total: ptr(9), StemsOnSample: few}}, "too-few-clumps", []string{"clumps.stems_on_sample"}},
		{"more clumps sampled than counted", models.NewSurvey{SurveyedOn: surveyDay, Method: models.ClumpCount, Clumps: &models.Clumps{Total: ptr(7), StemsOnSample: eightClumps}}, "sample-beyond-clumps", []string{"clumps.stems_on_sample"}},
		{"clumps not counted", models.NewSurvey{SurveyedOn: surveyDay, Method: models.ClumpCount, Clumps: &models.Clumps{StemsOnSample: eightClumps}}, "invalid", []string{"clumps.total"}},
		{"clumps counted and estimated", models.NewSurvey{SurveyedOn: surveyDay, Method: models.ClumpsFromPlots, Plots: plotsOf(models.Random, 4, 400, tenPlots...), Clumps: &models.Clumps{Total: ptr(9), StemsOnSample: eightClumps}}, "invalid", []string{"clumps.total"}},
		{"more stems than can be", models.NewSurvey{SurveyedOn: surveyDay, Method: models.PlotCount, Plots: plotsOf(models.Random, 0.001, 1e6, 1000, 2000, 3000)}, "invalid", []string{"plots.stand_area_m2"}},
		{"more clumps than stems can be on", models.NewSurvey{SurveyedOn: surveyDay, Method: models.ClumpCount, Clumps: &models.Clumps{Total: ptr(1_000_000), StemsOnSample: []int{1000, 900, 1000}}}, "invalid", []string{"clumps.total"}},
		{"more clumps on plots than stems can be on", models.NewSurvey{SurveyedOn: surveyDay, Method: models.ClumpsFromPlots, Plots: plotsOf(models.Random, 0.001, 1e6, 1000, 2000, 3000), Clumps: &models.Clumps{StemsOnSample: eightClumps}}, "invalid", []string{"plots.stand_area_m2"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, err := rules.EnterSurvey(c.req, models.MustDecimal("0.9"), surveyDay)
			wantFault(t, err, c.code, c.fields...)
		})
	}
}

// wantFault fails unless an error is Invalid with a code and names fields, in
// their order.
func wantFault(t *testing.T, err error, code string, fields ...string) {
	t.Helper()
	var e *models.Error
	if !errors.As(err, &e) {
		t.Fatalf("the error is %v", err)
	}
	var names []string
	for _, f := range e.Fields {
		names = append(names, f.Name)
	}
	if e.Kind != models.Invalid || e.Code != code || !slices.Equal(names, fields) {
		t.Errorf("%s %s about %q, want invalid %s about %q", e.Kind, e.Code, names, code, fields)
	}
}

func TestWhatASurveyWarnsOf(t *testing.T) {
	_, warnings, err := rules.EnterSurvey(models.NewSurvey{SurveyedOn: surveyDay, Method: models.Census, Stems: ptr(3), Plants: ptr(5)}, models.MustDecimal("0.9"), surveyDay)
	if err != nil || len(warnings) != 1 || !strings.Contains(warnings[0], "5 plants with only 3 stems") {
		t.Errorf("%q, %v", warnings, err)
	}
	got, warnings, err := rules.EnterSurvey(models.NewSurvey{SurveyedOn: surveyDay, Method: models.PlotCount, Plots: plotsOf("", 4, 400, tenPlots...)}, models.MustDecimal("0.9"), surveyDay)
	if err != nil || len(warnings) != 1 || got.Plots.Placement != models.Random || !got.Counted() {
		t.Errorf("plots of unsaid placement are %s, with %q, %v", got.Plots.Placement, warnings, err)
	}
}

// A bound is never below the stems that were counted one by one, nor above the
// estimate.
func TestABoundLiesBetweenTheCountAndTheEstimate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		counts := rapid.SliceOfN(rapid.IntRange(0, 60), 3, 20).Draw(t, "counts")
		area := rapid.Float64Range(1, 50).Draw(t, "plots to the stand")
		seen := 0
		for _, n := range counts {
			seen += n
		}
		got, _, err := rules.EnterSurvey(models.NewSurvey{
			SurveyedOn: surveyDay, Method: models.PlotCount,
			Plots: plotsOf(models.Random, 1, float64(len(counts))*area, counts...),
		}, models.MustDecimal("0.9"), surveyDay)
		if err != nil {
			t.Fatal(err)
		}
		if got.LowerBound < models.DecimalOf(seen) || got.LowerBound.Float() > got.Estimate+1e-9 {
			t.Errorf("the bound %s is not between the %d counted and the estimate %v", got.LowerBound, seen, got.Estimate)
		}
	})
}

func TestSurveysKeepTheOrderOfDayThenOfEntry(t *testing.T) {
	var list []models.Survey
	for i, on := range []string{"2026-03-01", "2026-01-01", "2026-03-01", "2026-02-01", "2026-01-01"} {
		list = rules.WithSurvey(list, models.Survey{ID: string(rune('a' + i)), SurveyedOn: date(on)})
	}
	order := ""
	for _, s := range list {
		order += s.ID
	}
	if order != "bedac" {
		t.Errorf("the order is %s", order)
	}
}

func TestDisturbances(t *testing.T) {
	today := date("2026-03-01")
	got, err := rules.EnterDisturbance(models.NewDisturbance{On: today, Kind: "die-back", By: " OP  "}, today)
	if err != nil || got.Kind != "die-back" || got.ReportedBy != "OP" || got.HappenedOn != today {
		t.Errorf("%+v, %v", got, err)
	}
	_, err = rules.EnterDisturbance(models.NewDisturbance{On: today.Add(1), Kind: "picnic", By: strings.Repeat("x", 81)}, today)
	wantFault(t, err, "in-the-future", "on", "by", "kind")
	_, err = rules.EnterDisturbance(models.NewDisturbance{Kind: "flood"}, today)
	wantFault(t, err, "invalid", "on")
}

// At the most that can be counted every method either gives a bound within it, or
// says which number is too large.
func TestEveryMethodAtItsLimit(t *testing.T) {
	most := models.MaxCount
	full := []int{most, most, most}
	for _, c := range []struct {
		name  string
		req   models.NewSurvey
		field string // "" where it can be
	}{
		{"census", models.NewSurvey{Method: models.Census, Stems: ptr(most), Plants: ptr(most)}, ""},
		{"ocular", models.NewSurvey{Method: models.Ocular, Low: ptr(most), High: ptr(most)}, ""},
		{"every clump", models.NewSurvey{Method: models.ClumpCount, Clumps: &models.Clumps{Total: ptr(3), StemsOnSample: []int{most / 3, most / 3, most / 3}}}, ""},
		{"most clumps of one stem", models.NewSurvey{Method: models.ClumpCount, Clumps: &models.Clumps{Total: ptr(most), StemsOnSample: []int{1, 1, 1}}}, ""},
		{"most clumps of two stems", models.NewSurvey{Method: models.ClumpCount, Clumps: &models.Clumps{Total: ptr(most), StemsOnSample: []int{2, 2, 2}}}, "clumps.total"},
		{"most clumps of most stems", models.NewSurvey{Method: models.ClumpCount, Clumps: &models.Clumps{Total: ptr(most), StemsOnSample: full}}, "clumps.total"},
		{"full plots", models.NewSurvey{Method: models.PlotCount, Plots: plotsOf(models.Random, 1, 3, full...)}, "plots.stand_area_m2"},
		{"full plots and clumps", models.NewSurvey{Method: models.ClumpsFromPlots, Plots: plotsOf(models.Random, 1, 3, full...), Clumps: &models.Clumps{StemsOnSample: full}}, "plots.stand_area_m2"},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.req.SurveyedOn = surveyDay
			got, _, err := rules.EnterSurvey(c.req, models.MustDecimal("0.9"), surveyDay)
			if c.field != "" {
				wantFault(t, err, "invalid", c.field)
				return
			}
			if err != nil || got.LowerBound < 0 || got.LowerBound > models.DecimalOf(most) {
				t.Errorf("the bound is %s, %v", got.LowerBound, err)
			}
		})
	}
}

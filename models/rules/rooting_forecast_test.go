package rules_test

import (
	"context"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/stats"
)

// foreseen is a batch that was looked at every two weeks: of 100 cuttings a share
// roots by a log-normal law with a median of 28 days.
func foreseen(id string, stuckOn models.Date, keys map[string]string, share float64, looks int) rules.Watched {
	law := stats.Law{Family: stats.LogNormal, Mu: 3.332, Sigma: 0.3}
	w := rules.Watched{StuckOn: stuckOn, Keys: keys, FinalAt: 84, Lot: stats.Lot{ID: id, Cuttings: 100}}
	rooted := 0
	for i := 1; i <= looks; i++ {
		now := int(100*share*law.By(float64(14*i)) + 0.5)
		w.Lot.Looks = append(w.Lot.Looks, stats.Look{Day: int32(14 * i), Rooted: int32(now - rooted), Saw: stats.SawRoots})
		rooted = now
	}
	return w
}

func dogwoods(treatment string) map[string]string {
	return map[string]string{"taxon": "Cornus sericea", "kind": "hardwood", "treatment": treatment, "heated": "yes"}
}

// watchedYear is closed batches of a year, with shares that differ.
func watchedYear(year int, treatment string, batches int) []rules.Watched {
	var all []rules.Watched
	for i := range batches {
		share := 0.6 + 0.05*float64(i%5)
		all = append(all, foreseen(fmt.Sprintf("%s-%d-%d", treatment, year, i), models.NewDate(year, 1, 10+i), dogwoods(treatment), share, 9))
	}
	return all
}

func everyBatch(*rules.Watched) bool { return true }

func forecasts(t interface{ Fatal(...any) }, batches []rules.Watched, ask rules.ForecastAsk) map[string]models.BatchForecast {
	r, err := rules.ForecastReport(context.Background(), batches, everyBatch, ask)
	if err != nil {
		t.Fatal(err)
	}
	byCode := map[string]models.BatchForecast{}
	for _, b := range r.Batches {
		byCode[b.Batch] = b
	}
	return byCode
}

func TestTheSearchForAPoolGoesWider(t *testing.T) {
	pool := watchedYear(2024, "none", 6)
	on := day("2025-02-10")
	cases := []struct {
		name, level string
		keys        map[string]string
	}{
		{"as treated before", "taxon_kind_treatment", dogwoods("none")},
		{"treated as never before", "taxon_kind", dogwoods("willow water 100 g/L 24 h")},
		{"of another kind", "taxon", map[string]string{"taxon": "cornus  SERICEA", "kind": "softwood", "treatment": "none"}},
		{"of another taxon", "prior", map[string]string{"taxon": "Salix scouleriana", "kind": "hardwood", "treatment": "none"}},
		{"of no known taxon", "prior", map[string]string{}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			open := foreseen("open", day("2025-01-10"), c.keys, 0.7, 2)
			f := forecasts(t, append(pool, open), rules.ForecastAsk{On: on})["open"]
			if f.Pool.Level != c.level || c.level != "taxon_kind_treatment" && len(f.Pool.Wider) == 0 {
				t.Errorf("%+v", f.Pool)
			}
			if c.level != "prior" && (f.Pool.RhoAssumed || f.Pool.Batches < 6) {
				t.Errorf("%+v", f.Pool)
			}
			if c.level == "prior" && (!f.Pool.RhoAssumed || f.Pool.Rho != stats.UsualRho || !strings.Contains(strings.Join(f.Notes, " "), "general experience")) {
				t.Errorf("%+v %q", f.Pool, f.Notes)
			}
		})
	}
}

func TestAForecastOfABatch(t *testing.T) {
	batches := append(watchedYear(2024, "none", 6), foreseen("open", day("2025-01-10"), dogwoods("none"), 0.7, 2))
	f := forecasts(t, batches, rules.ForecastAsk{On: day("2025-02-10")})["open"]
	if f.Rooted != 35 || f.Open != 65 || f.LastDay != 28 {
		t.Fatalf("%+v", f)
	}
	if f.ExpectedFinal < 62 || f.ExpectedFinal > 78 || f.FinalLower >= 70 || f.FinalUpper < 70 {
		t.Errorf("%g in the end, %d to %d", f.ExpectedFinal, f.FinalLower, f.FinalUpper)
	}
	if f.Pot.Status != "by_day" || *f.Pot.Day <= 28 || *f.Pot.On != day("2025-01-10").Add(*f.Pot.Day) {
		t.Errorf("%+v", f.Pot)
	}
	if f.HalfDay == nil || *f.HalfDay < 32 || *f.HalfDay > 38 { // three quarters of the law's days
		t.Errorf("half by %v", f.HalfDay)
	}
	if f.NextWeek <= 0 || f.NextWeek >= f.ExpectedFinal-35 {
		t.Errorf("%g next week", f.NextWeek)
	}
	for _, want := range []struct {
		wanted int
		status string
	}{{35, "now"}, {50, "by_day"}, {101, "not_reached"}} {
		got := forecasts(t, batches, rules.ForecastAsk{On: day("2025-02-10"), Wanted: want.wanted})["open"].Pot
		if got.Status != want.status || (got.Day == nil) != (want.status == "not_reached") {
			t.Errorf("%d wanted: %+v", want.wanted, got)
		}
	}
}

func TestForecastsHangOnNoOrder(t *testing.T) {
	batches := append(watchedYear(2024, "none", 5), watchedYear(2025, "soak", 3)...)
	batches = append(batches, foreseen("open", day("2025-02-01"), dogwoods("none"), 0.5, 3))
	want := forecasts(t, batches, rules.ForecastAsk{On: day("2025-04-01")})
	rapid.Check(t, func(t *rapid.T) {
		got := forecasts(t, rapid.Permutation(batches).Draw(t, "order"), rules.ForecastAsk{On: day("2025-04-01")})
		if !reflect.DeepEqual(got, want) {
			t.Fatal("the order of batches moved a forecast")
		}
	})
}

func calibrate(t interface{ Fatal(...any) }, batches []rules.Watched, ask rules.CalibrationAsk) models.Calibration {
	c, err := rules.Calibrate(context.Background(), batches, rules.FilePast(batches), ask)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestCalibrationOfLittle(t *testing.T) {
	for name, batches := range map[string][]rules.Watched{
		"nothing":            nil,
		"never looked at":    {foreseen("a", day("2025-01-10"), dogwoods("none"), 0.7, 0)},
		"one look":           {foreseen("a", day("2025-01-10"), dogwoods("none"), 0.7, 1)},
		"one look each":      {foreseen("a", day("2025-01-10"), dogwoods("none"), 0.7, 1), foreseen("b", day("2025-01-10"), dogwoods("none"), 0.7, 1)},
		"all rooted at once": {{StuckOn: day("2025-01-10"), Lot: stats.Lot{ID: "a", Cuttings: 3, Looks: []stats.Look{{Day: 9, Rooted: 3, Saw: stats.SawRoots}, {Day: 20, Saw: stats.SawRoots}}}}},
	} {
		if c := calibrate(t, batches, rules.CalibrationAsk{}); c.Status != "not_enough_yet" || c.Held.Held != nil || c.Days.MeanError != nil || c.Counts.Forecast != nil {
			t.Errorf("%s: %+v", name, c)
		}
	}
}

func TestCalibrationCounts(t *testing.T) {
	batches := append(watchedYear(2024, "none", 5), watchedYear(2025, "none", 5)...)
	all := calibrate(t, batches, rules.CalibrationAsk{})
	if all.Status != "scored" || all.Origins != 80 || all.OriginsLeft != 0 || all.Held.Batches != 10 || all.Held.Looks != 10*8*9/2 {
		t.Errorf("%+v", all)
	}
	if h := all.Held; !(*h.Lower <= *h.Held && *h.Held <= *h.Upper) || *h.Expected < 0.8 || *h.Expected > 1 {
		t.Errorf("%g in %g to %g, and %g expected", *h.Held, *h.Lower, *h.Upper, *h.Expected)
	}
	if c := all.Counts; c.Batches != 5 || *c.Forecast <= 0 || *c.LastSeason <= 0 {
		t.Errorf("only the second season has one before it: %+v", c)
	}
	newest := calibrate(t, batches, rules.CalibrationAsk{Origins: 10})
	if newest.Origins != 10 || newest.OriginsLeft != 70 || len(newest.Notes) != 1 {
		t.Errorf("%+v", newest)
	}
	second := func(w *rules.Watched) bool { return w.StuckOn.Year() == 2025 }
	if c := calibrate(t, batches, rules.CalibrationAsk{Shown: second}); c.Origins != 40 || c.Held.Batches != 5 {
		t.Errorf("%+v", c)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := rules.Calibrate(ctx, batches, rules.FilePast(batches), rules.CalibrationAsk{}); err == nil {
		t.Error("it went on after it was stopped")
	}
}

// What comes later, dated or entered, changes no forecast of a day before it.
func TestNothingLeaksIntoThePast(t *testing.T) {
	set := rules.DefaultSettings()
	rapid.Check(t, func(t *rapid.T) {
		var records []*models.BatchRecord
		for range rapid.IntRange(1, 4).Draw(t, "batches") {
			records = append(records, drawBatch(t))
		}
		on := records[0].CollectedOn.Add(rapid.IntRange(0, 150).Draw(t, "day"))
		enterOnTheirDay(records)
		pruned := withoutLater(records, on)
		if rapid.Bool().Draw(t, "one entered late") {
			enterLate(records, pruned, on)
		}
		want, err := rules.RecordPast(pruned, &set.Thresholds, noon.Location())(context.Background(), on)
		if err != nil {
			t.Fatal(err)
		}
		got, err := rules.RecordPast(records, &set.Thresholds, noon.Location())(context.Background(), on)
		if err != nil || !reflect.DeepEqual(got, want) {
			t.Fatalf("on %s:\n%+v\n%+v\n%v", on, got, want, err)
		}
	})
}

// Later rows of a file leave what is told of a past day as it was.
func TestAFileHasNoLeaksEither(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		batches := append(watchedYear(2024, "none", 4), watchedYear(2025, "none", 3)...)
		on := day("2024-01-10").Add(rapid.IntRange(0, 500).Draw(t, "day"))
		want := forecastsOn(t, batches, on)
		for i := range batches {
			w := &batches[i]
			looks := w.Lot.Until(on.Sub(w.StuckOn)).Looks
			w.Lot.Looks = append(looks[:len(looks):len(looks)], stats.Look{
				Day: int32(max(on.Sub(w.StuckOn), 0) + rapid.IntRange(1, 90).Draw(t, "later")), Rooted: int32(100 - w.Lot.Rooted()), Saw: stats.SawRoots,
			})
		}
		if got := forecastsOn(t, batches, on); !reflect.DeepEqual(got, want) {
			t.Fatalf("what was found after %s moved a forecast of that day", on)
		}
	})
}

func forecastsOn(t *rapid.T, batches []rules.Watched, on models.Date) map[string]models.BatchForecast {
	known, err := rules.FilePast(batches)(context.Background(), on)
	if err != nil {
		t.Fatal(err)
	}
	return forecasts(t, known, rules.ForecastAsk{On: on})
}

package rules_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"withybed/models"
	"withybed/models/rules"
)

var standDay = models.MustDate("2026-03-01")

func newStand(change ...func(*models.NewStand)) models.NewStand {
	req := models.NewStand{Code: "TB-01", Name: "Wrenlow Bend", Taxon: "Cornus sericea"}
	for _, c := range change {
		c(&req)
	}
	return req
}

func TestAStandTakesTheDefaultsOfItsDay(t *testing.T) {
	defaults := rules.DefaultSettings().HarvestRule
	stand, rule, closures, err := rules.EnterStand(newStand(func(r *models.NewStand) {
		r.Name, r.Place = "  Wrenlow   Bend ", " Wrenlow  Flats "
	}), defaults, standDay)
	if err != nil {
		t.Fatal(err)
	}
	if stand.Name != "Wrenlow Bend" || stand.Place != "Wrenlow Flats" || stand.CodeKey != "tb-01" || stand.Sensitivity != models.MediumSensitivity || stand.Version != 1 {
		t.Errorf("%+v", stand)
	}
	if rule.HarvestRule != defaults || rule.InForceFrom != standDay || rule.Why == "" {
		t.Errorf("its rule is %+v", rule)
	}
	if defaults.StandCap != models.MustDecimal("0.05") || defaults.PerPlantCap != models.MustDecimal("0.1") || defaults.WindowDays != 350 || defaults.SurveyValidDays != 500 {
		t.Errorf("the cautious defaults are %+v", defaults)
	}
	if len(closures.Closures) != 0 || closures.InForceFrom != standDay {
		t.Errorf("its closures are %+v", closures)
	}
}

func TestAStandHasARuleOfItsOwn(t *testing.T) {
	_, rule, closures, err := rules.EnterStand(newStand(func(r *models.NewStand) {
		r.HarvestRule = &models.NewHarvestRule{StandCap: ptr(models.MustDecimal("0.02")), Basis: ptr("agreed in September")}
		r.Closures = []models.Closure{{From: "04-15", To: "07-31", EveryYear: true, Reason: " birds  nest "}}
	}), rules.DefaultSettings().HarvestRule, standDay)
	if err != nil {
		t.Fatal(err)
	}
	if rule.StandCap != models.MustDecimal("0.02") || rule.PerPlantCap != models.MustDecimal("0.1") || rule.Basis != "agreed in September" {
		t.Errorf("its rule is %+v", rule)
	}
	want := []models.Closure{{From: "04-15", To: "07-31", EveryYear: true, Reason: "birds nest", Kind: models.Closed}}
	if diff := cmp.Diff(want, closures.Closures); diff != "" {
		t.Error(diff)
	}
}

func TestStandsThatCannotBe(t *testing.T) {
	long := strings.Repeat("x", models.MaxName+1)
	for _, c := range []struct {
		name   string
		change func(*models.NewStand)
		code   string
		fields []string
	}{
		{"a code with a space", func(r *models.NewStand) { r.Code = "TB 01" }, "invalid", []string{"code"}},
		{"a code that begins with a dash", func(r *models.NewStand) { r.Code = "-01" }, "invalid", []string{"code"}},
		{"a code too long", func(r *models.NewStand) { r.Code = strings.Repeat("x", 25) }, "invalid", []string{"code"}},
		{"a code of two lines", func(r *models.NewStand) { r.Code = "TB-01\n" }, "invalid", []string{"code"}},
		{"no name", func(r *models.NewStand) { r.Name = "  " }, "invalid", []string{"name"}},
		{"texts too long", func(r *models.NewStand) { r.Name, r.Place, r.LandManager = long, long, long }, "invalid", []string{"name", "place", "land_manager"}},
		{"beyond the pole", func(r *models.NewStand) { r.Latitude, r.Longitude = ptr(90.1), ptr(-180.1) }, "invalid", []string{"latitude", "longitude"}},
		{"latitude alone", func(r *models.NewStand) { r.Latitude = ptr(46.0) }, "invalid", []string{"longitude"}},
		{"longitude alone", func(r *models.NewStand) { r.Longitude = ptr(-122.0) }, "invalid", []string{"longitude"}},
		{"uncertainty of nothing", func(r *models.NewStand) { r.CoordinateUncertaintyM = ptr(5.0) }, "invalid", []string{"coordinate_uncertainty_m"}},
		{"an unknown sensitivity", func(r *models.NewStand) { r.Sensitivity = "secret" }, "invalid", []string{"sensitivity"}},
		{"a cap over 1", func(r *models.NewStand) {
			r.HarvestRule = &models.NewHarvestRule{StandCap: ptr(models.MustDecimal("1.0001"))}
		}, "out-of-range", []string{"harvest_rule.stand_cap"}},
		{"a cap of nothing", func(r *models.NewStand) { r.HarvestRule = &models.NewHarvestRule{StandCap: ptr(models.Decimal(0))} }, "out-of-range", []string{"harvest_rule.stand_cap"}},
		{"a yearly closure with a year", func(r *models.NewStand) {
			r.Closures = []models.Closure{{From: "2026-04-15", To: "02-30", EveryYear: true}}
		}, "bad-date", []string{"closures[0].from", "closures[0].to"}},
		{"a dated closure without one", func(r *models.NewStand) {
			r.Closures = []models.Closure{{From: "2026-04-15", To: "2026-04-16"}, {From: "04-15", To: "2026-04-16"}}
		}, "bad-date", []string{"closures[1].from"}},
		{"a dated closure backwards", func(r *models.NewStand) { r.Closures = []models.Closure{{From: "2026-04-15", To: "2026-04-14"}} }, "invalid", []string{"closures[0].to"}},
		{"an unknown kind of closure", func(r *models.NewStand) {
			r.Closures = []models.Closure{{From: "12-15", To: "01-14", EveryYear: true, Kind: "shut"}}
		}, "invalid", []string{"closures[0].kind"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, _, err := rules.EnterStand(newStand(c.change), rules.DefaultSettings().HarvestRule, standDay)
			wantFault(t, err, c.code, c.fields...)
		})
	}
}

func TestAnEditChangesWhatItNames(t *testing.T) {
	stand := standOf(func(r *models.StandRecord) {
		r.Place, r.Latitude, r.Longitude, r.CoordinateUncertaintyM, r.Sensitivity = "Wrenlow Flats", ptr(46.0), ptr(-122.0), ptr(9.0), models.HighSensitivity
	})
	after, rule, closures, err := rules.EditStand(stand, models.StandEdit{
		Name: models.SetTo(" Upper  bank "), Latitude: models.SetNull[float64](), Longitude: models.SetNull[float64](),
		CoordinateUncertaintyM: models.SetNull[float64](), Sensitivity: models.SetNull[models.Sensitivity](),
	}, standDay)
	if err != nil || rule != nil || closures != nil {
		t.Fatal(rule, closures, err)
	}
	want := stand.Stand
	want.Name, want.Latitude, want.Longitude, want.CoordinateUncertaintyM = "Upper bank", nil, nil, nil
	want.Sensitivity = models.MediumSensitivity
	if diff := cmp.Diff(want, after); diff != "" {
		t.Error(diff)
	}
}

func TestARuleOfAnEditGoesOnFromTheOneItFollows(t *testing.T) {
	stand := standOf()
	stand.Rules = append(stand.Rules, ruleFrom("2026-11-01", "0.02"))
	for from, perPlant := range map[string]string{"": "0.05", "2026-10-31": "0.05", "2026-11-01": "0.02"} {
		edit := models.StandEdit{HarvestRule: &models.NewHarvestRule{WindowDays: ptr(700)}, Why: "asked for", By: "OP"}
		if from != "" {
			edit.InForceFrom = date(from)
		}
		_, rule, closures, err := rules.EditStand(stand, edit, standDay)
		if err != nil || closures != nil {
			t.Fatal(closures, err)
		}
		if rule.StandCap != models.MustDecimal(perPlant) || rule.WindowDays != 700 || rule.Why != "asked for" || rule.SetBy != "OP" {
			t.Errorf("from %q: %+v", from, rule)
		}
		if start := edit.InForceFrom; rule.InForceFrom != start && (!start.IsZero() || rule.InForceFrom != standDay) {
			t.Errorf("from %q it is in force from %s", from, rule.InForceFrom)
		}
	}
}

func TestClosuresOfAnEditReplaceTheList(t *testing.T) {
	nesting := models.Closure{From: "04-15", To: "07-31", EveryYear: true, Kind: models.Closed}
	stand := standOf(func(r *models.StandRecord) {
		r.Closures = []models.ClosureVersion{{Closures: []models.Closure{nesting}}}
	})
	_, _, closures, err := rules.EditStand(stand, models.StandEdit{Closures: &[]models.Closure{}, InForceFrom: date("2026-01-01")}, standDay)
	if err != nil || closures == nil || len(closures.Closures) != 0 || closures.InForceFrom != date("2026-01-01") {
		t.Errorf("%+v, %v", closures, err)
	}
	_, _, closures, err = rules.EditStand(stand, models.StandEdit{Closures: &[]models.Closure{nesting}}, standDay)
	if err != nil || closures != nil {
		t.Errorf("the same closures start a version: %+v, %v", closures, err)
	}
}

func TestTheSameRuleStartsNoVersion(t *testing.T) {
	stand := standOf()
	window := stand.Rules[0].WindowDays
	_, rule, _, err := rules.EditStand(stand, models.StandEdit{HarvestRule: &models.NewHarvestRule{WindowDays: &window}}, standDay)
	if err != nil || rule != nil {
		t.Errorf("the same rule starts a version: %+v, %v", rule, err)
	}
}

func TestAnEditThatDoesNotSayWhyIsWarnedOf(t *testing.T) {
	said, bare := &models.RuleVersion{Why: "asked for", SetBy: "OP"}, &models.ClosureVersion{Why: "asked for"}
	if warnings := rules.EditWarnings(standOf(), &models.StandEdit{HarvestRule: &models.NewHarvestRule{}}, said, nil); len(warnings) != 0 {
		t.Errorf("%q", warnings)
	}
	if warnings := rules.EditWarnings(standOf(), &models.StandEdit{}, said, bare); len(warnings) != 1 {
		t.Errorf("%q", warnings)
	}
}

func TestEditsThatCannotBe(t *testing.T) {
	for _, c := range []struct {
		name   string
		edit   models.StandEdit
		code   string
		fields []string
	}{
		{"no name", models.StandEdit{Name: models.SetNull[string]()}, "invalid", []string{"name"}},
		{"half a place", models.StandEdit{Latitude: models.SetTo(46.0)}, "invalid", []string{"longitude"}},
		{"a day for nothing", models.StandEdit{InForceFrom: standDay}, "invalid", []string{"in_force_from"}},
		{"a rule and closures", models.StandEdit{
			HarvestRule: &models.NewHarvestRule{PerPlantCap: ptr(models.MustDecimal("2"))},
			Closures:    &[]models.Closure{{From: "x", To: "y"}},
		}, "out-of-range", []string{"harvest_rule.per_plant_cap", "closures[0].from", "closures[0].to"}},
		{"words too long", models.StandEdit{Why: strings.Repeat("x", 2001), By: strings.Repeat("x", 81)}, "invalid", []string{"why", "by"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, _, err := rules.EditStand(standOf(), c.edit, standDay)
			wantFault(t, err, c.code, c.fields...)
		})
	}
}

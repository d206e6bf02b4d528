package rules_test

import (
	"encoding/json"
	"reflect"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/rules"
)

// jsonNames are the names of a struct's fields in JSON.
func jsonNames(v any) []string {
	var names []string
	for field := range reflect.TypeOf(v).Fields() {
		name, _, _ := strings.Cut(field.Tag.Get("json"), ",")
		names = append(names, name)
	}
	return names
}

func TestEveryThresholdHasADefaultAndABasis(t *testing.T) {
	set := rules.DefaultSettings()
	values := reflect.ValueOf(set.Thresholds)
	names := jsonNames(set.Thresholds)
	for i, name := range names {
		if values.Field(i).IsZero() {
			t.Errorf("%s has no default", name)
		}
		if set.Bases[name] == "" {
			t.Errorf("%s has no basis", name)
		}
		edit := models.NurseryEdit{Thresholds: map[string]any{name: nil}}
		if _, err := rules.EditSettings(set, edit); err != nil {
			t.Errorf("%s cannot be set: %v", name, err)
		}
	}
	if set.Bases["confidence"] == "" || set.HarvestRule.Basis == "" {
		t.Error("the confidence or the harvest rule has no basis")
	}
	if want := len(names) + 1; len(set.Bases) != want {
		t.Errorf("%d bases for %d numbers", len(set.Bases), want)
	}
}

// A nursery that was made before a threshold came into being gets its default; what
// somebody set to zero stays.
func TestFillSettings(t *testing.T) {
	set := rules.DefaultSettings()
	set.Thresholds.FewParents, set.Thresholds.DonorShare, set.Thresholds.SoakWarning = 0, 0, 0
	delete(set.Bases, "few_parents")
	delete(set.Bases, "donor_share")
	before := set.Bases
	rules.FillSettings(&set)
	want := rules.DefaultSettings()
	want.Thresholds.SoakWarning = 0
	if !reflect.DeepEqual(set, want) {
		t.Errorf("filled: %+v", set)
	}
	if before["few_parents"] != "" {
		t.Error("the bases that were given have changed")
	}
	bare := models.Settings{}
	if rules.FillSettings(&bare); bare.Bases["few_parents"] == "" {
		t.Errorf("of none: %+v", bare)
	}
}

func TestDefaults(t *testing.T) {
	set := rules.DefaultSettings()
	want := models.Thresholds{
		StickAfter: 2, SoakWarning: 2, SoakInLeaf: 7, SoakWillow: 14, SoakDogwood: 10, SoakOther: 3,
		StoreRefrigerator: 14, StoreCold: 90,
		FirstCheck: 14, FirstCheckWater: 7, CheckEvery: 14, CheckEveryMist: 7, CheckEveryWater: 4, CheckEveryCold: 30,
		WarmFrom: "03-01", ReadyShare: models.MustDecimal("0.5"), ReadyAfter: 14, ReadyAfterWater: 7,
		WaitedLong: 42, WaitedLongWater: 21, CutoffWater: 28, CutoffWillow: 56, CutoffOther: 84, CutoffSlow: 112,
		FinishedAfter: 84, FinishedAfterSlow: 112, NoticeShare: models.MustDecimal("0.8"), SurveyExpiryNotice: 60, PermitExpiryNotice: 120,
		FewParents: 5, DonorShare: models.MustDecimal("0.5"),
	}
	if set.Thresholds != want {
		t.Errorf("thresholds %+v, want %+v", set.Thresholds, want)
	}
	rule := set.HarvestRule
	if rule.StandCap != models.MustDecimal("0.05") || rule.PerPlantCap != models.MustDecimal("0.1") ||
		rule.WindowDays != 350 || rule.SurveyValidDays != 500 || set.Confidence != models.MustDecimal("0.9") {
		t.Errorf("harvest rule %+v, confidence %s", rule, set.Confidence)
	}
	if set.ReminderDay != "monday" || set.ReminderHour != 7 || set.TimeZone != "UTC" || set.Name == "" {
		t.Errorf("%q, reminder %s %d, zone %s", set.Name, set.ReminderDay, set.ReminderHour, set.TimeZone)
	}
}

// editOf reads a merge patch as the API does.
func editOf(t *testing.T, text string) models.NurseryEdit {
	t.Helper()
	var edit models.NurseryEdit
	if err := json.Unmarshal([]byte(text), &edit); err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	return edit
}

func mustEdit(t *testing.T, set models.Settings, text string) models.Settings {
	t.Helper()
	after, err := rules.EditSettings(set, editOf(t, text))
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	return after
}

func TestEditSettings(t *testing.T) {
	set := rules.DefaultSettings()
	after := mustEdit(t, set, `{"name":"  Wrenlow  Valley ","time_zone":"America/Los_Angeles","reminder_day":"FriDay","reminder_hour":0,
		"confidence":0.8,"harvest_rule":{"stand_cap":0.04},"thresholds":{"check_every":10,"ready_share":0.6,"warm_from":"04-15"}}`)
	if after.Name != "Wrenlow Valley" || after.TimeZone != "America/Los_Angeles" || after.ReminderDay != "friday" || after.ReminderHour != 0 {
		t.Errorf("name, zone, day or hour: %+v", after)
	}
	th := after.Thresholds
	if after.Confidence != models.MustDecimal("0.8") || after.HarvestRule.StandCap != models.MustDecimal("0.04") ||
		th.CheckEvery != 10 || th.ReadyShare != models.MustDecimal("0.6") || th.WarmFrom != "04-15" {
		t.Errorf("numbers: %+v", after)
	}
	if th.FirstCheck != 14 || after.HarvestRule.PerPlantCap != models.MustDecimal("0.1") {
		t.Error("what was left out has changed")
	}
	if reflect.DeepEqual(set, after) || set.Bases["check_every"] == after.Bases["check_every"] {
		t.Error("the settings before were changed, or the old basis was kept for a new number")
	}
	if again := mustEdit(t, set, `{}`); !reflect.DeepEqual(again, set) {
		t.Errorf("an empty patch changes %+v", again)
	}
}

func TestBasesGoWithTheirNumbers(t *testing.T) {
	set := rules.DefaultSettings()
	usual := set.Bases["check_every"]
	own := mustEdit(t, set, `{"thresholds":{"check_every":10},"bases":{"check_every":"our  own records"}}`)
	if own.Bases["check_every"] != "our own records" {
		t.Errorf("basis given: %q", own.Bases["check_every"])
	}
	if same := mustEdit(t, own, `{"thresholds":{"check_every":10}}`); same.Bases["check_every"] != "our own records" {
		t.Errorf("the number did not change, and its basis is %q", same.Bases["check_every"])
	}
	if moved := mustEdit(t, own, `{"thresholds":{"check_every":9}}`); strings.Contains(moved.Bases["check_every"], "records") {
		t.Errorf("the number changed, and its basis is still %q", moved.Bases["check_every"])
	}
	back := mustEdit(t, own, `{"thresholds":{"check_every":null}}`)
	if back.Thresholds.CheckEvery != 14 || back.Bases["check_every"] != usual {
		t.Errorf("put back: %d, %q", back.Thresholds.CheckEvery, back.Bases["check_every"])
	}
	if without := mustEdit(t, own, `{"bases":{"check_every":null}}`); without.Bases["check_every"] != "" {
		t.Errorf("taken away: %q", without.Bases["check_every"])
	}
}

func TestNullPutsDefaultsBack(t *testing.T) {
	set := mustEdit(t, rules.DefaultSettings(), `{"reminder_day":"friday","reminder_hour":12,"confidence":0.8}`)
	back := mustEdit(t, set, `{"reminder_day":null,"reminder_hour":null,"confidence":null}`)
	if !reflect.DeepEqual(back, rules.DefaultSettings()) {
		t.Errorf("put back: %+v", back)
	}
}

func TestEditSettingsRefuses(t *testing.T) {
	cases := []struct{ edit, field, code string }{
		{`{"name":null}`, "name", "invalid"},
		{`{"name":"  "}`, "name", "invalid"},
		{`{"name":"` + strings.Repeat("ä", 81) + `"}`, "name", "invalid"},
		{`{"time_zone":null}`, "time_zone", "invalid"},
		{`{"time_zone":"Local"}`, "time_zone", "invalid"},
		{`{"time_zone":"Valley/Wrenlow"}`, "time_zone", "invalid"},
		{`{"time_zone":"../etc/passwd"}`, "time_zone", "invalid"},
		{`{"reminder_day":"montag"}`, "reminder_day", "invalid"},
		{`{"reminder_hour":24}`, "reminder_hour", "out-of-range"},
		{`{"reminder_hour":-1}`, "reminder_hour", "out-of-range"},
		{`{"confidence":0.4999}`, "confidence", "out-of-range"},
		{`{"confidence":0.9991}`, "confidence", "out-of-range"},
		{`{"harvest_rule":{"stand_cap":0}}`, "harvest_rule.stand_cap", "out-of-range"},
		{`{"thresholds":{"check_every":0}}`, "thresholds.check_every", "out-of-range"},
		{`{"thresholds":{"check_every":1.5}}`, "thresholds.check_every", "invalid"},
		{`{"thresholds":{"check_every":1e300}}`, "thresholds.check_every", "invalid"},
		{`{"thresholds":{"check_every":"14"}}`, "thresholds.check_every", "invalid"},
		{`{"thresholds":{"check_every":true}}`, "thresholds.check_every", "invalid"},
		{`{"thresholds":{"soak_other":61}}`, "thresholds.soak_other", "out-of-range"},
		{`{"thresholds":{"ready_share":0}}`, "thresholds.ready_share", "out-of-range"},
		{`{"thresholds":{"ready_share":1.0001}}`, "thresholds.ready_share", "out-of-range"},
		{`{"thresholds":{"ready_share":0.12345}}`, "thresholds.ready_share", "out-of-range"},
		{`{"thresholds":{"notice_share":"half"}}`, "thresholds.notice_share", "out-of-range"},
		{`{"thresholds":{"warm_from":"02-30"}}`, "thresholds.warm_from", "bad-date"},
		{`{"thresholds":{"warm_from":"3-1"}}`, "thresholds.warm_from", "bad-date"},
		{`{"thresholds":{"warm_from":301}}`, "thresholds.warm_from", "bad-date"},
		{`{"bases":{"check_every":"` + strings.Repeat("x", 2001) + `"}}`, "bases.check_every", "invalid"},
	}
	for _, c := range cases {
		_, err := rules.EditSettings(rules.DefaultSettings(), editOf(t, c.edit))
		e := models.AsError(err)
		if e == nil || e.Kind != models.Invalid || e.Code != c.code || len(e.Fields) != 1 || e.Fields[0].Name != c.field {
			t.Errorf("%s: %+v, want %s at %s", c.edit, err, c.code, c.field)
		}
	}
}

func TestEveryFaultIsToldAtOnce(t *testing.T) {
	_, err := rules.EditSettings(rules.DefaultSettings(), editOf(t,
		`{"name":"","reminder_hour":99,"harvest_rule":{"window_days":0},"thresholds":{"first_check":0,"ready_share":2}}`))
	if e := models.AsError(err); e == nil || len(e.Fields) != 5 {
		t.Errorf("%v, want five fields", err)
	}
}

func TestUnknownSettingsAreNamedWithNearOnes(t *testing.T) {
	for _, edit := range []string{`{"thresholds":{"chek_every":10}}`, `{"bases":{"check_evry":"x"}}`, `{"thresholds":{"Check_Every":10}}`} {
		_, err := rules.EditSettings(rules.DefaultSettings(), editOf(t, edit))
		e := models.AsError(err)
		if e == nil || e.Kind != models.Unknown || e.Code != "unknown-setting" || len(e.Suggestions) == 0 || e.Suggestions[0] != "check_every" {
			t.Errorf("%s: %v, want check_every suggested", edit, err)
		}
	}
}

func decimal(text string) *models.Decimal {
	d := models.MustDecimal(text)
	return &d
}

func TestMergeRule(t *testing.T) {
	base := rules.DefaultSettings().HarvestRule
	if got, err := rules.MergeRule(base, nil); err != nil || got != base {
		t.Errorf("no request: %+v, %v", got, err)
	}
	if got, err := rules.MergeRule(base, &models.NewHarvestRule{StandCap: decimal("0.05")}); err != nil || got != base {
		t.Errorf("the same number: %+v, %v", got, err)
	}
	basis := "agreed with the land manager"
	got, err := rules.MergeRule(base, &models.NewHarvestRule{PerPlantCap: decimal("1"), WindowDays: number(3650), SurveyValidDays: number(1), Basis: &basis})
	want := models.HarvestRule{StandCap: base.StandCap, PerPlantCap: models.MustDecimal("1"), WindowDays: 3650, SurveyValidDays: 1, Basis: basis}
	if err != nil || got != want {
		t.Errorf("merged %+v, %v, want %+v", got, err, want)
	}
	if got, err := rules.MergeRule(base, &models.NewHarvestRule{WindowDays: number(365)}); err != nil || got.Basis == base.Basis {
		t.Errorf("a changed number keeps the basis %q, %v", got.Basis, err)
	}
}

func TestMergeRuleRefuses(t *testing.T) {
	long := strings.Repeat("x", models.MaxNote+1)
	cases := map[string]models.NewHarvestRule{
		"harvest_rule.stand_cap":         {StandCap: decimal("0")},
		"harvest_rule.per_plant_cap":     {PerPlantCap: decimal("1.0001")},
		"harvest_rule.window_days":       {WindowDays: number(0)},
		"harvest_rule.survey_valid_days": {SurveyValidDays: number(3651)},
		"harvest_rule.basis":             {Basis: &long},
	}
	base := rules.DefaultSettings().HarvestRule
	for field, req := range cases {
		got, err := rules.MergeRule(base, &req)
		e := models.AsError(err)
		if e == nil || e.Kind != models.Invalid || len(e.Fields) != 1 || e.Fields[0].Name != field || got != base {
			t.Errorf("%s: %+v, %v", field, got, err)
		}
	}
}

func FuzzEditSettings(f *testing.F) {
	f.Add(`{"thresholds":{"check_every":10,"warm_from":"03-01","ready_share":0.5}}`)
	f.Add(`{"reminder_day":null,"bases":{"confidence":null},"harvest_rule":{"stand_cap":0.1}}`)
	f.Fuzz(func(t *testing.T, text string) {
		var edit models.NurseryEdit
		if json.Unmarshal([]byte(text), &edit) != nil {
			return
		}
		set := rules.DefaultSettings()
		after, err := rules.EditSettings(set, edit)
		if err != nil {
			if models.AsError(err) == nil {
				t.Errorf("%s: %v is no error a person can act on", text, err)
			}
			return
		}
		if again, err := rules.EditSettings(after, models.NurseryEdit{}); err != nil || !reflect.DeepEqual(again, after) {
			t.Errorf("%s leaves settings that cannot be: %v", text, err)
		}
		if !reflect.DeepEqual(set, rules.DefaultSettings()) {
			t.Errorf("%s changed the settings before", text)
		}
	})
}

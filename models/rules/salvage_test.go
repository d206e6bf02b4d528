package rules_test

import (
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/rules"
)

func salvaged(from, to string) func(*models.StandRecord) {
	return func(r *models.StandRecord) {
		r.Salvages = append(r.Salvages, models.SalvagePeriod{StartsOn: date(from), EndsOn: date(to), Authority: "Wrenlow Valley Roads", Why: "a new bridge"})
	}
}

// Within a salvage no survey and no cap binds; closures, protection and permits do. Its
// stems stay on the ledger, and count for windows that end after it.
func TestASalvageIsFreeOfCapsAndOfNothingElse(t *testing.T) {
	free := salvaged("2026-02-01", "2026-02-28")
	for _, c := range []struct {
		name    string
		stand   *models.StandRecord
		on      string
		stems   int
		refused string
	}{
		{"over the stand cap", standOf(counted("2026-01-01", "100"), free), "2026-02-01", 500, ""},
		{"over the per-plant cap", standOf(counted("2026-01-01", "800", 40), free), "2026-02-28", 500, ""},
		{"never counted", standOf(free), "2026-02-10", 500, ""},
		{"counted too long ago", standOf(counted("2020-01-01", "100"), free), "2026-02-10", 500, ""},
		{"flooded", standOf(counted("2026-01-01", "100"), disturbed("2026-01-20"), free), "2026-02-10", 500, ""},
		{"the day before it", standOf(counted("2026-01-01", "100"), free), "2026-01-31", 6, "over-allowance"},
		{"the day after it", standOf(counted("2026-01-01", "100"), free), "2026-03-01", 6, "over-allowance"},
		{"closed", standOf(counted("2026-01-01", "100"), free, shut(models.Closure{From: "02-10", To: "02-20", EveryYear: true})), "2026-02-10", 1, "closed-season"},
		{"protected", standOf(counted("2026-01-01", "100"), free, protected), "2026-02-10", 1, "protected"},
		{"on a permit only", standOf(counted("2026-01-01", "100"), free, func(r *models.StandRecord) { r.PermitRequired = models.PermitNeeded }), "2026-02-10", 1, "no-permit"},
		{"what was salvaged counts afterwards", standOf(counted("2026-01-01", "800"), free, taken("2026-02-10", 500)), "2026-03-01", 1, "over-allowance"},
		{"what was salvaged stands in no way of a day before", standOf(counted("2026-01-01", "800"), free, taken("2026-02-10", 500)), "2026-01-20", 40, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			cut := rules.Cut{On: date(c.on), Stems: c.stems, Parents: ptr(1)}
			refusal := rules.JudgeCut(c.stand, cut)
			if (refusal == nil) != (c.refused == "") || refusal != nil && refusal.Code != c.refused {
				t.Errorf("the refusal is %v", refusal)
			}
			answer := rules.Allowance(c.stand, cut)
			if answer.Binding == nil || (answer.Allowed >= c.stems) != (c.refused == "") {
				t.Errorf("%d are allowed by %+v", answer.Allowed, answer.Binding)
			}
		})
	}
	answer := rules.Allowance(standOf(free), rules.Cut{On: date("2026-02-10"), Stems: 500})
	if answer.Allowed != models.MaxCount || answer.Binding.Code != rules.RuleStand || !strings.Contains(answer.Binding.Detail, "salvage to 2026-02-28, free of caps: a new bridge (authority: Wrenlow Valley Roads)") {
		t.Errorf("%d are allowed by %+v", answer.Allowed, answer.Binding)
	}
	if !strings.HasPrefix(answer.Leave, "500 stems are to be had as salvage, free of caps. Leave to cut is not on file") {
		t.Errorf("of leave it says %q", answer.Leave)
	}
	if from := answer.PossibleFrom; from == nil || *from != date("2026-02-10") {
		t.Errorf("possible from %v", from)
	}
}

// A stand that was salvaged is not over its limit for it.
func TestASalvagedStandIsNotExceeded(t *testing.T) {
	for on, want := range map[string]bool{"2026-02-10": false, "2026-03-01": true} {
		stand := standOf(counted("2026-01-01", "800"), salvaged("2026-02-01", "2026-02-28"), taken(on, 500))
		if got := rules.Exceeded(stand, date("2026-03-15")); (got != "") != want {
			t.Errorf("500 stems on %s: %q", on, got)
		}
	}
}

// The purpose of a batch frees it of nothing: a salvage has to be on file.
func TestThePurposeSalvageAloneFreesOfNothing(t *testing.T) {
	asSalvage := func(r *models.NewBatch) { r.Purpose = models.Salvage }
	stand := standOf(counted("2026-01-01", "800"))
	_, warnings, err := rules.EnterBatch(stand, newBatch(asSalvage), batchDay)
	if err != nil || len(warnings) != 1 || !strings.Contains(warnings[0], "no salvage of TB-01 on "+newBatch().CollectedOn.String()+" is on file") {
		t.Errorf("it warns of %q, %v", warnings, err)
	}
	small := standOf(counted("2026-01-01", "100"))
	if _, _, err := rules.EnterBatch(small, newBatch(asSalvage), batchDay); models.AsError(err) == nil || models.AsError(err).Code != "over-allowance" {
		t.Errorf("over the cap: %v", err)
	}
	salvaged("2026-01-01", "2026-01-31")(small)
	if _, warnings, err := rules.EnterBatch(small, newBatch(asSalvage), batchDay); err != nil || len(warnings) != 0 {
		t.Errorf("with a salvage on file: %q, %v", warnings, err)
	}
}

func TestASalvageIsEntered(t *testing.T) {
	today := date("2026-01-17")
	stand := standOf(atRest("2026-01-01", ""), atRest("2026-05-01", ""))
	good := models.NewSalvage{To: date("2026-03-15"), Authority: " Wrenlow  Valley Roads", Why: "a new bridge ", By: "OP "}
	got, warnings, err := rules.EnterSalvage(stand, good, today)
	if err != nil || got.StartsOn != today || got.EndsOn != good.To || got.Authority != "Wrenlow Valley Roads" || got.Why != "a new bridge" || got.SetBy != "OP" {
		t.Errorf("%+v, %v", got, err)
	}
	if len(warnings) != 1 || !strings.Contains(warnings[0], "rests from 2026-01-01") || !strings.Contains(warnings[0], "lifts no rest") {
		t.Errorf("it warns of %q", warnings)
	}
	for _, c := range []struct {
		change func(*models.NewSalvage)
		code   string
		fields []string
	}{
		{func(r *models.NewSalvage) { r.To = models.Date{} }, "invalid", []string{"to"}},
		{func(r *models.NewSalvage) { r.To = date("2026-01-16") }, "out-of-order", []string{"to"}},
		{func(r *models.NewSalvage) { r.From = date("2026-03-16") }, "out-of-order", []string{"to"}},
		{func(r *models.NewSalvage) { r.Authority = "  " }, "invalid", []string{"authority"}},
		{func(r *models.NewSalvage) { r.Why, r.By = "", strings.Repeat("x", 81) }, "invalid", []string{"why", "by"}},
	} {
		req := good
		c.change(&req)
		_, _, err := rules.EnterSalvage(stand, req, today)
		wantFault(t, err, c.code, c.fields...)
	}
}

package rules_test

import (
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/rules"
)

func lookedFor(on string, found bool) func(*models.StandRecord) {
	return func(r *models.StandRecord) {
		r.NestChecks = append(r.NestChecks, models.NestLook{CheckedOn: date(on), NestsFound: found, CheckedBy: "Tam, the younger"})
	}
}

// A look that found no nests lifts a closure where nests are looked for first, on its
// day and seven days after it; one that found nests keeps it shut.
func TestALookForNestsLiftsAClosure(t *testing.T) {
	count := counted("2026-01-01", "800")
	owls := models.Closure{From: "02-01", To: "04-14", EveryYear: true, Kind: models.NestCheck, Reason: "owls"}
	works := models.Closure{From: "2026-03-05", To: "2026-03-06", Kind: models.Closed, Reason: "works"}
	for _, c := range []struct {
		name  string
		stand *models.StandRecord
		on    string
		says  string // empty where it is open
	}{
		{"no look", standOf(count, shut(owls)), "2026-03-01", "until someone has looked for nests and found none: no look of the last 7 days is on file (owls)"},
		{"none found", standOf(count, shut(owls), lookedFor("2026-03-01", false)), "2026-03-01", ""},
		{"the seventh day", standOf(count, shut(owls), lookedFor("2026-03-01", false)), "2026-03-08", ""},
		{"the eighth day", standOf(count, shut(owls), lookedFor("2026-03-01", false)), "2026-03-09", "no look of the last 7 days"},
		{"before the look", standOf(count, shut(owls), lookedFor("2026-03-02", false)), "2026-03-01", "no look of the last 7 days"},
		{"nests found", standOf(count, shut(owls), lookedFor("2026-03-01", true)), "2026-03-03", "found none: nests in use were found on 2026-03-01"},
		{"nests found later", standOf(count, shut(owls), lookedFor("2026-03-01", false), lookedFor("2026-03-02", true)), "2026-03-03", "nests in use were found on 2026-03-02"},
		{"none found later", standOf(count, shut(owls), lookedFor("2026-03-01", true), lookedFor("2026-03-02", false)), "2026-03-03", ""},
		{"both on one day", standOf(count, shut(owls), lookedFor("2026-03-01", true), lookedFor("2026-03-01", false)), "2026-03-03", "nests in use were found on 2026-03-01"},
		{"both on one day, entered the other way round", standOf(count, shut(owls), lookedFor("2026-03-01", false), lookedFor("2026-03-01", true)), "2026-03-03", "nests in use were found on 2026-03-01"},
		{"nests found too long ago, and no look since", standOf(count, shut(owls), lookedFor("2026-02-20", true)), "2026-03-03", "no look of the last 7 days"},
		{"shut for good", standOf(count, shut(works), lookedFor("2026-03-05", false)), "2026-03-05", "works"},
		{"shut for good besides", standOf(count, shut(owls, works), lookedFor("2026-03-05", false)), "2026-03-06", "works"},
		{"nests found, and no closure", standOf(count, lookedFor("2026-03-01", true)), "2026-03-01", ""},
		{"of the whole place", standOf(count, placeShut("2026-01-01", owls)), "2026-03-01", "the whole place is closed from 02-01 to 04-14 every year until someone has looked"},
		{"of the whole place, looked over", standOf(count, placeShut("2026-01-01", owls), lookedFor("2026-03-01", false)), "2026-03-01", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := rules.Allowance(c.stand, rules.Cut{On: date(c.on), Stems: 1})
			open := got.Binding.Code != rules.RuleClosure
			if open != (c.says == "") || !strings.Contains(got.Binding.Detail, c.says) {
				t.Errorf("bound by %s: %s", got.Binding.Code, got.Binding.Detail)
			}
			if strings.Contains(got.Binding.Detail, "Tam") || strings.Contains(got.Leave, "Tam") {
				t.Errorf("it tells who looked: %s %s", got.Binding.Detail, got.Leave)
			}
		})
	}
}

func TestALookForNestsIsEntered(t *testing.T) {
	today := date("2026-03-20")
	look, warnings, err := rules.EnterNestCheck(models.NewNestCheck{NestsFound: true, By: " RQ", Note: " a  wren "}, today)
	if err != nil || len(warnings) != 0 || look.CheckedOn != today || !look.NestsFound || look.CheckedBy != "RQ" || look.Note != "a wren" || rules.GoodTo(&look) != date("2026-03-27") {
		t.Errorf("%+v, %q, %v", look, warnings, err)
	}
	for on, old := range map[string]bool{"2026-03-13": false, "2026-03-12": true} {
		if _, warnings, err := rules.EnterNestCheck(models.NewNestCheck{On: date(on), By: "RQ"}, today); err != nil || (len(warnings) == 1) != old {
			t.Errorf("of %s: %q, %v", on, warnings, err)
		}
	}
	_, _, err = rules.EnterNestCheck(models.NewNestCheck{On: date("2026-03-21"), By: "RQ"}, today)
	wantFault(t, err, "in-the-future", "on")
	_, _, err = rules.EnterNestCheck(models.NewNestCheck{By: "  ", Note: strings.Repeat("x", 2001)}, today)
	wantFault(t, err, "invalid", "by", "note")
}

func TestACleaningIsEntered(t *testing.T) {
	today := date("2026-03-20")
	got, err := rules.EnterToolCleaning(models.NewToolCleaning{By: "RQ ", How: " brushed,  then alcohol"}, today)
	if err != nil || got.CleanedOn != today || got.CleanedBy != "RQ" || got.How != "brushed, then alcohol" {
		t.Errorf("%+v, %v", got, err)
	}
	_, err = rules.EnterToolCleaning(models.NewToolCleaning{On: date("2026-03-21"), By: "RQ", How: "x"}, today)
	wantFault(t, err, "in-the-future", "on")
	_, err = rules.EnterToolCleaning(models.NewToolCleaning{}, today)
	wantFault(t, err, "invalid", "by", "how")
}

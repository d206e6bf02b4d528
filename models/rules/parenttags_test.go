package rules_test

import (
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/rules"
)

// fromTag is stems cut from a plant known by its tag, on their day on the ledger too.
func fromTag(on, tag string, stems int) func(*models.StandRecord) {
	return func(r *models.StandRecord) {
		taken(on, stems, 1)(r)
		r.Parents = append(r.Parents, models.ParentDay{TakenOn: date(on), TagKey: models.NameKey(tag), Tag: tag, Stems: stems, Batches: 1})
	}
}

// 800 stems on 40 plants are 20 each: by a cap of 0.1 two may be cut from each plant in
// any 350 days.
func TestTheCapOfEachTaggedPlant(t *testing.T) {
	all := func(changes ...func(*models.StandRecord)) []func(*models.StandRecord) { return changes }
	two := all(counted("2026-01-01", "800", 40))
	small := all(counted("2026-01-01", "300", 37))
	none := all(counted("2026-01-01", "30", 37))
	for _, c := range []struct {
		name    string
		stand   []func(*models.StandRecord)
		cut     map[string]int // stems by tag
		allowed int            // of the stems of the cut; -1 for no limit
		says    string
	}{
		{"two from each of two", two, map[string]int{"D-1": 2, "D-2": 2}, 4, ""},
		{"three from one", two, map[string]int{"D-1": 3, "D-2": 1}, 3, "0 of 2 stems are taken in the 350 days to 2026-01-17 of plant D-1, where 3 stems are to be cut (0.1 × 800 ÷ 40)"},
		{"three from each of two", two, map[string]int{"D-1": 3, "D-2": 3}, 4, "of plant D-"},
		{"one was cut before", append(two, fromTag("2026-01-05", "d-1", 1)), map[string]int{"D-1": 2}, 1, "1 of 2 stems is taken"},
		{"both were cut before", append(two, fromTag("2026-01-05", "d-1", 2)), map[string]int{"D-1": 1}, 0, "2 of 2 stems are taken"},
		{"cut before the window", append(all(counted("2025-01-01", "800", 40)), fromTag("2025-02-01", "d-1", 2)), map[string]int{"D-1": 2}, 2, ""},
		{"cut on the first day of the window", append(all(counted("2025-01-01", "800", 40)), fromTag("2025-02-02", "d-1", 2)), map[string]int{"D-1": 2}, 0, "of plant D-1"},
		{"cut later already", append(two, fromTag("2026-03-01", "d-1", 2)), map[string]int{"D-1": 1}, 0, "in the 350 days to 2026-03-01 of plant D-1"},
		{"more than it may, before", append(two, fromTag("2026-01-05", "d-1", 9), taken("2026-01-06", 5, 10)), map[string]int{"D-1": 1, "D-2": 2}, 2, "9 of 2 stems"},
		{"plants were not counted", all(counted("2026-01-01", "800")), map[string]int{"D-1": 9}, -1, ""},
		{"plants of 8.1 stems", small, map[string]int{"D-1": 1, "D-2": 1}, 0,
			"no stem of any one plant: the 37 plants counted on 2026-01-01 have 8.1 stems each on average by the lower bound, and 0.1 of that is less than one stem; a per-plant cap of 0.1234 would let one be cut from each"},
		{"plants of less than a stem", none, map[string]int{"D-1": 1}, 0, "have 0.8 stems each on average by the lower bound, and 0.1 of that is less than one stem"},
	} {
		t.Run(c.name, func(t *testing.T) {
			cut := rules.Cut{On: date("2026-01-17")}
			plants := len(c.cut)
			cut.Parents = &plants
			for tag, stems := range c.cut {
				cut.Tagged, cut.Stems = append(cut.Tagged, models.Parent{Tag: tag, Stems: stems}), cut.Stems+stems
			}
			answer := rules.Allowance(standOf(c.stand...), cut)
			var rule models.RuleAllowed
			for _, r := range answer.Rules {
				if r.Code == rules.RulePerPlant {
					rule = r
				}
			}
			switch {
			case c.allowed < 0 && rule.Allowed != nil, c.allowed >= 0 && rule.Allowed == nil:
				t.Fatalf("it allows %s, want %d: %s", shownCount(rule.Allowed), c.allowed, rule.Detail)
			case c.allowed >= 0 && min(*rule.Allowed, cut.Stems) != c.allowed:
				t.Errorf("it allows %d, want %d: %s", *rule.Allowed, c.allowed, rule.Detail)
			}
			if !strings.Contains(rule.Detail, c.says) {
				t.Errorf("it says %q, and not %q", rule.Detail, c.says)
			}
		})
	}
}

func shownCount(n *int) any {
	if n == nil {
		return "any number"
	}
	return *n
}

// The cap that is named lets one stem be cut, and a little less does not.
func TestTheCapForOneStem(t *testing.T) {
	for _, c := range []struct {
		bound  string
		plants int
	}{{"300", 37}, {"37", 37}, {"846.9999", 37}, {"1000.0001", 1000}, {"7", 3}} {
		stand := standOf(counted("2026-01-01", c.bound, c.plants), capOf("1"))
		stand.Rules[0].PerPlantCap = models.MustDecimal("0.0001")
		plants := 1
		cut := rules.Cut{On: date("2026-01-17"), Stems: 1, Parents: &plants, Tagged: []models.Parent{{Tag: "D-1", Stems: 1}}}
		_, after, found := strings.Cut(detailOf(rules.Allowance(stand, cut), rules.RulePerPlant), "a per-plant cap of ")
		if !found {
			t.Fatalf("%+v: no cap is named", c)
		}
		word, _, _ := strings.Cut(after, " ")
		least := models.MustDecimal(word)
		for shift, allowed := range map[models.Decimal]bool{0: true, -1: false} {
			stand.Rules[0].PerPlantCap = least + shift
			if got := rules.Allowance(stand, cut).Allowed >= 1; got != allowed {
				t.Errorf("%+v: with a cap of %s one stem is allowed: %v", c, least+shift, got)
			}
		}
	}
}

func detailOf(a models.Allowance, code string) string {
	for _, r := range a.Rules {
		if r.Code == code {
			return r.Detail
		}
	}
	return ""
}

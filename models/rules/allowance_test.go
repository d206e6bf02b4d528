package rules_test

import (
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/rules"
)

func date(text string) models.Date { return models.MustDate(text) }

func ptr[T any](v T) *T { return &v }

// standOf is a stand with a cap of 0.05, 0.1 per plant, windows of 350 days and
// surveys good for 500, changed as a test needs it.
func standOf(change ...func(*models.StandRecord)) *models.StandRecord {
	r := &models.StandRecord{
		Stand:    models.Stand{ID: "stand", Code: "TB-01", Name: "Wrenlow Bend", TaxonID: "taxon", LandManager: "Wrenlow Valley Parks", Version: 1},
		Taxon:    models.Taxon{ID: "taxon", ScientificName: "Cornus sericea", NameKey: "cornus sericea"},
		Rules:    []models.RuleVersion{ruleFrom("2025-01-01", "0.05")},
		Closures: []models.ClosureVersion{{InForceFrom: date("2025-01-01")}},
	}
	for _, c := range change {
		c(r)
	}
	return r
}

func ruleFrom(from, standCap string) models.RuleVersion {
	return models.RuleVersion{InForceFrom: date(from), HarvestRule: models.HarvestRule{
		StandCap: models.MustDecimal(standCap), PerPlantCap: models.MustDecimal("0.1"), WindowDays: 350, SurveyValidDays: 500,
	}}
}

func capOf(standCap string) func(*models.StandRecord) {
	return func(r *models.StandRecord) { r.Rules[0].StandCap = models.MustDecimal(standCap) }
}

func counted(on, bound string, plants ...int) func(*models.StandRecord) {
	return func(r *models.StandRecord) {
		s := models.Survey{ID: "survey of " + on, SurveyedOn: date(on), Method: models.Census, LowerBound: models.MustDecimal(bound)}
		if len(plants) > 0 {
			s.Plants = &plants[0]
		}
		r.Surveys = append(r.Surveys, s)
	}
}

func ocular(on, low string) func(*models.StandRecord) {
	return func(r *models.StandRecord) {
		r.Surveys = append(r.Surveys, models.Survey{ID: "ocular of " + on, SurveyedOn: date(on), Method: models.Ocular, LowerBound: models.MustDecimal(low)})
	}
}

func chosenPlots(on, bound string) func(*models.StandRecord) {
	return func(r *models.StandRecord) {
		r.Surveys = append(r.Surveys, models.Survey{
			ID: "plots of " + on, SurveyedOn: date(on), Method: models.PlotCount,
			Plots: &models.Plots{Placement: models.Chosen}, LowerBound: models.MustDecimal(bound),
		})
	}
}

func taken(on string, stems int, parents ...int) func(*models.StandRecord) {
	return func(r *models.StandRecord) {
		d := models.LedgerDay{TakenOn: date(on), Stems: stems}
		if len(parents) > 0 {
			d.Parents = parents[0]
		}
		r.Ledger = rules.WithStems(r.Ledger, d)
	}
}

func disturbed(on string) func(*models.StandRecord) {
	return func(r *models.StandRecord) {
		r.Disturbances = append(r.Disturbances, models.Disturbance{HappenedOn: date(on), Kind: "beaver"})
	}
}

func shut(c ...models.Closure) func(*models.StandRecord) {
	return func(r *models.StandRecord) { r.Closures[0].Closures = c }
}

func protected(r *models.StandRecord) { r.Taxon.Protected = true }

func TestLimitAndBindingRule(t *testing.T) {
	all := func(changes ...func(*models.StandRecord)) []func(*models.StandRecord) { return changes }
	yearly := models.Closure{From: "04-15", To: "07-31", EveryYear: true, Kind: models.Closed, Reason: "birds nest"}
	for _, c := range []struct {
		name    string
		stand   []func(*models.StandRecord)
		on      string
		parents int
		limit   int
		allowed int
		binding string
		says    string // part of the binding rule's detail
	}{
		{"the floor is exact", all(capOf("0.29"), counted("2026-01-01", "100")), "2026-01-17", 0, 29, 29, "stand", "0 of 29 stems"},
		{"a bound of 663.2 at 0.05", all(counted("2026-01-01", "663.2")), "2026-01-17", 0, 33, 33, "stand", "0.05 × 663.2"},
		{"half the cap of an ocular estimate", all(ocular("2026-01-01", "300")), "2026-01-17", 0, 7, 7, "stand", "half of 0.05 × 300"},
		{"plots chosen by eye are ocular", all(chosenPlots("2026-01-01", "663.2")), "2026-01-17", 0, 16, 16, "stand", "plots chosen by eye count"},
		{"a later ocular one lowers", all(counted("2026-01-01", "800"), ocular("2026-01-05", "1000")), "2026-01-17", 0, 25, 25, "stand", "half of 0.05 × 1000"},
		{"a later ocular one never raises", all(counted("2026-01-01", "800"), ocular("2026-01-05", "5000")), "2026-01-17", 0, 40, 40, "stand", "0.05 × 800"},
		{"the least of two later ocular ones", all(counted("2026-01-01", "800"), ocular("2026-01-05", "600"), ocular("2026-01-06", "1200")), "2026-01-17", 0, 15, 15, "stand", "half of 0.05 × 600"},
		{"of two ocular ones of one day, the later entered", all(counted("2026-01-01", "800"), ocular("2026-01-05", "600"), ocular("2026-01-05", "1200")), "2026-01-17", 0, 30, 30, "stand", "half of 0.05 × 1200"},
		{"a count after an ocular one stands alone", all(ocular("2026-01-01", "100"), counted("2026-01-05", "800")), "2026-01-17", 0, 40, 40, "stand", ""},
		{"an expired count leaves the ocular one", all(counted("2024-06-01", "800"), ocular("2026-01-05", "1000")), "2026-01-17", 0, 25, 25, "stand", "ocular"},
		{"a flooded count leaves the ocular one", all(counted("2026-01-01", "100"), disturbed("2026-01-03"), ocular("2026-01-05", "1000")), "2026-01-17", 0, 25, 25, "stand", "ocular"},
		{"of one day, the later entered", all(counted("2026-01-01", "800"), counted("2026-01-01", "400")), "2026-01-17", 0, 20, 20, "stand", "0.05 × 400"},
		{"of one day, an ocular one entered later", all(counted("2026-01-01", "800"), ocular("2026-01-01", "400")), "2026-01-17", 0, 10, 10, "stand", "ocular"},
		{"stems of the window", all(counted("2026-01-01", "800"), taken("2026-01-10", 12)), "2026-01-17", 0, 40, 28, "stand", "12 of 40 stems are taken in the 350 days to 2026-01-17"},
		{"the last day of the window counts", all(counted("2025-01-01", "800"), taken("2025-02-02", 12)), "2026-01-17", 0, 40, 28, "stand", ""},
		{"the day before the window does not", all(counted("2025-01-01", "800"), taken("2025-02-01", 12)), "2026-01-17", 0, 40, 40, "stand", ""},
		{"a later day that is full", all(counted("2026-01-01", "800"), taken("2026-03-01", 39)), "2026-01-17", 0, 40, 1, "stand", "39 of 40 stems are taken in the 350 days to 2026-03-01"},
		{"a later day outside every window", all(counted("2026-01-01", "800"), taken("2027-01-02", 39)), "2026-01-17", 0, 40, 40, "stand", ""},
		{"a later day of entries that sum to zero", all(counted("2026-01-01", "800"), ocular("2026-03-01", "20"), taken("2026-03-01", 0, 3)), "2026-01-17", 0, 40, 40, "stand", ""},
		{"a later day with a lower limit", all(counted("2026-01-01", "800"), counted("2026-02-15", "200"), taken("2026-03-01", 9)), "2026-01-17", 0, 40, 1, "stand", "9 of 10 stems"},
		{"more taken than the limit", all(counted("2026-01-01", "800"), taken("2026-01-10", 50)), "2026-01-17", 0, 40, 0, "stand", "50 of 40 stems"},
		{"per plant", all(counted("2026-01-01", "600", 40)), "2026-01-17", 6, 30, 9, "per-plant", "0 of 9 stems are taken in the 350 days to 2026-01-17 from 6 of the 40 plants"},
		{"per plant, with plants cut before", all(counted("2026-01-01", "600", 40), taken("2026-01-10", 2, 4)), "2026-01-17", 6, 30, 13, "per-plant", "from 10 of the 40"},
		{"more parents than plants", all(counted("2026-01-01", "600", 40), taken("2026-01-10", 2, 38)), "2026-01-17", 6, 30, 28, "stand", ""},
		{"a tie goes to the plants", all(capOf("0.1"), counted("2026-01-01", "600", 40)), "2026-01-17", 40, 60, 60, "per-plant", ""},
		{"never counted", all(), "2026-01-17", 0, 0, 0, "survey", "was not counted on or before 2026-01-17"},
		{"counted later", all(counted("2026-02-01", "800")), "2026-01-17", 0, 0, 0, "survey", "was not counted on or before"},
		{"the last day of a survey", all(counted("2024-09-04", "800")), "2026-01-17", 0, 40, 40, "stand", ""},
		{"the day after", all(counted("2024-09-03", "800")), "2026-01-17", 0, 40, 0, "survey", "501 days old and good for 500: count the stand again"},
		{"disturbed", all(counted("2026-01-01", "800"), disturbed("2026-01-17")), "2026-01-17", 0, 40, 0, "survey", "beaver on 2026-01-17 ended the survey of 2026-01-01"},
		{"disturbed on the day of the count", all(counted("2026-01-01", "800"), disturbed("2026-01-01")), "2026-01-17", 0, 40, 0, "survey", "beaver"},
		{"disturbed before the count", all(counted("2026-01-01", "800"), disturbed("2025-12-31")), "2026-01-17", 0, 40, 40, "stand", ""},
		{"disturbed the day after", all(counted("2026-01-01", "800"), disturbed("2026-01-18")), "2026-01-17", 0, 40, 40, "stand", ""},
		{"closed", all(counted("2026-01-01", "800"), shut(yearly)), "2026-04-15", 0, 40, 0, "closure", "closed from 04-15 to 07-31 every year (birds nest)"},
		{"nests to look for first", all(counted("2026-01-01", "800"), shut(models.Closure{From: "2026-04-01", To: "2026-04-30", Kind: models.NestCheck})), "2026-04-15", 0, 40, 0, "closure", "until someone has looked for nests"},
		{"protected comes first", all(protected, shut(yearly)), "2026-04-15", 0, 0, 0, "protection", "Cornus sericea is protected"},
		{"a closure comes before the survey", all(shut(yearly)), "2026-04-15", 0, 0, 0, "closure", ""},
		{"the survey comes before the counts", all(counted("2024-01-01", "0", 3)), "2026-01-17", 3, 0, 0, "survey", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			cut := rules.Cut{On: date(c.on), Stems: 1}
			if c.parents > 0 {
				cut.Parents = &c.parents
			}
			got := rules.Allowance(standOf(c.stand...), cut)
			if got.Limit != c.limit || got.Allowed != c.allowed || got.Binding.Code != c.binding {
				t.Errorf("%d allowed of %d by %s, want %d of %d by %s", got.Allowed, got.Limit, got.Binding.Code, c.allowed, c.limit, c.binding)
			}
			if !strings.Contains(got.Binding.Detail, c.says) {
				t.Errorf("the rule says %q, and not %q", got.Binding.Detail, c.says)
			}
		})
	}
}

func TestClosuresOfEveryYear(t *testing.T) {
	for _, c := range []struct {
		from, to string
		shut     []string
		open     []string
	}{
		{"04-15", "07-31", []string{"2026-04-15", "2027-07-31"}, []string{"2026-04-14", "2026-08-01"}},
		{"11-15", "01-31", []string{"2026-11-15", "2026-12-31", "2027-01-01", "2027-01-31"}, []string{"2026-11-14", "2027-02-01"}},
		{"02-29", "03-10", []string{"2026-02-28", "2028-02-28", "2028-02-29", "2026-03-10"}, []string{"2026-02-27", "2026-03-11"}},
		{"02-01", "02-29", []string{"2026-02-28", "2028-02-29"}, []string{"2026-03-01", "2028-03-01"}},
		{"02-01", "02-28", []string{"2028-02-28", "2028-02-29"}, []string{"2028-03-01"}},
		{"05-05", "05-05", []string{"2026-05-05"}, []string{"2026-05-04", "2026-05-06"}},
	} {
		stand := standOf(counted("2026-01-01", "800"), shut(models.Closure{From: c.from, To: c.to, EveryYear: true, Kind: models.Closed}))
		stand.Rules[0].SurveyValidDays = 3650
		for _, on := range c.shut {
			if got := rules.Allowance(stand, rules.Cut{On: date(on), Stems: 1}); got.Binding.Code != rules.RuleClosure {
				t.Errorf("%s is not held to be within %s to %s", on, c.from, c.to)
			}
		}
		for _, on := range c.open {
			if got := rules.Allowance(stand, rules.Cut{On: date(on), Stems: 1}); got.Binding.Code == rules.RuleClosure {
				t.Errorf("%s is held to be within %s to %s", on, c.from, c.to)
			}
		}
	}
}

func TestAClosureForGoodIsToldBeforeALookForNests(t *testing.T) {
	nests := models.Closure{From: "04-01", To: "04-30", EveryYear: true, Kind: models.NestCheck, Reason: "nests"}
	closed := models.Closure{From: "04-10", To: "04-20", EveryYear: true, Kind: models.Closed, Reason: "works"}
	for _, order := range [][]models.Closure{{nests, closed}, {closed, nests}} {
		got := rules.Allowance(standOf(counted("2026-01-01", "800"), shut(order...)), rules.Cut{On: date("2026-04-15"), Stems: 1})
		if !strings.Contains(got.Binding.Detail, "works") {
			t.Errorf("the closure told is %q", got.Binding.Detail)
		}
	}
}

func TestPossibleFrom(t *testing.T) {
	for _, c := range []struct {
		name  string
		stand *models.StandRecord
		on    string
		stems int
		from  string // empty for none
	}{
		{"at once", standOf(counted("2026-01-01", "800")), "2026-01-17", 40, "2026-01-17"},
		{"more than the limit", standOf(counted("2026-01-01", "800")), "2026-01-17", 41, ""},
		{"when the window has moved on", standOf(counted("2026-01-01", "800"), taken("2026-01-10", 12)), "2026-01-17", 40, "2026-12-26"},
		{"when the second of two cuts is out", standOf(counted("2026-01-01", "800"), taken("2026-01-10", 12), taken("2026-01-12", 12)), "2026-01-17", 28, "2026-12-26"},
		{"after a closure", standOf(counted("2026-01-01", "800"), shut(models.Closure{From: "12-20", To: "01-31", EveryYear: true, Kind: models.Closed})), "2026-12-24", 4, "2027-02-01"},
		{"not after the survey has ended", standOf(counted("2025-02-01", "800"), taken("2025-12-01", 12)), "2026-01-17", 40, ""},
		{"on the last day of the survey", standOf(counted("2025-02-01", "800"), taken("2025-07-01", 12)), "2026-01-17", 40, "2026-06-16"},
		{"not once disturbed", standOf(counted("2026-01-01", "800"), disturbed("2026-01-16")), "2026-01-17", 1, ""},
		{"from the first count on", standOf(counted("2026-02-01", "800")), "2026-01-17", 40, "2026-02-01"},
		{"never while protected", standOf(counted("2026-01-01", "800"), protected), "2026-01-17", 1, ""},
		{"never without a count", standOf(), "2026-01-17", 1, ""},
		{"after a later cut that fills the window", standOf(counted("2026-01-01", "800"), taken("2026-02-01", 40)), "2026-01-17", 1, "2027-01-17"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := rules.Allowance(c.stand, rules.Cut{On: date(c.on), Stems: c.stems})
			switch {
			case c.from == "" && got.PossibleFrom != nil:
				t.Errorf("possible from %s, want never", got.PossibleFrom)
			case c.from != "" && (got.PossibleFrom == nil || got.PossibleFrom.String() != c.from):
				t.Errorf("possible from %v, want %s", got.PossibleFrom, c.from)
			}
			if c.from == "" && (got.Instead == "" || !strings.HasSuffix(got.Binding.Detail, got.Instead)) {
				t.Errorf("the answer does not say what would help: %q", got.Binding.Detail)
			}
		})
	}
}

func TestARefusalSaysWhyAndWhatWouldDo(t *testing.T) {
	for _, c := range []struct {
		name  string
		stand *models.StandRecord
		on    string
		stems int
		code  string
		says  []string
	}{
		{"over the cap", standOf(counted("2026-01-01", "800"), taken("2026-01-10", 12)), "2026-01-17", 30, "over-allowance",
			[]string{"30 stems of TB-01 on 2026-01-17 are refused", "12 of 40 stems", "Possible that day: 28", "possible from 2026-12-26"}},
		{"over what is there at all", standOf(counted("2026-01-01", "800")), "2026-01-17", 41, "over-allowance",
			[]string{"Possible that day: 40", "not before a new count"}},
		{"closed", standOf(counted("2026-01-01", "800"), shut(models.Closure{From: "2026-01-10", To: "2026-01-20", Kind: models.Closed})), "2026-01-17", 1, "closed-season",
			[]string{"1 stem of TB-01 on 2026-01-17 is refused", "1 stem of TB-01", "Possible that day: 0", "possible from 2026-01-21"}},
		{"expired", standOf(counted("2024-01-01", "800")), "2026-01-17", 1, "survey-expired", []string{"count the stand again"}},
		{"protected", standOf(counted("2026-01-01", "800"), protected), "2026-01-17", 1, "protected", []string{"no authority to cut it is on file"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := rules.JudgeCut(c.stand, rules.Cut{On: date(c.on), Stems: c.stems})
			if got == nil {
				t.Fatal("it passes")
			}
			if got.Kind != models.Refused || got.Code != c.code || got.Allowed == nil || got.Binding == nil {
				t.Errorf("refused as %s %s with %v by %v, want %s", got.Kind, got.Code, got.Allowed, got.Binding, c.code)
			}
			for _, says := range c.says {
				if !strings.Contains(got.Detail, says) {
					t.Errorf("%q does not say %q", got.Detail, says)
				}
			}
		})
	}
}

func TestRulesAreTakenAtTheVersionOfTheDay(t *testing.T) {
	stand := standOf(counted("2025-10-01", "800"))
	stand.Rules = append(stand.Rules, ruleFrom("2026-02-01", "0.02"), ruleFrom("2026-01-01", "0.03"), ruleFrom("2026-02-01", "0.01"))
	for on, limit := range map[string]int{"2025-11-01": 40, "2025-12-31": 40, "2026-01-01": 24, "2026-01-31": 24, "2026-02-01": 8, "2026-06-01": 8} {
		if got := rules.Allowance(stand, rules.Cut{On: date(on), Stems: 1}); got.Limit != limit {
			t.Errorf("the limit on %s is %d, want %d", on, got.Limit, limit)
		}
	}
	if first := rules.RuleOn(stand.Rules, date("1999-01-01")); first.StandCap != models.MustDecimal("0.05") {
		t.Errorf("long before, the cap is %s, and the first version holds from the beginning", first.StandCap)
	}
}

func TestExceeded(t *testing.T) {
	today := date("2026-06-01")
	for _, c := range []struct {
		name  string
		stand *models.StandRecord
		says  string // empty for not exceeded
	}{
		{"within", standOf(counted("2026-01-01", "800"), taken("2026-01-10", 40)), ""},
		{"over", standOf(counted("2026-01-01", "800"), taken("2026-01-10", 41)), "41 stems were taken in the 350 days to 2026-01-10, 1 over the limit of 40"},
		{"the worst day is told", standOf(counted("2026-01-01", "800"), taken("2026-01-10", 41), taken("2026-01-12", 5)), "46 stems were taken in the 350 days to 2026-01-12, 6 over"},
		{"over only with stems of before this window", standOf(counted("2025-01-01", "800"), taken("2025-02-10", 30), taken("2025-12-01", 20)), "50 stems were taken in the 350 days to 2025-12-01, 10 over"},
		{"long ago", standOf(counted("2024-01-01", "800"), taken("2024-01-10", 400)), ""},
		{"before any count", standOf(counted("2026-02-01", "800"), taken("2026-01-10", 3)), "3 over the limit of 0"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := rules.Exceeded(c.stand, today)
			if (got == "") != (c.says == "") || !strings.Contains(got, c.says) {
				t.Errorf("it says %q, want %q", got, c.says)
			}
		})
	}
}

func TestFractions(t *testing.T) {
	cut := rules.Cut{On: date("2026-01-17"), Stems: 24}
	for _, c := range []struct {
		name        string
		stand       *models.StandRecord
		survey      string
		harvest, of float64
	}{
		{"its own, and with the window", standOf(counted("2026-01-01", "800"), taken("2026-01-10", 16)), "survey of 2026-01-01", 0.03, 0.05},
		{"of the survey that sets the limit", standOf(counted("2026-01-01", "800"), ocular("2026-01-05", "480")), "ocular of 2026-01-05", 0.05, 0.05},
		{"of the latest survey once none is good", standOf(counted("2023-01-01", "400"), counted("2024-01-01", "800")), "survey of 2024-01-01", 0.03, 0.03},
	} {
		t.Run(c.name, func(t *testing.T) {
			survey, harvest, all := rules.Fractions(c.stand, cut)
			if survey == nil || survey.ID != c.survey || *harvest != c.harvest || *all != c.of {
				t.Errorf("%v %v of %v, want %v %v of %s", *harvest, *all, survey, c.harvest, c.of, c.survey)
			}
		})
	}
	for name, stand := range map[string]*models.StandRecord{"never counted": standOf(), "no stems found": standOf(counted("2026-01-01", "0"))} {
		if _, harvest, all := rules.Fractions(stand, cut); harvest != nil || all != nil {
			t.Errorf("%s: fractions %v and %v", name, harvest, all)
		}
	}
}

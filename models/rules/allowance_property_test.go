package rules_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

func drawStand(t *rapid.T) *plainStand {
	p := &plainStand{protected: rapid.IntRange(0, 30).Draw(t, "protected") == 0}
	for range rapid.IntRange(1, 3).Draw(t, "rules") {
		p.rules = append(p.rules, plainRule{
			from:        rapid.IntRange(0, span).Draw(t, "rule from"),
			standCap:    rapid.SampledFrom([]int64{500, 1, 2900, 3333, 1000, 10000, 1667}).Draw(t, "cap"),
			perPlantCap: rapid.SampledFrom([]int64{1000, 3333, 10000, 2500}).Draw(t, "per plant"),
			window:      rapid.SampledFrom([]int{1, 2, 7, 20, 35, 90}).Draw(t, "window"),
			valid:       rapid.SampledFrom([]int{120, 300, 40, 10, 1}).Draw(t, "valid"),
		})
	}
	for range rapid.IntRange(1, 2).Draw(t, "closure versions") {
		version := plainClosures{from: rapid.IntRange(0, span).Draw(t, "closures from")}
		for range rapid.IntRange(0, 2).Draw(t, "closures") {
			from := rapid.IntRange(0, span).Draw(t, "closed from")
			version.spans = append(version.spans, [2]int{from, from + rapid.IntRange(0, 12).Draw(t, "closed for")})
		}
		p.closures = append(p.closures, version)
	}
	for range rapid.IntRange(0, 6).Draw(t, "surveys") {
		p.surveys = append(p.surveys, drawSurvey(t))
	}
	slices.SortStableFunc(p.surveys, func(a, b plainSurvey) int { return a.day - b.day })
	p.disturbances = rapid.SliceOfN(rapid.IntRange(0, span), 0, 2).Draw(t, "disturbances")
	slices.Sort(p.disturbances)
	for range rapid.IntRange(0, 12).Draw(t, "entries") {
		e := plainEntry{rapid.IntRange(0, span).Draw(t, "taken"), rapid.IntRange(1, 30).Draw(t, "stems"), rapid.IntRange(0, 9).Draw(t, "parents")}
		p.entries = append(p.entries, e)
		if rapid.IntRange(0, 3).Draw(t, "voided") == 0 {
			keep := rapid.SampledFrom([]int{0, 0, 1}).Draw(t, "stems left")
			p.entries = append(p.entries, plainEntry{e.day, keep - e.stems, -e.parents * (1 - keep)})
		}
	}
	return p
}

func drawSurvey(t *rapid.T) plainSurvey {
	s := plainSurvey{
		day:     rapid.SampledFrom([]int{0, 0, 3, 20, 45, 46, 80, 110}).Draw(t, "surveyed"),
		bound:   rapid.SampledFrom([]int64{3000000, 1000000, 6632000, 2999999, 20000000, 400000, 0}).Draw(t, "bound"),
		counted: rapid.Bool().Draw(t, "counted"),
	}
	if s.counted && rapid.Bool().Draw(t, "plants counted") {
		s.plants = rapid.IntRange(1, 40).Draw(t, "plants")
	}
	return s
}

func drawCut(t *rapid.T) plainCut {
	cut := plainCut{day: rapid.IntRange(-3, span+20).Draw(t, "on"), stems: rapid.IntRange(1, 60).Draw(t, "cut")}
	if rapid.IntRange(0, 6).Draw(t, "parents known") > 0 {
		n := rapid.IntRange(1, 45).Draw(t, "parents cut")
		cut.parents = &n
	}
	return cut
}

// The same stand as the rules read it.

func (p *plainStand) record() *models.StandRecord {
	r := &models.StandRecord{Stand: models.Stand{Code: "TB-01"}, Taxon: models.Taxon{ScientificName: "Cornus sericea", Protected: p.protected}}
	for _, v := range p.rules {
		r.Rules = append(r.Rules, models.RuleVersion{InForceFrom: base.Add(v.from), HarvestRule: models.HarvestRule{
			StandCap: models.Decimal(v.standCap), PerPlantCap: models.Decimal(v.perPlantCap), WindowDays: v.window, SurveyValidDays: v.valid,
		}})
	}
	for _, v := range p.closures {
		version := models.ClosureVersion{InForceFrom: base.Add(v.from)}
		for _, s := range v.spans {
			version.Closures = append(version.Closures, models.Closure{From: base.Add(s[0]).String(), To: base.Add(s[1]).String(), Kind: models.Closed})
		}
		r.Closures = append(r.Closures, version)
	}
	for i, s := range p.surveys {
		survey := models.Survey{ID: fmt.Sprint(i), SurveyedOn: base.Add(s.day), Method: models.Ocular, LowerBound: models.Decimal(s.bound)}
		if s.counted {
			survey.Method = models.Census
		}
		if s.plants > 0 {
			plants := s.plants
			survey.Plants = &plants
		}
		r.Surveys = append(r.Surveys, survey)
	}
	for _, e := range p.disturbances {
		r.Disturbances = append(r.Disturbances, models.Disturbance{HappenedOn: base.Add(e), Kind: "flood"})
	}
	for day := 0; day <= span+400; day++ {
		if stems, parents := p.sum(day-1, day); p.hasEntries(day) {
			r.Ledger = append(r.Ledger, models.LedgerDay{TakenOn: base.Add(day), Stems: stems, Parents: parents})
		}
	}
	return r
}

// hasEntries says that a day stands in the ledger, if only with a sum of zero.
func (p *plainStand) hasEntries(day int) bool {
	return slices.ContainsFunc(p.entries, func(e plainEntry) bool { return e.day == day })
}

func (c plainCut) cut() rules.Cut {
	return rules.Cut{On: base.Add(c.day), Stems: c.stems, Parents: c.parents}
}

const cutsAsked = 12 // of each stand that is drawn

// askOf asks about many cuts of one stand, and shows the stand if an answer is wrong.
func askOf(t *testing.T, ask func(t *rapid.T, p *plainStand, cut plainCut)) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawStand(t)
		for range cutsAsked {
			cut := drawCut(t)
			ask(t, p, cut)
			if t.Failed() {
				text, _ := json.Marshal(p.record())
				t.Fatalf("cut %+v of %s", cut, text)
			}
		}
	})
}

func TestTheAllowanceIsWhatAPlainReadingOfTheRulesGives(t *testing.T) {
	askOf(t, func(t *rapid.T, p *plainStand, cut plainCut) {
		got := rules.Allowance(p.record(), cut.cut())
		allowed, binding := p.allowed(cut)
		if got.Allowed != allowed || got.Binding.Code != binding {
			t.Errorf("allowed %d by %s, want %d by %s", got.Allowed, got.Binding.Code, allowed, binding)
		}
		if got.Taken != p.taken(cut.day) || got.Limit != p.limit(cut.day) {
			t.Errorf("taken %d of %d, want %d of %d", got.Taken, got.Limit, p.taken(cut.day), p.limit(cut.day))
		}
		left := p.standLeft(cut.day)
		wantAllows(t, got.Rules, rules.RuleStand, &left)
		wantAllows(t, got.Rules, rules.RulePerPlant, p.perPlantLeft(cut))
	})
}

func wantAllows(t *rapid.T, answers []models.RuleAllowed, code string, want *int) {
	i := slices.IndexFunc(answers, func(r models.RuleAllowed) bool { return r.Code == code })
	if got := answers[i].Allowed; (got == nil) != (want == nil) || got != nil && *got != *want {
		t.Errorf("%s allows %s, want %s", code, shown(got), shown(want))
	}
}

func shown(n *int) string {
	if n == nil {
		return "no number"
	}
	return fmt.Sprint(*n)
}

func TestACutPassesWhereAPlainReadingOfTheRulesLetsItPass(t *testing.T) {
	askOf(t, func(t *rapid.T, p *plainStand, cut plainCut) {
		refusal := rules.JudgeCut(p.record(), cut.cut())
		allowed, binding := p.allowed(cut)
		switch {
		case (refusal == nil) != (allowed >= cut.stems):
			t.Errorf("the refusal is %v, and %d of %d stems are allowed", refusal, allowed, cut.stems)
		case refusal == nil:
		case refusal.Kind != models.Refused || *refusal.Allowed != allowed || refusal.Binding.Code != binding:
			t.Errorf("refused with %d by %s, want %d by %s", *refusal.Allowed, refusal.Binding.Code, allowed, binding)
		}
	})
}

func TestPossibleFromIsTheFirstDayThatPasses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, cut := drawStand(t), drawCut(t)
		answer := rules.Allowance(p.record(), cut.cut())
		got, want := answer.PossibleFrom, p.possibleFrom(cut)
		if (answer.Instead == "") != (got != nil) || p.protected && answer.Instead != "not without an authority on file" {
			t.Errorf("possible from %v, and what would help is %q", got, answer.Instead)
		}
		switch {
		case got == nil && want == nil:
			return
		case got == nil || want == nil:
			t.Fatalf("possible from %v, want day %s", got, shown(want))
		case got.Sub(base) != *want:
			t.Errorf("possible from %s, want %s", got, base.Add(*want))
		}
		cut.day = got.Sub(base)
		if refusal := rules.JudgeCut(p.record(), cut.cut()); refusal != nil {
			t.Errorf("possible from %s, but then: %s", got, refusal)
		}
	})
}

// Cuts entered in any order of their days never fill a window over its limit.
func TestNoWindowIsEverFilledOverItsLimit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawStand(t)
		p.protected, p.entries = false, nil
		accepted := 0
		for range rapid.IntRange(1, 25).Draw(t, "cuts") {
			cut := drawCut(t)
			if rules.JudgeCut(p.record(), cut.cut()) != nil {
				continue
			}
			accepted++
			entry := plainEntry{day: cut.day, stems: cut.stems}
			if cut.parents != nil {
				entry.parents = *cut.parents
			}
			p.entries = append(p.entries, entry)
		}
		for day := -3; day <= span+20; day++ {
			if p.hasEntries(day) && p.taken(day) > p.limit(day) {
				t.Errorf("after %d cuts, %d stems are taken in the window to day %d, and the limit is %d",
					accepted, p.taken(day), day, p.limit(day))
			}
		}
	})
}

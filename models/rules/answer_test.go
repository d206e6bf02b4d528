package rules_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

func TestTheAnswerInOneSentence(t *testing.T) {
	all := func(changes ...func(*models.StandRecord)) []func(*models.StandRecord) { return changes }
	salvage := func(r *models.StandRecord) {
		r.Salvages = append(r.Salvages, models.SalvagePeriod{StartsOn: date("2026-01-10"), EndsOn: date("2026-02-01"), Authority: "county roads", Why: "the bank is to be dug away"})
	}
	for _, c := range []struct {
		name   string
		stand  []func(*models.StandRecord)
		stems  int
		plants int
		want   string
	}{
		{"within the count", all(counted("2026-01-01", "663.2")), 24, 0,
			"At TB-01 on 2026-01-17 33 stems are possible at most, limited by stand (0 of 33 stems are taken in the 350 days to 2026-01-17 (0.05 × 663.2, the lower bound of the census count of 2026-01-01)), " +
				"and 24 stems are within the count, which is no leave to cut; the rules allow 33 by stand, and no number is set by protection, permit, closure, rest, survey and per-plant; 24 stems are possible from that day on."},
		{"too many, and later not", all(counted("2026-01-01", "800"), taken("2026-01-10", 28)), 24, 0,
			"At TB-01 on 2026-01-17 12 stems are possible at most and 24 are not, limited by stand (28 of 40 stems are taken in the 350 days to 2026-01-17 (0.05 × 800, the lower bound of the census count of 2026-01-01)); " +
				"the rules allow 12 by stand, and no number is set by protection, permit, closure, rest, survey and per-plant; 24 stems would be possible from 2026-12-26."},
		{"by plants", all(counted("2026-01-01", "600", 40)), 10, 6,
			"At TB-01 on 2026-01-17 9 stems are possible at most and 10 are not, limited by per-plant (0 of 9 stems are taken in the 350 days to 2026-01-17 from 6 of the 40 plants counted on 2026-01-01 (0.1 × 600 ÷ 40 × 6)); " +
				"the rules allow 9 by per-plant and 30 by stand, and no number is set by protection, permit, closure, rest and survey; 10 stems would be possible on no day as things are: not from so few plants: take them from more."},
		{"plants not said", all(counted("2026-01-01", "600", 40)), 1, 0,
			"At TB-01 on 2026-01-17 30 stems are possible at most, limited by stand (0 of 30 stems are taken in the 350 days to 2026-01-17 (0.05 × 600, the lower bound of the census count of 2026-01-01)), and 1 stem is within the count, which is no leave to cut; " +
				"the rules allow 30 by stand, and no number is set by protection, permit, closure, rest, survey and per-plant (left out: say from how many plants they are cut); 1 stem is possible from that day on."},
		{"none at all", all(), 3, 0,
			"At TB-01 on 2026-01-17 no stem is possible, limited by survey (the stand was not counted on or before 2026-01-17); the rules allow 0 by survey and 0 by stand, and no number is set by protection, permit, closure, rest and per-plant; 3 stems would be possible on no day as things are: not before a new count."},
		{"salvage", all(salvage), 300, 0,
			"At TB-01 on 2026-01-17 300 stems are free of caps (salvage to 2026-02-01, free of caps: the bank is to be dug away (authority: county roads)), which is no leave to cut; no rule sets a number; 300 stems are possible from that day on."},
	} {
		t.Run(c.name, func(t *testing.T) {
			cut := rules.Cut{On: date("2026-01-17"), Stems: c.stems}
			if c.plants > 0 {
				cut.Parents = &c.plants
			}
			if got := rules.Allowance(standOf(c.stand...), cut).Sentence; got != c.want {
				t.Errorf("it says\n%s\nand not\n%s", got, c.want)
			}
		})
	}
}

// Whatever a stand is like, the sentence has the number of every rule that sets one
// and the first possible day, and it never says yes without saying that it gives no
// leave.
func TestTheSentenceHasEveryNumber(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawStand(t).record()
		drawKept(t, r)
		a := rules.Allowance(r, drawCut(t).cut())
		wants := []string{" on " + a.On.String()}
		for _, rule := range a.Rules {
			if rule.Allowed != nil {
				wants = append(wants, shown(rule.Allowed)+" by "+rule.Code)
			}
		}
		if a.PossibleFrom != nil && *a.PossibleFrom != a.On {
			wants = append(wants, "possible from "+a.PossibleFrom.String())
		}
		if a.PossibleFrom == nil {
			wants = append(wants, a.Instead)
		}
		if a.Allowed >= a.Stems {
			wants = append(wants, "no leave to cut")
		}
		for _, want := range wants {
			if !strings.Contains(a.Sentence, want) {
				t.Errorf("%q does not say %q", a.Sentence, want)
			}
		}
		if strings.Count(a.Sentence, ". ") > 0 || !strings.HasSuffix(a.Sentence, ".") {
			t.Errorf("%q is not one sentence", a.Sentence)
		}
	})
}

package rules_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/stats"
)

// inArm is a lot in an arm, and in a block where one is named.
func inArm(w rules.Watched, arm, block string) rules.Watched {
	w.Keys["treatment"], w.Block = arm, block
	return w
}

func compare(t *testing.T, ask rules.CompareAsk, batches ...rules.Watched) models.Comparison {
	t.Helper()
	ask.Draw = draw
	c, err := rules.Compare(context.Background(), batches, ask)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// pairs are blocks of one batch of each of two arms, watched to the end: rooted of
// 20 in each.
func pairsOf(rooted [][2]int) []rules.Watched {
	var all []rules.Watched
	for i, r := range rooted {
		block := fmt.Sprintf("%d", i)
		all = append(all, inArm(lot("n"+block, 20, 28, r[0]/2, 0, 84, r[0]-r[0]/2, 1), "none", block),
			inArm(lot("w"+block, 20, 28, r[1]/2, 0, 84, r[1]-r[1]/2, 1), "willow water", block))
	}
	return all
}

func TestSideBySide(t *testing.T) {
	c := compare(t, rules.CompareAsk{}, pairsOf([][2]int{{8, 14}, {10, 17}, {6, 12}, {9, 15}, {11, 18}, {7, 12}})...)
	if !c.SideBySide || c.Reference != "none" || c.Test.Blocks != 6 || c.Test.Method != "exact" || c.Test.Labelings != 64 {
		t.Fatalf("%+v, test %+v", c, c.Test)
	}
	if d := c.Difference; d.Basis != "blocks" || *d.DF != 5 || *d.Day != 84 || !(*d.Lower > 0) || d.Arm != "willow water" {
		t.Errorf("difference %+v", d)
	}
	if math.Abs(*c.Test.PPermutation-2.0/64) > 1e-9 || *c.Test.U <= 0 || !strings.HasPrefix(c.Heading, "willow water rooted earlier") {
		t.Errorf("%s: %+v", c.Heading, c.Test)
	}
	turned := compare(t, rules.CompareAsk{Reference: "Willow  Water"}, pairsOf([][2]int{{8, 14}, {10, 17}, {6, 12}, {9, 15}, {11, 18}, {7, 12}})...)
	if turned.Difference.Arm != "none" || math.Abs(*turned.Difference.Estimate+*c.Difference.Estimate) > 1e-9 || *turned.Test.U >= 0 {
		t.Errorf("turned round: %+v", turned.Difference)
	}
}

func TestHonestAnswers(t *testing.T) {
	apart := func(n int, arm string, rooted int) []rules.Watched {
		var all []rules.Watched
		for i := range n {
			all = append(all, inArm(lot(fmt.Sprint(arm, i), 20, 28, rooted/2+i, 0, 84, rooted/2, 0), arm, ""))
		}
		return all
	}
	cases := []struct {
		name, want string
		batches    []rules.Watched
	}{
		{"3 and 3", "too few batches", append(apart(3, "a", 4), apart(3, "b", 14)...)},
		{"5 pairs", "too few batches", pairsOf([][2]int{{8, 14}, {10, 17}, {6, 12}, {9, 15}, {11, 18}})},
		{"not split from one harvest", "not a side-by-side trial", append(apart(5, "a", 4), apart(5, "b", 12)...)},
		{"one arm", "nothing to compare", apart(3, "a", 4)},
		{"young", "not enough yet", []rules.Watched{inArm(lot("x", 20, 14, 3, 0), "a", ""), inArm(lot("y", 20, 14, 9, 0), "b", "")}},
		{"unseen", "not enough yet", []rules.Watched{inArm(lot("x", 20, 14, 3, 0), "a", ""), inArm(lot("y", 20), "b", "")}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got := compare(t, rules.CompareAsk{}, c.batches...)
			if !strings.Contains(got.Heading, c.want) {
				t.Errorf("%q, want %q", got.Heading, c.want)
			}
			if few := strings.HasPrefix(c.want, "too few"); few && (got.Test.Method != "declined" || got.Test.PPermutation != nil || got.Test.U == nil) {
				t.Errorf("test %+v", got.Test)
			}
		})
	}
}

// TestOpenArmsAreDrawnAgain has arms still being watched: the difference is that
// of the curves at the last day all of them speak of.
func TestOpenArmsAreDrawnAgain(t *testing.T) {
	var batches []rules.Watched
	for i := range 5 {
		batches = append(batches, inArm(lot(fmt.Sprint("a", i), 30, 14, 3+i, 0, 56, 6, 1), "a", ""), inArm(lot(fmt.Sprint("b", i), 30, 14, 9+i, 0, 49, 8, 1), "b", ""))
	}
	c := compare(t, rules.CompareAsk{}, batches...)
	if d := c.Difference; d.Basis != "npmle_at_day" || *d.Day != 49 || *d.DF != 8 || d.Lower == nil {
		t.Fatalf("%+v", c.Difference)
	}
	if diff := *c.Arms[1].Rate - *c.Arms[0].Rate; math.Abs(diff-*c.Difference.Estimate) > 1e-9 {
		t.Errorf("rates differ by %v, the difference is %v", diff, *c.Difference.Estimate)
	}
	if few := compare(t, rules.CompareAsk{}, batches[:4]...); few.Difference.Lower != nil {
		t.Error("limits drawn from two batches an arm")
	}
}

func TestMoreThanTwoArms(t *testing.T) {
	var batches []rules.Watched
	for arm, ppm := range []float64{0, 1000, 3000, 8000} {
		for i := range 3 {
			w := inArm(lot(fmt.Sprint(ppm, i), 20, 28, 4+3*arm+i, 0, 84, 0, 1), "IBA", "")
			w.Treatment = &models.Treatment{AuxinPPM: &ppm}
			batches = append(batches, w)
		}
	}
	slices.Reverse(batches)
	c := compare(t, rules.CompareAsk{By: "auxin_ppm"}, batches...)
	if c.Difference != nil || c.Test != nil || len(c.Arms) != 4 || c.Arms[3].Treatment != "8000" || c.Reference != "0" {
		t.Fatalf("%+v", c.Arms)
	}
	if c.Overall.PPermutation == nil || *c.Overall.PPermutation > .05 || c.Overall.DF != 3 {
		t.Errorf("overall %+v", c.Overall)
	}
	if c.Trend == nil || c.Trend.PPermutation == nil || *c.Trend.PPermutation > .05 || *c.Trend.U <= 0 || c.Trend.Doses["3000"] != 3000 {
		t.Errorf("trend %+v", c.Trend)
	}
	if c.Trend.Reason != "" || c.Trend.Labelings < 1000 || c.Trend.Seed != draw.Seed {
		t.Errorf("trend %+v", c.Trend)
	}
	if len(c.Pairs) != 3 || c.Pairs[0].Test.Method != "declined" || c.Pairs[0].PHolm != nil {
		t.Errorf("pairs %+v", c.Pairs)
	}
}

// TestTrendsThatCannotBeSaySo has a batch of each dose, and then doses that none
// rooted of.
func TestTrendsThatCannotBeSaySo(t *testing.T) {
	var few, none []rules.Watched
	for arm, days := range []float64{0, 3, 7} {
		for i := range 3 {
			w := inArm(lot(fmt.Sprint(arm, i), 20, 28, 4+3*arm, 0, 84, 0, 1), "soaked", "")
			w.Treatment = &models.Treatment{SoakDays: &days}
			if i == 0 {
				few = append(few, w)
			}
			w.Lot = lot(fmt.Sprint(arm, i), 20, 28, 0, 0, 84, 0, 0).Lot
			none = append(none, w)
		}
	}
	for reason, batches := range map[string][]rules.Watched{
		"too few batches to test: with 1 + 1 + 1 batches no outcome could have a p below 0.17": few,
		"not enough yet: there is nothing to tell the doses apart by":                          none,
	} {
		c := compare(t, rules.CompareAsk{By: "soak_days"}, batches...)
		if c.Trend == nil || c.Trend.Reason != reason || c.Trend.Method != "declined" || c.Trend.PPermutation != nil {
			t.Errorf("%+v, want %s", c.Trend, reason)
		}
	}
}

func TestWhatIsComparedIsNamed(t *testing.T) {
	batches := pairsOf([][2]int{{8, 14}, {10, 17}})
	for _, ask := range []rules.CompareAsk{{By: "weather"}, {Reference: "willow watr"}, {Difference: math.NaN()}, {Difference: 1}, {Difference: -.1}} {
		ask.Draw = draw
		_, err := rules.Compare(context.Background(), batches, ask)
		if known := models.AsError(err); known == nil || known.Kind != models.Invalid {
			t.Errorf("%+v: %v", ask, err)
		}
	}
	for _, name := range rules.Comparable() {
		compare(t, rules.CompareAsk{By: name}, batches...)
	}
}

func TestWhatElseDiffersIsSaid(t *testing.T) {
	batches := pairsOf([][2]int{{8, 14}, {10, 17}})
	for i := range batches {
		batches[i].Keys["medium"] = []string{"sand", "perlite"}[i%2]
	}
	batches = append(batches, inArm(lot("alone", 20, 84, 3, 0), "none", "9"), lot("blank", 20, 84, 3, 0))
	notes := strings.Join(compare(t, rules.CompareAsk{}, batches...).Notes, "\n")
	for _, want := range []string{"differ in medium", "1 of the batches stand in no block", "1 of the batches have no recorded treatment"} {
		if !strings.Contains(notes, want) {
			t.Errorf("no word of %q in %q", want, notes)
		}
	}
}

// TestComparisonsAreAnswerable wants every trial to be writable as JSON, the same
// whatever the order of its batches.
func TestComparisonsAreAnswerable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var batches []rules.Watched
		for i := range rapid.IntRange(0, 7).Draw(t, "batches") {
			looks, left, day := []int{}, 20, 0
			for range rapid.IntRange(0, 3).Draw(t, "looks") {
				day += rapid.IntRange(1, 40).Draw(t, "days")
				rooted := rapid.IntRange(0, left).Draw(t, "rooted")
				left -= rooted
				looks = append(looks, day, rooted, 0)
			}
			batches = append(batches, inArm(lot(fmt.Sprint(i), 20, looks...), rapid.SampledFrom([]string{"a", "b", "c"}).Draw(t, "arm"), rapid.SampledFrom([]string{"", "1", "2"}).Draw(t, "block")))
		}
		ask := rules.CompareAsk{Draw: stats.Drawing{Replicates: 10, Seed: 1}}
		text := func() string {
			c, err := rules.Compare(context.Background(), batches, ask)
			if err != nil {
				t.Fatal(err)
			}
			text, err := json.Marshal(c)
			if err != nil {
				t.Fatal(err)
			}
			return string(text)
		}
		first := text()
		slices.Reverse(batches)
		if again := text(); again != first {
			t.Fatalf("%s, and turned round %s", first, again)
		}
	})
}

// TestBatchesForADifference plans with the size of the batches there are, and the
// usual likeness where few batches tell none: .60 against .75 in batches of 30 takes
// 18.
func TestBatchesForADifference(t *testing.T) {
	batches := []rules.Watched{inArm(lot("a", 30, 84, 18, 0), "a", ""), inArm(lot("b", 30, 84, 20, 0), "b", "")}
	c := compare(t, rules.CompareAsk{Difference: .15}, batches...)
	if c.Need == nil || c.Need.Batches == nil || *c.Need.Batches != 18 || c.Need.Rho != .08 || c.Need.Cuttings != 30 {
		t.Errorf("%+v", c.Need)
	}
	if c = compare(t, rules.CompareAsk{}, batches...); c.Need != nil {
		t.Error("a need of no difference")
	}
	if c = compare(t, rules.CompareAsk{Difference: .0001}, batches...); c.Need.Batches != nil {
		t.Errorf("out of reach, and %d batches", *c.Need.Batches)
	}
}

package rules_test

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/rules"
)

func says(c models.Comparison, text string) bool {
	return strings.Contains(c.Heading, text) || strings.Contains(strings.Join(c.Notes, "\n"), text)
}

// TestArmsThatCannotDiffer has three arms of two batches: of 90 labelings six are
// always as far out as the observed one.
func TestArmsThatCannotDiffer(t *testing.T) {
	var batches []rules.Watched
	for arm, name := range []string{"a", "b", "c"} {
		for i := range 2 {
			batches = append(batches, inArm(lot(fmt.Sprint(name, i), 20, 28, 2+7*arm+i, 0, 84, 0, 0), name, ""))
		}
	}
	c := compare(t, rules.CompareAsk{}, batches...)
	if c.Overall.Method != "declined" || c.Overall.PPermutation != nil || !says(c, "too few batches to test") || !says(c, "0.067") {
		t.Errorf("%s: %+v", c.Heading, c.Overall)
	}
}

// TestOneBatchIsNotEnough holds one batch against 25, of which only one of the 26
// labelings is as far out.
func TestOneBatchIsNotEnough(t *testing.T) {
	batches := []rules.Watched{inArm(lot("z", 20, 28, 19, 0, 84, 0, 0), "z", "")}
	for i := range 25 {
		batches = append(batches, inArm(lot(fmt.Sprint("a", i), 20, 28, i/3, 0, 84, 0, 0), "a", ""))
	}
	if c := compare(t, rules.CompareAsk{}, batches...); !says(c, "not enough yet: z is one batch only") {
		t.Error(c.Heading)
	}
}

// TestDayOfACrudeDifference has an arm of which hardly any are left to root after
// day 28, and all batches watched to the end: the rates are final ones.
func TestDayOfACrudeDifference(t *testing.T) {
	var batches []rules.Watched
	for i := range 5 {
		batches = append(batches, inArm(lot(fmt.Sprint("q", i), 20, 28, 19, 0, 84, 0, 0), "quick", ""),
			inArm(lot(fmt.Sprint("s", i), 20, 28, 4+i, 0, 84, 5, 0), "slow", ""))
	}
	d := compare(t, rules.CompareAsk{}, batches...).Difference
	if d.Basis != "crude_closed" || *d.Day != 84 || math.Abs(*d.Estimate-(.55-.95)) > 1e-9 {
		t.Errorf("%+v, %v by day %d", d, *d.Estimate, *d.Day)
	}
}

// TestLateLooksCountWithinBlocks has last looks after the day of a final rate: they
// cover it.
func TestLateLooksCountWithinBlocks(t *testing.T) {
	var batches []rules.Watched
	for i := range 4 {
		block := fmt.Sprint(i)
		batches = append(batches, inArm(lot("n"+block, 20, 28, 2, 0, 90, 8, 0), "none", block),
			inArm(lot("w"+block, 20, 28, 2, 0, 90, 12, 0), "water", block))
	}
	if d := compare(t, rules.CompareAsk{}, batches...).Difference; d.Basis != "blocks" || math.Abs(*d.Estimate-.2) > 1e-9 {
		t.Errorf("%+v: %v", d, *d.Estimate)
	}
}

// TestBlocksThatEndEarly differ in nothing but how long they were watched: what was
// not seen is not taken for not rooted.
func TestBlocksThatEndEarly(t *testing.T) {
	block := func(i, last int) []rules.Watched {
		name := fmt.Sprint(i)
		water := lot("w"+name, 20, 28, 8, 0, 84, 6, 0)
		if last < 84 {
			water = lot("w"+name, 20, 28, 8, 0, last, 0, 0)
		}
		return []rules.Watched{inArm(lot("n"+name, 20, 28, 8, 0, 84, 6, 0), "none", name), inArm(water, "water", name)}
	}
	var batches []rules.Watched
	for i := range 6 {
		batches = append(batches, block(i, map[bool]int{true: 35, false: 84}[i < 2])...)
	}
	c := compare(t, rules.CompareAsk{}, batches...)
	if *c.Difference.Estimate != 0 || c.Difference.Lower != nil || !says( /* four blocks that are alike: no limits */ c, "2 differences within blocks left out") {
		t.Errorf("%v, %q", *c.Difference.Estimate, c.Notes)
	}
	if c.Test.Blocks != 6 {
		t.Errorf("a test of %d blocks", c.Test.Blocks)
	}
	batches = nil
	for i := range 3 {
		batches = append(batches, block(i, 84)...)
		batches = append(batches, inArm(lot(fmt.Sprint("x", i), 20, 28, 3, 0), "water", fmt.Sprint(i)))
	}
	only := compare(t, rules.CompareAsk{}, batches...)
	if *only.Difference.Day != 28 || math.Abs(*only.Difference.Estimate-(11.0/40-.4)) > 1e-9 || !says(only, "not enough yet") {
		t.Errorf("blocks that are all watched to day 28 only: %+v", only.Difference)
	}
}

// TestBlocksLookedAtOnTheirOwnDays has one cutting taken out, so that not everything
// is final, and blocks with last looks on days of their own: each counts.
func TestBlocksLookedAtOnTheirOwnDays(t *testing.T) {
	var batches []rules.Watched
	for i := range 4 {
		block := fmt.Sprint(i)
		batches = append(batches, inArm(lot("n"+block, 20, 28, 2, 0, 84+2*i, 8, 0), "none", block),
			inArm(lot("w"+block, 20, 28, 2, 0, 84+2*i, 12, 0), "water", block))
	}
	batches[0].Lot.Looks[1].Withdrawn = 1
	c := compare(t, rules.CompareAsk{}, batches...)
	if *c.Difference.Day < 84 || math.Abs(*c.Difference.Estimate-.2) > .01 || says(c, "left out") {
		t.Errorf("%v by day %d, %q", *c.Difference.Estimate, *c.Difference.Day, c.Notes)
	}
}

// TestArmsOfABlockLookedAtOnOtherDays has one block whose arms were never looked at
// together: the one that was looked at later would win by that alone.
func TestArmsOfABlockLookedAtOnOtherDays(t *testing.T) {
	var batches []rules.Watched
	for i := range 4 {
		block, other := fmt.Sprint(i), 40
		if i == 0 {
			other = 35
		}
		batches = append(batches, inArm(lot("n"+block, 20, 20, 2, 0, 40, 8, 0, 60, 1, 0), "none", block),
			inArm(lot("w"+block, 20, 20, 2, 0, other, 8, 0, 50, 1, 0), "water", block))
	}
	batches[1].Lot.Looks = batches[1].Lot.Looks[:2]
	c := compare(t, rules.CompareAsk{}, batches...)
	if *c.Difference.Day != 40 || *c.Difference.Estimate != 0 || !says(c, "1 difference within blocks left out") {
		t.Errorf("%v by day %d, %q", *c.Difference.Estimate, *c.Difference.Day, c.Notes)
	}
}

// TestNoneRootedInOpenArms has drawings that are all the same, and limits that are
// not.
func TestNoneRootedInOpenArms(t *testing.T) {
	var batches []rules.Watched
	for i := range 4 {
		batches = append(batches, inArm(lot(fmt.Sprint("a", i), 20, 14, 0, 0, 49, 0, 1), "a", ""),
			inArm(lot(fmt.Sprint("b", i), 20, 14, 0, 0, 49, 0, 1), "b", ""))
	}
	d := compare(t, rules.CompareAsk{}, batches...).Difference
	if *d.Estimate != 0 || !(*d.Lower < -.05 && *d.Upper > .05) || math.Abs(*d.Lower+*d.Upper) > 1e-9 {
		t.Errorf("%v, between %v and %v", *d.Estimate, *d.Lower, *d.Upper)
	}
}

// TestAThousandBatchesAreAnswered has more labelings than a number can say.
func TestAThousandBatchesAreAnswered(t *testing.T) {
	var batches []rules.Watched
	for i := range 1200 {
		batches = append(batches, inArm(lot(fmt.Sprint(i), 20, 28, i%9, 0, 84, i%5, 0), []string{"a", "b"}[i%2], ""))
	}
	c := compare(t, rules.CompareAsk{}, batches...)
	if _, err := json.Marshal(c); err != nil || c.Test.Method != "draws" {
		t.Errorf("%v: %+v", err, c.Test)
	}
}

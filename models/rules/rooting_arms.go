package rules

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"withybed/models"
	"withybed/models/stats"
)

// rates fills in the arms.
func (t *trial) rates(ctx context.Context, c *models.Comparison) error {
	for i := range t.arms {
		a := &t.arms[i]
		p := Pool{Batches: a.batches}
		counts := countsOf(&p)
		view := models.TrialArm{Treatment: a.name, Batches: counts.Batches, Cuttings: counts.Cuttings, Rooted: counts.Rooted, Lost: counts.Lost, Open: counts.Open}
		if len(a.batches) > 0 {
			rate, ok, err := t.rateOf(ctx, a)
			if err != nil {
				return err
			}
			view.Rate = &rate.Estimate
			if ok {
				view.Deff, view.NEff = &rate.Deff, &rate.NEff
			}
		}
		c.Arms = append(c.Arms, view)
	}
	return nil
}

// rateOf is the rate of an arm by the day of the difference; ok is false where
// how far its batches differ cannot be told.
func (t *trial) rateOf(ctx context.Context, a *trialArm) (stats.Rate, bool, error) {
	if t.whole() {
		return stats.CrudeRate(a.shares(), rootingLevel), true, nil
	}
	j := judgePool(&Pool{Batches: a.batches}, t.draw)
	err := j.drawOn(ctx, j.lookUpTo(t.day))
	rate, ok := j.rateOn(t.day)
	return rate, ok, err
}

// shares are those of each batch rooted by the day it is final.
func (a *trialArm) shares() []stats.Share {
	shares := make([]stats.Share, len(a.batches))
	for i := range a.batches {
		shares[i] = a.batches[i].share()
	}
	return shares
}

// pair is the difference and the test of arm against the reference.
func (t *trial) pair(ctx context.Context, arm int) (models.ArmPair, error) {
	d, err := t.difference(ctx, arm)
	return models.ArmPair{Difference: d, Test: t.test(arm)}, err
}

func (t *trial) difference(ctx context.Context, arm int) (models.ArmDifference, error) {
	one, two := &t.arms[arm], &t.arms[0]
	d := models.ArmDifference{Arm: one.name, Minus: two.name, Basis: "npmle_at_day", Day: &t.day}
	if len(one.batches) == 0 || len(two.batches) == 0 {
		d.Day = nil
		return d, nil
	}
	switch {
	case t.blocked():
		d.Basis = "blocks"
		found, df := stats.BlockedDifference(t.blocks(one, two), rootingLevel)
		putDifference(&d, found, df, df > 0)
	case t.whole():
		d.Basis = "crude_closed"
		found, df := stats.RateDifference(one.shares(), two.shares(), rootingLevel)
		putDifference(&d, found, df, true)
	default:
		return d, t.drawn(ctx, &d, one, two)
	}
	return d, nil
}

// drawn is the difference of the shares rooted by the day, with limits from
// batches of each arm drawn again: t(B1+B2-2) standard errors to each side.
func (t *trial) drawn(ctx context.Context, d *models.ArmDifference, one, two *trialArm) error {
	p1, p2 := rootedBy(one.lots(), t.day), rootedBy(two.lots(), t.day)
	found := stats.Difference{Estimate: p1 - p2}
	if min(len(one.batches), len(two.batches)) < fewestToDraw || t.draw.Replicates < 2 {
		putDifference(d, found, 0, false)
		return nil
	}
	e1, err := stats.ShareSpread(ctx, one.lots(), t.day, t.draw)
	if err != nil {
		return err
	}
	e2, err := stats.ShareSpread(ctx, two.lots(), t.day, t.draw)
	if err != nil {
		return err
	}
	df := len(one.batches) + len(two.batches) - 2
	half := stats.TQuantile(rootingLevel, df) * math.Hypot(e1, e2)
	found.Lower, found.Upper = max(-1, found.Estimate-half), min(1, found.Estimate+half)
	putDifference(d, found, df, true)
	return nil
}

func rootedBy(lots []stats.Lot, day int) float64 {
	share, _ := stats.FitIncidence(stats.Pool(lots), 0).RootedBy(day)
	return share
}

func putDifference(d *models.ArmDifference, found stats.Difference, df int, limits bool) {
	d.Estimate = &found.Estimate
	if limits {
		d.Lower, d.Upper = &found.Lower, &found.Upper
	}
	if limits && df > 0 {
		d.DF = &df
	}
}

// blocks are the rates of two arms block by block.
func (t *trial) blocks(one, two *trialArm) []stats.Block {
	var blocks []stats.Block
	for _, id := range t.blockNames() {
		ones, twos := one.in(id), two.in(id)
		if len(ones) == 0 || len(twos) == 0 {
			continue
		}
		blocks = append(blocks, stats.Block{P1: rootedBy(ones, t.day), P2: rootedBy(twos, t.day), N1: stuck(ones), N2: stuck(twos)})
	}
	return blocks
}

// blockNames are the blocks that hold two arms, in order.
func (t *trial) blockNames() []string {
	var names []string
	for name := range t.heldBlocks() {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

func (a *trialArm) in(block string) []stats.Lot {
	var lots []stats.Lot
	for i := range a.batches {
		if blockOf(&a.batches[i]) == block {
			lots = append(lots, a.batches[i].Lot)
		}
	}
	return lots
}

func stuck(lots []stats.Lot) float64 {
	n := 0
	for i := range lots {
		n += lots[i].Cuttings
	}
	return float64(n)
}

// scored are the batches of all arms with their scores at the pooled curve, each
// in its block where there are any.
func (t *trial) scored() ([]stats.Scored, map[string]float64) {
	var lots []stats.Lot
	for i := range t.arms {
		lots = append(lots, t.arms[i].lots()...)
	}
	scores := stats.BatchScores(lots, stats.FitIncidence(stats.Pool(lots), 0))
	names := t.blockNames()
	var all []stats.Scored
	for arm := range t.arms {
		for i := range t.arms[arm].batches {
			w := &t.arms[arm].batches[i]
			block := max(0, slices.Index(names, blockOf(w)))
			all = append(all, stats.Scored{Score: scores[w.Lot.ID], Arm: arm, Block: block})
		}
	}
	return all, scores
}

func (t *trial) score(c *models.Comparison) {
	_, c.BatchScores = t.scored()
}

// test is the score test of an arm against the reference.
func (t *trial) test(arm int) models.ArmTest {
	view := models.ArmTest{Arm: t.arms[arm].name, Seed: t.draw.Seed, Blocks: len(t.blockNames())}
	lots, _ := t.scored()
	test, ok := stats.TestTwoArms(lots, t.draw.Seed)
	if !ok {
		view.Method, view.Reason = methodDeclined, "not enough yet: an arm has no batch to test"
		return view
	}
	view.U, view.V, view.Z, view.Labelings = &test.U, &test.V, &test.Z, test.Labelings
	if test.TooFew() {
		view.Method = methodDeclined
		view.Reason = fmt.Sprintf("too few batches to test: with %s no outcome could have a p below %s", t.sizes(), pWords(test.SmallestP))
		return view
	}
	view.PNormal, view.PPermutation, view.Method = &test.PNormal, &test.P, methodOf(test.Relabeled)
	return view
}

// The ways a test was made.
const (
	methodExact    = "exact"
	methodDraws    = "draws"
	methodDeclined = "declined"
)

func methodOf(r stats.Relabeled) string {
	if r.Exact {
		return methodExact
	}
	return methodDraws
}

// sizes are how many batches the arms have.
func (t *trial) sizes() string {
	var sizes []string
	for _, a := range t.arms {
		sizes = append(sizes, strconv.Itoa(len(a.batches)))
	}
	return strings.Join(sizes, " + ") + " batches"
}

// overall is the test over more than two arms.
func (t *trial) overall() *models.ArmsTest {
	view := &models.ArmsTest{DF: len(t.arms) - 1, Seed: t.draw.Seed, Method: methodDeclined}
	lots, _ := t.scored()
	test, ok := stats.TestManyArms(lots, t.draw.Seed)
	if !ok {
		view.Reason = "not enough yet: there is nothing to tell the arms apart by"
		return view
	}
	view.Chi2, view.DF, view.Labelings = &test.Chi2, test.DF, test.Labelings
	if smallest := 1 / test.Labelings; smallest > usualAlpha {
		view.Reason = fmt.Sprintf("too few batches to test: with %s no outcome could have a p below %s", t.sizes(), pWords(smallest))
		return view
	}
	view.PPermutation, view.Method = &test.P, methodOf(test.Relabeled)
	return view
}

// trend is the test over arms that are doses.
func (t *trial) trend() *models.DoseTest {
	if t.by.dose == nil {
		return nil
	}
	view := &models.DoseTest{Dose: t.by.name, Doses: map[string]float64{}, Method: methodDeclined}
	var doses []float64
	for _, a := range t.arms {
		amount, err := strconv.ParseFloat(a.name, 64)
		if err != nil {
			return nil
		}
		view.Doses[a.name] = amount
		doses = append(doses, t.by.dose(amount))
	}
	lots, _ := t.scored()
	test, ok := stats.TestDoses(lots, doses, t.draw.Seed)
	if !ok {
		return view
	}
	view.U, view.Z = &test.U, &test.Z
	if 1/test.Labelings <= usualAlpha {
		view.PNormal, view.PPermutation, view.Method = &test.PNormal, &test.P, methodOf(test.Relabeled)
	}
	return view
}

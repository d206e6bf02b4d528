package rules

import (
	"context"
	"fmt"
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
		if blocks, _ := t.blocks(one, two); len(blocks) > 0 {
			found, df := stats.BlockedDifference(blocks, rootingLevel)
			putDifference(&d, found, df, df > 0)
		}
	case t.whole():
		d.Basis = "crude_closed"
		found, df := stats.RateDifference(one.shares(), two.shares(), rootingLevel)
		putDifference(&d, found, df, true)
	default:
		return d, t.drawn(ctx, &d, one, two)
	}
	return d, nil
}

// drawn is the difference of the shares rooted by the day, with limits made of
// those of both arms, by Student's t with B1+B2-2 degrees of freedom.
func (t *trial) drawn(ctx context.Context, d *models.ArmDifference, one, two *trialArm) error {
	p1, p2 := rootedBy(one.lots(), t.day), rootedBy(two.lots(), t.day)
	found := stats.Difference{Estimate: p1 - p2}
	if min(len(one.batches), len(two.batches)) < fewestToDraw || t.draw.Replicates < 2 {
		putDifference(d, found, 0, false)
		return nil
	}
	df := len(one.batches) + len(two.batches) - 2
	i1, err := t.limits(ctx, one, p1, df)
	if err != nil {
		return err
	}
	i2, err := t.limits(ctx, two, p2, df)
	if err != nil {
		return err
	}
	putDifference(d, stats.Newcombe(p1, p2, i1, i2), df, true)
	return nil
}

// limits are those of the share p of an arm, from its batches drawn again. Where
// none or all rooted every drawing is the same, and tells nothing of how uncertain
// that is.
func (t *trial) limits(ctx context.Context, a *trialArm, p float64, df int) (stats.Interval, error) {
	if p <= 0 || p >= 1 {
		edge := stats.EdgeRate(p, stuck(a.lots()), len(a.batches), rootingLevel)
		return stats.Interval{Lower: edge.Lower, Upper: edge.Upper}, nil
	}
	spread, err := stats.ShareSpread(ctx, a.lots(), t.day, t.draw)
	half := stats.TQuantile(rootingLevel, df) * spread
	return stats.Interval{Lower: p - half, Upper: p + half}, err
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

// blocks are the rates of two arms block by block, and how many blocks are left
// out since nobody watched both arms to the day: what had rooted by then is not
// known of them.
func (t *trial) blocks(one, two *trialArm) (blocks []stats.Block, short int) {
	for _, id := range t.blockNames() {
		ones, twos := one.in(id), two.in(id)
		if len(ones.batches) == 0 || len(twos.batches) == 0 {
			continue
		}
		if !t.watched(ones) || !t.watched(twos) {
			short++
			continue
		}
		blocks = append(blocks, stats.Block{
			P1: t.shareOf(ones), P2: t.shareOf(twos), N1: stuck(ones.lots()), N2: stuck(twos.lots()),
		})
	}
	return blocks, short
}

// watched says that all batches were looked at until the day of the difference, or
// until nothing was left to look at.
func (t *trial) watched(a *trialArm) bool {
	return !slices.ContainsFunc(a.lots(), func(l stats.Lot) bool { return l.Open() > 0 && l.LastDay() < t.day })
}

// shareOf is the share rooted by the day of the difference: by the look that covers
// it where all were watched long enough, otherwise off the curve.
func (t *trial) shareOf(a *trialArm) float64 {
	if t.whole() {
		return stats.CrudeRate(a.shares(), rootingLevel).Estimate
	}
	return rootedBy(a.lots(), t.day)
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

// in is the part of an arm in a block.
func (a *trialArm) in(block string) *trialArm {
	part := &trialArm{name: a.name}
	for i := range a.batches {
		if blockOf(&a.batches[i]) == block {
			part.batches = append(part.batches, a.batches[i])
		}
	}
	return part
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
	if test.TooFew() {
		view.Reason = fmt.Sprintf("too few batches to test: with %s no outcome could have a p below %s", t.sizes(), pWords(test.SmallestP))
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
	if !test.TooFew() {
		view.PNormal, view.PPermutation, view.Method = &test.PNormal, &test.P, methodOf(test.Relabeled)
	}
	return view
}

package rules

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"withybed/models"
	"withybed/models/stats"
)

// rates are the arms with their rates.
func (t *trial) rates(ctx context.Context) ([]models.TrialArm, error) {
	views := []models.TrialArm{}
	for i := range t.arms {
		a := &t.arms[i]
		view := models.TrialArm{Treatment: a.name, Batches: a.counts.Batches, Cuttings: a.counts.Cuttings, Rooted: a.counts.Rooted, Lost: a.counts.Lost, Open: a.counts.Open}
		if len(a.batches) > 0 {
			rate, ok, err := t.rateOf(ctx, a)
			if err != nil {
				return nil, err
			}
			view.Rate = &rate.Estimate
			if ok {
				view.Deff, view.NEff, view.RhoAssumed = &rate.Deff, &rate.NEff, rate.RhoAssumed
			}
		}
		views = append(views, view)
	}
	return views, nil
}

// rateOf is the rate of an arm by the day of the difference; ok is false where
// how far its batches differ cannot be told.
func (t *trial) rateOf(ctx context.Context, a *trialArm) (stats.Rate, bool, error) {
	if t.whole {
		return stats.CrudeRate(a.closedShares(), rootingLevel), true, nil
	}
	err := a.drawOn(ctx, a.lookUpTo(t.day))
	rate, ok := a.rateOn(t.day)
	return rate, ok, err
}

// pair is the difference and the test of arm against the reference.
func (t *trial) pair(ctx context.Context, arm int) (models.ArmPair, error) {
	d, err := t.difference(ctx, arm)
	if err != nil {
		return models.ArmPair{}, err
	}
	test, err := t.test(ctx, arm)
	return models.ArmPair{Difference: d, Test: test}, err
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
		blocks, short := t.blocks(one.name, two.name)
		if t.short = short; len(blocks) > 0 {
			found, df := stats.BlockedDifference(blocks, rootingLevel)
			putDifference(&d, found, df, df > 0)
		}
	case t.whole:
		d.Basis = "crude_closed"
		found, df := stats.RateDifference(one.closedShares(), two.closedShares(), rootingLevel)
		putDifference(&d, found, df, true)
	default:
		return d, t.drawn(ctx, &d, one, two)
	}
	return d, nil
}

// drawn is the difference of the shares rooted by the day, with limits made of
// those of both arms, by Student's t with B1+B2-2 degrees of freedom.
func (t *trial) drawn(ctx context.Context, d *models.ArmDifference, one, two *trialArm) error {
	p1, p2 := one.rootedBy(t.day), two.rootedBy(t.day)
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
		edge := stats.EdgeRate(p, a.inc.Cuttings, len(a.batches), rootingLevel)
		return stats.Interval{Lower: edge.Lower, Upper: edge.Upper}, nil
	}
	day := a.lookUpTo(t.day)
	err := a.drawOn(ctx, day)
	half := stats.TQuantile(rootingLevel, df) * a.spread[day].Share
	return stats.Interval{Lower: p - half, Upper: p + half}, err
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

// test is the score test of an arm against the reference.
func (t *trial) test(ctx context.Context, arm int) (models.ArmTest, error) {
	view := models.ArmTest{Arm: t.arms[arm].name, Seed: t.draw.Seed, Blocks: len(t.held)}
	test, ok, err := stats.TestTwoArms(ctx, t.scored, t.draw.Seed)
	if err != nil || !ok {
		view.Method, view.Reason = methodDeclined, "not enough yet: an arm has no batch to test"
		return view, err
	}
	view.U, view.V, view.Z, view.Labelings = &test.U, &test.V, &test.Z, test.Labelings
	if test.TooFew() {
		view.Method = methodDeclined
		view.Reason = t.tooFew(test.SmallestP)
		return view, nil
	}
	view.PNormal, view.PPermutation, view.Method = &test.PNormal, &test.P, methodOf(test.Relabeled)
	return view, nil
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

// tooFew says why there is no test, with the smallest p that there could have been.
func (t *trial) tooFew(smallest float64) string {
	return fmt.Sprintf("too few batches to test: with %s no outcome could have a p below %s", t.sizes(), pWords(smallest))
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
func (t *trial) overall(ctx context.Context) (*models.ArmsTest, error) {
	view := &models.ArmsTest{DF: len(t.arms) - 1, Seed: t.draw.Seed, Method: methodDeclined}
	test, ok, err := stats.TestManyArms(ctx, t.scored, t.draw.Seed)
	if err != nil || !ok {
		view.Reason = "not enough yet: there is nothing to tell the arms apart by"
		return view, err
	}
	view.Chi2, view.DF, view.Labelings = &test.Chi2, test.DF, test.Labelings
	if test.TooFew() {
		view.Reason = t.tooFew(test.SmallestP)
		return view, nil
	}
	view.PPermutation, view.Method = &test.P, methodOf(test.Relabeled)
	return view, nil
}

// trend is the test over arms that are doses.
func (t *trial) trend(ctx context.Context) (*models.DoseTest, error) {
	if t.by.dose == nil {
		return nil, nil
	}
	view := &models.DoseTest{Dose: t.by.name, Doses: map[string]float64{}, Seed: t.draw.Seed, Method: methodDeclined}
	var doses []float64
	for _, a := range t.arms {
		amount, err := strconv.ParseFloat(a.name, 64)
		if err != nil {
			return nil, nil
		}
		view.Doses[a.name] = amount
		doses = append(doses, t.by.dose(amount))
	}
	test, ok, err := stats.TestDoses(ctx, t.scored, doses, t.draw.Seed)
	if err != nil || !ok {
		view.Reason = "not enough yet: there is nothing to tell the doses apart by"
		return view, err
	}
	view.U, view.Z, view.Labelings = &test.U, &test.Z, test.Labelings
	if test.TooFew() {
		view.Reason = t.tooFew(test.SmallestP)
		return view, nil
	}
	view.PNormal, view.PPermutation, view.Method = &test.PNormal, &test.P, methodOf(test.Relabeled)
	return view, nil
}

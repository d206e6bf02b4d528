package rules

import (
	"context"
	"fmt"
	"slices"

	"withybed/models"
	"withybed/models/stats"
)

// RateOf is the final rooting rate of a pool, out of all that were stuck. What is
// closed depends on age, never on the outcome: a rate over trays in which nothing
// is left to root would count the quick ones. One batch stands for itself; where
// every batch is closed those rooted by then are counted; otherwise the rate is
// read off the curve, as late as it says anything. It fails where ctx ends.
func RateOf(ctx context.Context, p Pool, draw stats.Drawing) (models.RateGroup, error) {
	j := judgePool(&p, draw)
	rate, err := j.rate(ctx)
	if err != nil {
		return models.RateGroup{}, err
	}
	g := models.RateGroup{
		Key: p.Key, RootingCounts: j.counts, Closed: j.closed, Rate: rate,
		DaysToRoot: j.days(nil), Overdispersion: overdispersionOf(j), Notes: j.notes(ctx),
	}
	g.RateCensored, err = discardsCensored(ctx, p, draw)
	return g, err
}

// rate is the final rate by the method its batches allow.
func (j *judged) rate(ctx context.Context) (models.RootingRate, error) {
	switch {
	case len(j.lots) == 0:
		return models.RootingRate{Level: rootingLevel, Method: models.AtDay}, nil
	case len(j.lots) == 1:
		return j.rateBy(models.OneBatch, j.tau), nil
	case j.whole:
		return rateView(stats.CrudeRate(j.closedShares(), rootingLevel), true, models.CrudeClosed, j.final), nil
	}
	day := j.rateDay()
	err := j.drawOn(ctx, j.lookUpTo(day))
	return j.rateBy(models.AtDay, day), err
}

func (j *judged) rateBy(method models.RateMethod, day int) models.RootingRate {
	rate, ok := j.rateOn(day)
	return rateView(rate, ok, method, day)
}

func rateView(r stats.Rate, limits bool, method models.RateMethod, day int) models.RootingRate {
	view := models.RootingRate{Estimate: &r.Estimate, Level: rootingLevel, Method: method, Day: &day}
	if !limits {
		return view
	}
	view.Lower, view.Upper, view.Deff, view.NEff = &r.Lower, &r.Upper, &r.Deff, &r.NEff
	view.RhoAssumed = r.RhoAssumed
	if r.DF > 0 {
		view.DF = &r.DF
	}
	return view
}

// discardsCensored is the rate if those thrown out had only been out of sight: nil
// where none were.
func discardsCensored(ctx context.Context, p Pool, draw stats.Drawing) (*models.RootingRate, error) {
	if !slices.ContainsFunc(p.Batches, func(w Watched) bool { return w.Lot.Discards() }) {
		return nil, ctx.Err()
	}
	other := Pool{Key: p.Key, Batches: slices.Clone(p.Batches)}
	for i := range other.Batches {
		lot := &other.Batches[i].Lot
		*lot = lot.DiscardsGone()
	}
	j := judgePool(&other, draw)
	j.whole = false
	rate, err := j.rate(ctx)
	return &rate, err
}

// notes are what to know before the numbers of a pool are used.
func (j *judged) notes(ctx context.Context) []string {
	notes := []string{}
	say := func(format string, args ...any) { notes = append(notes, fmt.Sprintf(format, args...)) }
	switch len(j.lots) {
	case 0:
		say("nobody has looked at the roots of any of these batches yet")
	case 1:
		say("one batch: the limits hold within it and say nothing of the next one")
	case 2:
		if !j.whole {
			say("two batches: too few to draw limits from")
		}
	}
	switch young := len(j.lots) - j.closed; {
	case j.counts.Open == 0 || young == 0:
	case j.closed == 0:
		say("not watched long enough yet to count as final, with %s still open", models.Counted(j.counts.Open, "cutting"))
	default:
		say("%d of the %d batches %s not watched long enough to count as final, with %s still open", young,
			len(j.lots), models.Are(young), models.Counted(j.counts.Open, "cutting"))
	}
	return append(notes, j.poolingNotes(ctx)...)
}

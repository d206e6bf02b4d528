package rules

import (
	"context"

	"withybed/models"
	"withybed/models/stats"
)

// The ways limits are drawn.
const (
	drawnBatches = "batches"
	drawnWithin  = "within_batch"
	drawnNone    = "none"
)

// CurveOf is the curve of a pool with its limits, the days to root read off it and
// the final rate. It fails where ctx ends.
func CurveOf(ctx context.Context, p Pool, draw stats.Drawing) (models.RootingCurve, error) {
	j := judgePool(&p, draw)
	if err := j.drawOn(ctx, j.daysSaid()...); err != nil {
		return models.RootingCurve{}, err
	}
	rate, err := j.rate(ctx)
	if err != nil {
		return models.RootingCurve{}, err
	}
	c := models.RootingCurve{
		Key: p.Key, RootingCounts: j.counts, Tau: j.tauView(), Steps: []models.CurveStep{}, Curve: []models.CurvePoint{},
		LogLikelihood: j.inc.LogLikelihood, Gap: j.inc.Gap, Unique: j.inc.Unique,
		Rate: rate, Bootstrap: j.resampling(), Notes: j.notes(ctx),
	}
	for _, s := range j.inc.Steps {
		c.Steps = append(c.Steps, stepView(s))
	}
	limits := j.limits()
	for i, day := range j.watch.Days {
		c.Curve = append(c.Curve, j.point(i, day, limits))
	}
	c.DaysToRoot = j.days(limits)
	return c, ctx.Err()
}

// DaysOf is the days to root of a pool with their limits. It fails where ctx ends.
func DaysOf(ctx context.Context, p Pool, draw stats.Drawing) (models.DaysGroup, error) {
	j := judgePool(&p, draw)
	if err := j.drawOn(ctx, j.daysSaid()...); err != nil {
		return models.DaysGroup{}, err
	}
	return models.DaysGroup{
		Key: p.Key, RootingCounts: j.counts, Tau: j.tauView(), DaysToRoot: j.days(j.limits()),
		Bootstrap: j.resampling(), Notes: j.notes(ctx),
	}, ctx.Err()
}

func (j *judged) tauView() *int {
	if j.tau == 0 {
		return nil
	}
	return &j.tau
}

func (j *judged) resampling() models.Resampling {
	switch {
	case len(j.lots) == 1:
		return models.Resampling{Method: drawnWithin}
	case j.drawn():
		return models.Resampling{Method: drawnBatches, Replicates: j.draw.Replicates, Seed: j.draw.Seed}
	}
	return models.Resampling{Method: drawnNone}
}

var stepCauses = map[stats.Fate]string{stats.FateRooted: "rooted", stats.FateLost: "lost", stats.FateOpen: "unresolved"}

func stepView(s stats.Step) models.CurveStep {
	view := models.CurveStep{Cause: stepCauses[s.Fate], From: s.From, Mass: s.Mass}
	if s.Fate != stats.FateOpen {
		view.To = &s.To
	}
	return view
}

func (j *judged) point(i, day int, limits *dayLimits) models.CurvePoint {
	point := models.CurvePoint{Day: day, AtRisk: j.watch.AtRisk[i]}
	point.RootedLower, point.RootedUpper = j.inc.RootedBy(day)
	point.LostLower, point.LostUpper = j.inc.LostBy(day)
	if limits != nil && i < len(limits.days) {
		point.Limits = &[2]float64{limits.lower[i], limits.upper[i]}
	}
	return point
}

// dayLimits are the limits of the share rooted by the days of looks up to tau.
type dayLimits struct {
	days         []int
	lower, upper []float64
}

// limits are nil where there are none.
func (j *judged) limits() *dayLimits {
	l := &dayLimits{days: j.daysSaid()}
	for _, day := range l.days {
		rate, ok := j.rateOn(day)
		if !ok {
			return nil
		}
		l.lower, l.upper = append(l.lower, rate.Lower), append(l.upper, rate.Upper)
	}
	return l
}

// days are the days to root on both bases.
func (j *judged) days(limits *dayLimits) models.CurveDays {
	rooted := j.rootedBy(j.tau)
	return models.CurveDays{
		OfStuck:  j.levels(limits, 1, func(q float64) stats.DayBracket { return j.inc.DayOf(q, j.tau) }),
		OfRooted: j.levels(limits, rooted, func(q float64) stats.DayBracket { return j.inc.DayOfRooted(q, j.tau) }),
	}
}

// levels are a tenth, half and nine tenths of a base.
func (j *judged) levels(limits *dayLimits, base float64, at func(q float64) stats.DayBracket) models.CurveLevels {
	level := func(q float64) models.CurveLevel { return levelView(at(q), limits, q*base) }
	return models.CurveLevels{T10: level(0.1), T50: level(0.5), T90: level(0.9)}
}

func levelView(b stats.DayBracket, limits *dayLimits, level float64) models.CurveLevel {
	view := models.CurveLevel{Bracket: bracket(b)}
	if limits == nil || b.Status == stats.Undefined {
		return view
	}
	from, to, ok := stats.DayLimits(limits.days, limits.lower, limits.upper, level)
	if ok {
		view.Limits = &[2]*int{&from, dayOrNone(to)}
	}
	return view
}

// dayOrNone is a day, or nil for none.
func dayOrNone(day int) *int {
	if day == 0 {
		return nil
	}
	return &day
}

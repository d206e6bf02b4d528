package rules

import (
	"context"
	"slices"

	"withybed/models"
	"withybed/models/stats"
)

// rootingLevel is the confidence of all limits of rooting.
const rootingLevel = 0.95

// fewestToDraw is how many batches it takes to draw limits from whole batches.
const fewestToDraw = 3

// judged is a pool with its curve.
type judged struct {
	pool   *Pool
	counts models.RootingCounts
	lots   []stats.Lot // those that say something of rooting
	inc    *stats.Incidence
	watch  stats.Watch
	tau    int // last day of which something is said; 0 without looks
	final  int // days after sticking of which a final rate speaks
	closed int
	whole  bool // every batch is closed, and none had cuttings taken out
	draw   stats.Drawing
	spread map[int]stats.CurveSpread // by day, up to tau
}

// judgePool works out the curve of a pool.
func judgePool(p *Pool, draw stats.Drawing) *judged {
	j := &judged{pool: p, counts: countsOf(p), draw: draw}
	j.lots = stats.Seen(strata(p, j.counts.Batches))
	j.inc = stats.FitIncidence(stats.Pool(j.lots), 0)
	j.watch = stats.WatchOf(j.lots)
	j.tau = j.watch.Tau()
	j.whole = true
	for i := range p.Batches {
		b := &p.Batches[i]
		j.final = max(j.final, b.FinalAt)
		if !b.Lot.Seen() {
			continue
		}
		if b.Closed() {
			j.closed++
		}
		j.whole = j.whole && b.Closed() && b.Lot.Withdrawn() == 0
	}
	return j
}

// strata are the lots of a pool that say something of rooting, n of them, each to be
// drawn again within its treatment.
func strata(p *Pool, n int) []stats.Lot {
	lots, keys := make([]stats.Lot, 0, n), nameKeys{}
	for i := range p.Batches {
		if w := &p.Batches[i]; w.Lot.Seen() {
			lots = append(lots, w.Lot)
			lots[len(lots)-1].Stratum = keys.of(w.Keys["treatment"])
		}
	}
	return lots
}

// drawOn works out how uncertain the curve is on some days of looks, where three
// batches or more allow it and replicates are asked for.
func (j *judged) drawOn(ctx context.Context, days ...int) error {
	if !j.drawn() {
		return ctx.Err()
	}
	days = slices.DeleteFunc(slices.Clone(days), func(day int) bool { _, known := j.spread[day]; return known })
	if len(days) == 0 {
		return nil
	}
	spreads, err := stats.CurveSpreads(ctx, j.lots, days, j.draw)
	if err != nil {
		return err
	}
	if j.spread == nil {
		j.spread = make(map[int]stats.CurveSpread, len(days))
	}
	for i, day := range days {
		j.spread[day] = spreads[i]
	}
	return nil
}

func (j *judged) drawn() bool { return len(j.lots) >= fewestToDraw && j.draw.Replicates > 1 }

// daysSaid are the days of looks up to tau.
func (j *judged) daysSaid() []int {
	var days []int
	for _, day := range j.watch.Days {
		if day <= j.tau {
			days = append(days, day)
		}
	}
	return days
}

// rateOn is the share rooted by a day with its limits; ok is false where there
// are no limits to be had.
func (j *judged) rateOn(day int) (rate stats.Rate, ok bool) {
	p := j.rootedBy(day)
	n, b := j.inc.Cuttings, len(j.lots)
	switch {
	case b == 1:
		return withinBatch(&j.lots[0], p), true
	case p <= 0 || p >= 1:
		return stats.EdgeRate(p, n, b, rootingLevel), b >= 2
	case !j.drawn():
		return stats.Rate{Estimate: p}, false
	}
	spread, known := j.spread[j.lookUpTo(day)]
	return stats.LogitRate(p, spread.Logit, n, b, rootingLevel), known
}

// rateDay is the day of which the final rate is told while not every batch is
// closed: the first look on the final day or later for which the curve is
// determined, or where there is none the last day of which anything is said. What
// rooted between the last look before the final day and the first one after it
// would be missing on that day itself.
func (j *judged) rateDay() int {
	for _, day := range j.daysSaid() {
		if day >= j.final && j.determined(day) {
			return day
		}
	}
	return j.tau
}

// rootedBy is the share found rooted by a day.
func (j *judged) rootedBy(day int) float64 {
	share, _ := j.inc.RootedBy(day)
	return share
}

// determined says that the share rooted by a day is one number.
func (j *judged) determined(day int) bool {
	lower, upper := j.inc.RootedBy(day)
	return upper-lower < 1e-6
}

// lookUpTo is the last day of a look up to a day.
func (j *judged) lookUpTo(day int) int {
	last := 0
	for _, d := range j.watch.Days {
		if d > day {
			break
		}
		last = d
	}
	return last
}

// withinBatch is the share rooted of one batch with Wilson's limits; those taken
// out tell nothing of what they would have done.
func withinBatch(l *stats.Lot, p float64) stats.Rate {
	n := float64(l.Cuttings - l.Withdrawn())
	z := stats.NormalQuantile(rootingLevel)
	i := stats.WilsonScore(p, n, z)
	return stats.Rate{Estimate: p, Lower: i.Lower, Upper: i.Upper, Deff: 1, NEff: n}
}

// countsOf sums the counts of a pool.
func countsOf(p *Pool) models.RootingCounts {
	var c models.RootingCounts
	for i := range p.Batches {
		l := &p.Batches[i].Lot
		if !l.Seen() {
			c.WithoutChecks++
			continue
		}
		c.Batches++
		c.Cuttings += l.Cuttings
		c.Rooted += l.Rooted()
		c.Lost += l.Lost()
		c.Withdrawn += l.Withdrawn()
		c.Open += l.Open()
	}
	return c
}

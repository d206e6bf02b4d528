package rules

import (
	"context"
	"fmt"
	"math"
	"slices"

	"withybed/models"
	"withybed/models/stats"
)

// CalibrationAsk says over how much of the past forecasts are replayed.
type CalibrationAsk struct {
	Origins int                 // looks from which forecasts are made, the newest; 0 is all
	Shown   func(*Watched) bool // whether forecasts of a batch are asked about; nil is all
	Told    func(done, of int)  // is told how far it is; nil tells nobody
}

// Calibrate replays forecasts: from each look at a batch that was followed by
// another, with everything worked out anew from what had been entered by the end of
// that day, pool, family, how much batches differ and where the search for a pool
// stopped. Each is held against the later looks at its batch alone. It fails where
// ctx ends.
func Calibrate(ctx context.Context, today []Watched, past Past, ask CalibrationAsk) (models.Calibration, error) {
	asked := slices.DeleteFunc(slices.Clone(today), func(w Watched) bool { return ask.Shown != nil && !ask.Shown(&w) })
	all := originsOf(asked)
	left := 0
	if ask.Origins > 0 && len(all) > ask.Origins {
		left = len(all) - ask.Origins
		all = all[left:]
	}
	c := calibrator{levels: map[string]*bandScore{}}
	done := 0
	err := onDay(ctx, all, past, func(known []Watched, of []origin) error {
		maker := newForecaster(known)
		for i := range of {
			if err := ctx.Err(); err != nil {
				return err
			}
			if err := c.score(ctx, maker, known, &of[i]); err != nil {
				return err
			}
		}
		if done += len(of); ask.Told != nil {
			ask.Told(done, len(all))
		}
		return nil
	})
	if err != nil {
		return models.Calibration{}, err
	}
	return c.report(left), nil
}

// calibrator adds up how forecasts did.
type calibrator struct {
	origins, late int
	all           bandScore
	levels        map[string]*bandScore
	days          dayScore
	counts        countScore
	points        [10]pointScore
}

// pointScore is what came of chances within a tenth.
type pointScore struct {
	expected, came, open float64
	looks                int
}

// score makes the forecast of an origin and holds it against its later looks.
func (c *calibrator) score(ctx context.Context, maker *forecaster, known []Watched, o *origin) error {
	w := o.then(known)
	if w == nil {
		c.late++
		return nil
	}
	if w.Lot.Open() == 0 {
		return nil
	}
	p, b, err := maker.prospect(ctx, w)
	if err != nil {
		return fmt.Errorf("forecast batch %s on %s: %w", w.Lot.ID, o.on, err)
	}
	came := outcomes(&o.batch.Lot, w.Lot.LastDay())
	if len(came) == 0 {
		return nil
	}
	c.origins++
	alike := maker.pools[keyAt(levelKind, w)]
	if c.levels[b.view.Level] == nil {
		c.levels[b.view.Level] = &bandScore{}
	}
	for _, at := range came {
		lower, upper, mass := p.Band(float64(at.day), bandLevel)
		held := lower <= at.rooted && at.rooted <= upper
		c.all.add(w.Lot.ID, held, mass)
		c.levels[b.view.Level].add(w.Lot.ID, held, mass)
		c.point(p, at)
		c.counts.add(alike, w, p, at)
	}
	c.days.add(w, p, came)
	return nil
}

// outcome is what a later look found: how many had ever rooted by its day.
type outcome struct{ day, rooted int }

// outcomes are the looks at roots after a day. They end where cuttings are taken out
// unrooted or go out of sight, since nobody knows what those would have done.
func outcomes(l *stats.Lot, after int) []outcome {
	var came []outcome
	rooted := 0
	for _, k := range l.Looks {
		rooted += int(k.Rooted)
		if int(k.Day) <= after {
			continue
		}
		if k.Withdrawn+k.Gone > 0 {
			break
		}
		if k.Saw == stats.SawRoots {
			came = append(came, outcome{int(k.Day), rooted})
		}
	}
	return came
}

func (c *calibrator) point(p *stats.Prospect, at outcome) {
	chance := p.Chance(float64(at.day))
	point := &c.points[min(9, int(10*chance))]
	point.expected += chance * float64(p.Open)
	point.came += float64(at.rooted - p.Rooted)
	point.open += float64(p.Open)
	point.looks++
}

// report says how the forecasts did.
func (c *calibrator) report(left int) models.Calibration {
	r := models.Calibration{
		Status: "scored", Origins: c.origins, OriginsLeft: left, LateEntries: c.late,
		Held: c.all.view(), ByLevel: []models.CalibrationLevel{}, Days: c.days.view(), Counts: c.counts.view(),
		Points: []models.CalibrationPoint{}, Notes: []string{},
	}
	if r.Held.Looks == 0 {
		r.Status = "not_enough_yet"
	}
	for _, level := range ForecastLevels {
		if score := c.levels[level]; score != nil {
			r.ByLevel = append(r.ByLevel, models.CalibrationLevel{Level: level, HeldShare: score.view()})
		}
	}
	for _, p := range c.points {
		if p.looks > 0 {
			r.Points = append(r.Points, models.CalibrationPoint{Forecast: p.expected / p.open, Observed: p.came / p.open, Looks: p.looks})
		}
	}
	r.Notes = c.notes(left)
	return r
}

func (c *calibrator) notes(left int) []string {
	notes := []string{}
	if left > 0 {
		notes = append(notes, fmt.Sprintf("only the newest looks were replayed: %d older ones were left out", left))
	}
	if c.late > 0 {
		notes = append(notes, fmt.Sprintf("no forecast could be made from looks that were entered after their day: %d of them", c.late))
	}
	return notes
}

// mean is a mean, or nil of nothing.
func mean(sum float64, n int) *float64 {
	if n == 0 {
		return nil
	}
	m := sum / float64(n)
	if math.IsNaN(m) {
		return nil
	}
	return &m
}

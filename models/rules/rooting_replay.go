package rules

import (
	"cmp"
	"context"
	"slices"
	"time"

	"withybed/models"
	"withybed/models/stats"
)

// Past tells what was known of all batches at the end of a day, from what had been
// entered by then: nothing that came later is in it.
type Past func(ctx context.Context, day models.Date) ([]Watched, error)

// FilePast is the past of batches from a file, where what was seen on a day was
// known on that day, and that a batch was finished on its last.
func FilePast(batches []Watched) Past {
	return func(ctx context.Context, day models.Date) ([]Watched, error) {
		known := make([]Watched, 0, len(batches))
		for i := range batches {
			w := batches[i]
			if w.StuckOn.After(day) {
				continue
			}
			w.Lot = w.Lot.Until(day.Sub(w.StuckOn))
			known = append(known, w)
		}
		return known, ctx.Err()
	}
}

// RecordPast is the past of batches of the nursery, whose days are those of a
// place. What was entered by the end of a day is known on it; taxa, settings and what
// was corrected are taken as they are today. Where that leaves a batch with entries of
// the time that do not add up, nothing was known of it.
func RecordPast(records []*models.BatchRecord, t *models.Thresholds, place *time.Location) Past {
	return func(ctx context.Context, day models.Date) ([]Watched, error) {
		entered := func(at time.Time) bool { return !models.DateIn(at, place).After(day) }
		var known []Watched
		for _, r := range records {
			if r.Sticking == nil || !entered(r.EnteredAt) || !entered(r.Sticking.EnteredAt) {
				continue
			}
			w, ok, err := Watch(enteredBy(r, entered), day, t)
			if len(r.Corrections) > 0 && err != nil {
				ok, err = false, nil
			}
			if err = cmp.Or(err, ctx.Err()); err != nil {
				return nil, err
			}
			if ok {
				known = append(known, w)
			}
		}
		return known, nil
	}
}

// enteredBy is a batch with the entries alone that had been made by a moment. Unless
// one was corrected since, it was in order then: each entry is held against all before
// it.
func enteredBy(r *models.BatchRecord, entered func(time.Time) bool) *models.BatchRecord {
	then := *r
	then.Splits = only(r.Splits, func(s *models.Split) bool { return entered(s.EnteredAt) })
	then.Moves = only(r.Moves, func(m *models.Move) bool { return entered(m.EnteredAt) })
	then.Checks = only(r.Checks, func(c *models.Check) bool { return entered(c.EnteredAt) })
	then.Pottings = only(r.Pottings, func(p *models.Potting) bool { return entered(p.EnteredAt) })
	then.Decisions = only(r.Decisions, func(d *models.Decision) bool { return entered(d.EnteredAt) })
	return &then
}

func only[T any](all []T, keep func(*T) bool) []T {
	var kept []T
	for i := range all {
		if keep(&all[i]) {
			kept = append(kept, all[i])
		}
	}
	return kept
}

// origin is a look from which a forecast is made: a batch and the day.
type origin struct {
	batch *Watched // as it is known today
	day   int      // of the look, after sticking
	on    models.Date
}

// originsOf are the looks of batches that were followed by another one, oldest
// first, the batches of one day in the order of their names.
func originsOf(batches []Watched) []origin {
	var all []origin
	for i := range batches {
		looks := batches[i].Lot.Looks
		for j := range looks {
			if looks[j].Saw == stats.SawRoots && rootsSeenAfter(looks[j+1:]) {
				day := int(looks[j].Day)
				all = append(all, origin{&batches[i], day, batches[i].StuckOn.Add(day)})
			}
		}
	}
	slices.SortFunc(all, func(a, b origin) int {
		return cmp.Or(a.on.Compare(b.on), cmp.Compare(a.batch.Lot.ID, b.batch.Lot.ID))
	})
	return all
}

func rootsSeenAfter(looks []stats.Look) bool {
	for _, k := range looks {
		if k.Saw == stats.SawRoots {
			return true
		}
	}
	return false
}

// then is the batch of an origin as it was known at the end of its day, or nil
// where the look was entered later.
func (o *origin) then(known []Watched) *Watched {
	i := slices.IndexFunc(known, func(w Watched) bool { return w.Lot.ID == o.batch.Lot.ID })
	if i < 0 || known[i].Lot.LastDay() != o.day {
		return nil
	}
	return &known[i]
}

// onDay gathers the origins of each day.
func onDay(ctx context.Context, all []origin, past Past, each func(known []Watched, of []origin) error) error {
	for from := 0; from < len(all); {
		to := from
		for to < len(all) && all[to].on == all[from].on {
			to++
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		known, err := past(ctx, all[from].on)
		if err != nil {
			return err
		}
		if err := each(known, all[from:to]); err != nil {
			return err
		}
		from = to
	}
	return nil
}

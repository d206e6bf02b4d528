package nursery_test

import (
	"slices"

	"withybed/models"
)

// A plain reading of the harvest ledger, which shares no code with the rules: every
// day that has stems, every cap. It holds what was accepted as plain numbers, and
// walks over days.

const (
	plainWindow = 40 // days
	plainShare  = 20 // one stem of so many may be cut: a stand cap of 0.05
)

type plainSpan struct{ from, to models.Date }

func (s plainSpan) holds(day models.Date) bool { return !day.Before(s.from) && !day.After(s.to) }

type plainTaken struct {
	day    models.Date
	stems  int
	stand  int
	permit bool   // drawn on the permit
	share  string // drawn on it: so many of the stems
	drawn  int
	rest   *plainRest // that it began
}

type plainRest struct {
	plainSpan
	number int // when it was entered, among all that was
}

type plainHeld struct {
	plainSpan
	stand  int
	left   int
	number int
}

type plainCount struct {
	day   models.Date
	stems int
}

type plainStandBook struct {
	counts   []plainCount // by day, then by entry
	closures []plainSpan
	rests    []*plainRest
}

// plainBook is two stands, and a permit that covers both.
type plainBook struct {
	stands [2]plainStandBook
	taken  map[string]*plainTaken // batches by code, cuts of others by identifier
	shares map[string]*plainHeld
	permit int // stems on it
	number int // of what was entered
}

// onDay is the stems on the ledger of a stand on a day.
func (b *plainBook) onDay(stand int, day models.Date) int {
	sum := 0
	for _, t := range b.taken {
		if t.stand == stand && t.day == day {
			sum += t.stems
		}
	}
	for _, s := range b.shares {
		if s.stand == stand && s.from == day {
			sum += s.left
		}
	}
	return sum
}

func (b *plainBook) inWindow(stand int, to models.Date) int {
	sum := 0
	for i := range plainWindow {
		sum += b.onDay(stand, to.Add(-i))
	}
	return sum
}

func (b *plainBook) limit(stand int, day models.Date) int {
	limit := 0
	for _, c := range b.stands[stand].counts {
		if !c.day.After(day) {
			limit = c.stems / plainShare
		}
	}
	return limit
}

func (b *plainBook) counted(stand int, day models.Date) bool {
	return slices.ContainsFunc(b.stands[stand].counts, func(c plainCount) bool { return !c.day.After(day) })
}

// bears says that stems cut on a day break no window, on that day and on each later one
// with stems whose window holds it. What is drawn on a share is counted already.
func (b *plainBook) bears(stand int, day models.Date, stems int, on *plainHeld) bool {
	for i := range plainWindow {
		t := day.Add(i)
		if i > 0 && b.onDay(stand, t) == 0 {
			continue
		}
		before, drawn := b.inWindow(stand, t), 0
		if on != nil && !on.from.After(t) && on.from.After(t.Add(-plainWindow)) {
			drawn = min(stems, on.left)
		}
		after := before - drawn + stems
		if after > b.limit(stand, t) && after > before {
			return false
		}
	}
	return true
}

func (b *plainBook) open(stand int, day models.Date, on *plainHeld, stems int) bool {
	book := &b.stands[stand]
	if slices.ContainsFunc(book.closures, func(c plainSpan) bool { return c.holds(day) }) {
		return false
	}
	return !slices.ContainsFunc(book.rests, func(r *plainRest) bool {
		return r.holds(day) && (on == nil || on.number > r.number || stems > on.left)
	})
}

func (b *plainBook) drawn() int {
	sum := 0
	for _, t := range b.taken {
		if t.permit {
			sum += t.stems
		}
	}
	return sum
}

// passes says whether a batch is within every rule.
func (b *plainBook) passes(t plainTaken) bool {
	on := b.shares[t.share]
	switch {
	case !b.counted(t.stand, t.day), !b.open(t.stand, t.day, on, t.stems), !b.bears(t.stand, t.day, t.stems, on):
		return false
	case t.permit && b.drawn()+t.stems > b.permit:
		return false
	}
	return true
}

// take notes a batch, and what it draws on its share.
func (b *plainBook) take(id string, t plainTaken) {
	if on := b.shares[t.share]; on != nil {
		t.drawn = min(t.stems, on.left)
		on.left -= t.drawn
	}
	b.taken[id] = &t
}

// giveBack forgets a batch, gives its share what it drew, and ends the rest it began.
func (b *plainBook) giveBack(id string) plainTaken {
	t := *b.taken[id]
	delete(b.taken, id)
	if on := b.shares[t.share]; on != nil {
		on.left += t.drawn
	}
	b.stands[t.stand].rests = slices.DeleteFunc(b.stands[t.stand].rests, func(r *plainRest) bool { return r == t.rest })
	t.drawn, t.rest = 0, nil
	return t
}

// setAside says whether a share is borne on each of its days.
func (b *plainBook) setAside(s plainHeld) bool {
	for day := s.from; !day.After(s.to); day = day.Add(1) {
		if !b.counted(s.stand, day) || !b.open(s.stand, day, nil, s.left) || !b.bears(s.stand, day, s.left, nil) {
			return false
		}
	}
	return true
}

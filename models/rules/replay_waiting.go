package rules

import (
	"slices"

	"withybed/models"
)

// inHand is the place of cuttings that neither soak nor are stored.
const inHand models.MoveTo = ""

// The orders in which cuttings are taken from where they wait: soaked ones are
// stuck first, because a soak must not last; for all else those in hand go first.
var (
	handFirst = []models.MoveTo{inHand, models.ToSoak, models.ToRefrigerator, models.ToColdStore}
	soakFirst = []models.MoveTo{models.ToSoak, inHand, models.ToRefrigerator, models.ToColdStore}
)

// TakeWaiting takes cuttings that wait for a sister batch: those in hand first,
// then from soak, refrigerator and cold store, the longest waiting first. It
// takes all there are where count is more.
func TakeWaiting(waits []Wait, count int) (taken, left []Wait) {
	return draw(waits, handFirst, count)
}

// draw takes count cuttings, place by place in the order given, the longest
// waiting first. Places that are not in the order keep theirs.
func draw(waits []Wait, order []models.MoveTo, count int) (drawn, left []Wait) {
	sorted := slices.Clone(waits)
	slices.SortStableFunc(sorted, func(a, b Wait) int {
		if byPlace := slices.Index(order, a.In) - slices.Index(order, b.In); byPlace != 0 {
			return byPlace
		}
		return a.Since.Compare(b.Since)
	})
	for _, w := range sorted {
		n := 0
		if slices.Contains(order, w.In) {
			n = min(w.Count, count)
		}
		count -= n
		drawn = addWait(drawn, w, n)
		left = addWait(left, w, w.Count-n)
	}
	return drawn, left
}

// addWait adds count cuttings at the place and day of w, in the order of places
// and days.
func addWait(waits []Wait, w Wait, count int) []Wait {
	if count == 0 {
		return waits
	}
	same := func(o Wait) bool { return o.In == w.In && o.Since == w.Since }
	if i := slices.IndexFunc(waits, same); i >= 0 {
		waits[i].Count += count
		return waits
	}
	w.Count = count
	waits = append(waits, w)
	slices.SortFunc(waits, func(a, b Wait) int {
		if byPlace := slices.Index(handFirst, a.In) - slices.Index(handFirst, b.In); byPlace != 0 {
			return byPlace
		}
		return a.Since.Compare(b.Since)
	})
	return waits
}

func countIn(waits []Wait, places ...models.MoveTo) int {
	n := 0
	for _, w := range waits {
		if slices.Contains(places, w.In) {
			n += w.Count
		}
	}
	return n
}

func (p *replay) setWaits(waits []Wait) {
	p.Waits = waits
	p.Tally.InHand = countIn(waits, inHand)
	p.Tally.Soaking = countIn(waits, models.ToSoak)
	p.Tally.Refrigerator = countIn(waits, models.ToRefrigerator)
	p.Tally.ColdStore = countIn(waits, models.ToColdStore)
}

// takeWaiting takes cuttings out of where they wait, or says that there are not
// so many there.
func (p *replay) takeWaiting(order []models.MoveTo, count int, on models.Date, where string) error {
	if there := countIn(p.Waits, order...); count > there {
		return models.InvalidField("too-many-cuttings", "count", count,
			"is %d, but of %d cuttings only %d wait %s on %s", count, p.Tally.Made, there, where, on)
	}
	_, left := draw(p.Waits, order, count)
	p.setWaits(left)
	return nil
}

func (p *replay) stick(s *models.Sticking) error {
	if err := p.takeWaiting(soakFirst, s.Count, s.StuckOn, "to be stuck"); err != nil {
		return err
	}
	p.Tally.Stuck, p.Tally.Unrooted = s.Count, s.Count
	p.looks = lookDays{last: s.StuckOn}
	p.counted = s.StuckOn
	return nil
}

func (p *replay) move(m *models.Move) error {
	elsewhere := slices.DeleteFunc(slices.Clone(handFirst), func(place models.MoveTo) bool { return place == m.To })
	if err := p.takeWaiting(elsewhere, m.Count, m.MovedOn, outside(m.To)); err != nil {
		return err
	}
	switch m.To {
	case models.ToUsed:
		p.Tally.Used += m.Count
	case models.ToLost:
		p.Tally.LostWaiting += m.Count
		p.Tally.LostByCause[m.Cause] += m.Count
	default:
		p.setWaits(addWait(p.Waits, Wait{In: m.To, Since: m.MovedOn}, m.Count))
	}
	return nil
}

func outside(place models.MoveTo) string {
	switch place {
	case models.ToSoak:
		return "outside the soak"
	case models.ToRefrigerator:
		return "outside the refrigerator"
	case models.ToColdStore:
		return "outside the cold store"
	}
	return "to be stuck"
}

func (p *replay) split(s *models.Split) error {
	if s.Source == models.FromTray {
		return p.lift(s)
	}
	if err := p.takeWaiting(handFirst, s.Count, s.SplitOn, "to be stuck"); err != nil {
		return err
	}
	p.Tally.ToSisters += s.Count
	return nil
}

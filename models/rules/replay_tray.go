package rules

import (
	"fmt"
	"strings"

	"withybed/models"
)

// lift takes unrooted cuttings out of the tray, to be stuck again in a sister.
func (p *replay) lift(s *models.Split) error {
	if err := p.wantStuck("on", s.SplitOn); err != nil {
		return err
	}
	if s.Count > p.Tally.Unrooted {
		return models.InvalidField("too-many-cuttings", "count", s.Count,
			"is %d, but only %d unrooted cuttings stood in the tray on %s", s.Count, p.Tally.Unrooted, p.counted)
	}
	p.Tally.Unrooted -= s.Count
	p.Tally.Withdrawn += s.Count
	p.counted = s.SplitOn
	p.regrade()
	return nil
}

func (p *replay) wantStuck(field string, on models.Date) error {
	if p.stuck() {
		return nil
	}
	if s := p.record.Sticking; s != nil {
		return models.InvalidField("before-sticking", field, on, "is %s, before the batch was stuck on %s", on, s.StuckOn)
	}
	return models.InvalidField("before-sticking", field, on, "is %s, and the batch has not been stuck: enter its sticking first", on)
}

// wantAfterSticking refuses what cannot have happened on the very day of
// sticking: a day to root lies after day 0.
func (p *replay) wantAfterSticking(field string, value int, on models.Date) error {
	if value == 0 || on.After(p.record.Sticking.StuckOn) {
		return nil
	}
	return models.InvalidField("on-sticking-day", field, value,
		"is %d on %s, the day they were stuck: date it a day later. A wrong number stuck is corrected at the sticking, with withy batch correct", value, on)
}

// moved is what a check of the whole tray moves.
type moved struct {
	newly        int // found rooted
	lostRooted   int // lost after rooting
	lostUnrooted int
	withdrawn    int
}

func (p *replay) check(c *models.Check) error {
	if err := p.wantStuck("checked_on", c.CheckedOn); err != nil {
		return err
	}
	if err := p.checkOnStickingDay(c); err != nil {
		return err
	}
	if countsNothing(c) {
		return nil // a note is no look
	}
	p.LastCheck = c.CheckedOn
	if c.Examined != nil {
		return p.checkPart(c)
	}
	m, err := p.movedBy(c)
	if err != nil {
		return err
	}
	if err := p.balance(c, m); err != nil {
		return err
	}
	p.apply(c, m)
	return nil
}

// countsNothing says that a check holds no count at all.
func countsNothing(c *models.Check) bool {
	return c.Rooted == nil && c.Unrooted == nil && c.Examined == nil && c.Withdrawn == 0 &&
		c.Lost.Sum()+c.LostRooted.Sum() == 0
}

func (p *replay) checkOnStickingDay(c *models.Check) error {
	if c.Rooted != nil {
		if err := p.wantAfterSticking("rooted", *c.Rooted, c.CheckedOn); err != nil {
			return err
		}
	}
	if err := p.wantAfterSticking("lost", c.Lost.Sum(), c.CheckedOn); err != nil {
		return err
	}
	return p.wantAfterSticking("lost_rooted", c.LostRooted.Sum(), c.CheckedOn)
}

// movedBy works out what a check moves. Where rooted ones are missing and it is
// not said how many rooted ones were lost, they are taken out of all those lost.
func (p *replay) movedBy(c *models.Check) (moved, error) {
	m := moved{lostRooted: c.LostRooted.Sum(), lostUnrooted: c.Lost.Sum(), withdrawn: c.Withdrawn}
	if c.Rooted == nil {
		return m, p.wantRooted(m.lostRooted)
	}
	before := p.Tally.Rooted
	if c.LostRooted == nil {
		m.lostRooted = max(0, before-*c.Rooted)
		m.lostUnrooted -= m.lostRooted
	}
	m.newly = *c.Rooted - (before - m.lostRooted)
	if m.newly < 0 || m.lostUnrooted < 0 {
		return moved{}, p.everRootedFalls(c)
	}
	return m, nil
}

func (p *replay) wantRooted(lost int) error {
	if lost <= p.Tally.Rooted {
		return nil
	}
	return models.InvalidField("too-many-cuttings", "lost_rooted", lost,
		"is %d, but only %d rooted cuttings stood in the tray on %s", lost, p.Tally.Rooted, p.counted)
}

func (p *replay) everRootedFalls(c *models.Check) error {
	lost := c.LostRooted.Sum()
	if c.LostRooted == nil {
		lost = c.Lost.Sum()
	}
	return models.InvalidField("ever-rooted-falls", "rooted", *c.Rooted,
		"is %d: with %d lost that leaves %d of the %d rooted cuttings that stood in the tray on %s without a place; enter what was lost, by cause",
		*c.Rooted, lost, p.Tally.Rooted-lost-*c.Rooted, p.Tally.Rooted, p.counted)
}

// balance refuses counts that do not add up to those that stood in the tray.
func (p *replay) balance(c *models.Check, m moved) error {
	left := p.Tally.Unrooted - m.newly - m.lostUnrooted - m.withdrawn
	if left >= 0 && (c.Unrooted == nil || *c.Unrooted == left) {
		return nil
	}
	field, value := "unrooted", c.Unrooted
	if value == nil {
		field, value = "rooted", c.Rooted
	}
	if value == nil {
		lost := c.Lost.Sum()
		field, value = "lost", &lost
	}
	return models.InvalidField("unbalanced", field, *value, "does not balance: %s", p.bothSides(c))
}

// bothSides says what a check counts and what stood in the tray before it. Where
// roots were not examined, that is of the unrooted ones only.
func (p *replay) bothSides(c *models.Check) string {
	var parts []string
	sum := 0
	side := func(n int, what string) {
		parts = append(parts, fmt.Sprintf("%d %s", n, what))
		sum += n
	}
	stood, of := p.Tally.Unrooted, "unrooted stood"
	lost := c.Lost.Sum()
	if c.Rooted != nil {
		stood, of = p.Tally.Live(), "stood"
		lost += c.LostRooted.Sum()
		side(*c.Rooted, "rooted")
	}
	if c.Unrooted != nil {
		side(*c.Unrooted, "unrooted")
	}
	side(lost, "lost")
	if c.Withdrawn > 0 {
		side(c.Withdrawn, "withdrawn")
	}
	verb := "make"
	if len(parts) == 1 {
		verb = "is"
	}
	return fmt.Sprintf("%s %s %d, but %d %s in the tray on %s", strings.Join(parts, " + "), verb, sum, stood, of, p.counted)
}

func (p *replay) apply(c *models.Check, m moved) {
	p.find(m.newly, c.CheckedOn)
	p.removeRooted(m.lostRooted)
	p.Tally.LostRooted += m.lostRooted
	p.Tally.LostUnrooted += m.lostUnrooted
	p.Tally.Withdrawn += m.withdrawn
	p.Tally.Unrooted -= m.lostUnrooted + m.withdrawn
	p.loseByCause(c.Lost)
	p.loseByCause(c.LostRooted)
	p.Checks++
	p.LastFull, p.counted = c.CheckedOn, c.CheckedOn
	if c.Rooted != nil {
		p.looks.add(c.CheckedOn)
		p.LastLook = c.CheckedOn
		p.grade(c)
	}
	p.regrade()
}

func (p *replay) loseByCause(lost models.Losses) {
	for cause, n := range lost {
		if n > 0 {
			p.Tally.LostByCause[cause] += n
		}
	}
}

// checkPart is a look at some of the tray: it moves no count.
func (p *replay) checkPart(c *models.Check) error {
	if live := p.Tally.Live(); *c.Examined > live {
		return models.InvalidField("too-many-cuttings", "examined", *c.Examined,
			"is %d, but only %d live cuttings stood in the tray on %s", *c.Examined, live, p.counted)
	}
	p.gradePart(c)
	return nil
}

func (p *replay) pot(k *models.Potting) error {
	if err := p.wantStuck("potted_on", k.PottedOn); err != nil {
		return err
	}
	if err := p.wantAfterSticking("count", k.Count, k.PottedOn); err != nil {
		return err
	}
	t := &p.Tally
	if k.Count > t.Live() {
		return models.InvalidField("too-many-potted", "count", k.Count,
			"is %d, but only %d rooted + %d unrooted = %d live cuttings stood in the tray on %s",
			k.Count, t.Rooted, t.Unrooted, t.Live(), p.counted)
	}
	p.find(max(0, k.Count-t.Rooted), k.PottedOn)
	p.removeRooted(k.Count)
	t.Potted += k.Count
	p.LastLook, p.counted = k.PottedOn, k.PottedOn
	p.gradePotted(k.Count)
	return nil
}

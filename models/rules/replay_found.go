package rules

import "withybed/models"

// lookDays are the last two days on which the roots of the whole tray were
// looked at, beginning with the sticking.
type lookDays struct{ last, prior models.Date }

func (l *lookDays) add(day models.Date) {
	if day.After(l.last) {
		l.prior, l.last = l.last, day
	}
}

// before is the last such day before a day. A second look on one day narrows
// nothing: what it finds may have rooted since the look of an earlier day.
func (l lookDays) before(day models.Date) models.Date {
	if l.last.Before(day) {
		return l.last
	}
	return l.prior
}

// find turns unrooted cuttings of the tray into rooted ones, found on a day.
func (p *replay) find(n int, on models.Date) {
	if n == 0 {
		return
	}
	p.Tally.Unrooted -= n
	p.Tally.Rooted += n
	found := Found{After: p.looks.before(on), By: on, Count: n}
	p.Found = addFound(p.Found, found)
	p.Tray = addFound(p.Tray, found)
}

func addFound(all []Found, f Found) []Found {
	if i := len(all) - 1; i >= 0 && all[i].After == f.After && all[i].By == f.By {
		all[i].Count += f.Count
		return all
	}
	return append(all, f)
}

// removeRooted takes rooted cuttings out of the tray, those found first before
// the others: nobody marks which is which.
func (p *replay) removeRooted(n int) {
	p.Tally.Rooted -= n
	for n > 0 && len(p.Tray) > 0 {
		out := min(n, p.Tray[0].Count)
		n -= out
		p.Tray[0].Count -= out
		if p.Tray[0].Count == 0 {
			p.Tray = p.Tray[1:]
		}
	}
}

// grade keeps what a look at the whole tray said of the roots: nothing, where
// potting roots were not told apart.
func (p *replay) grade(c *models.Check) {
	p.Grade, p.Tally.PottingRoots = nil, 0
	if c.PottingRoots == nil {
		return
	}
	p.Tally.PottingRoots = *c.PottingRoots
	p.Grade = &Grade{On: c.CheckedOn, Live: p.Tally.Live(), Rooted: *c.Rooted, Ready: *c.PottingRoots, Overlong: orZero(c.Overlong)}
}

// gradePart keeps what a look at some of the tray said, if it graded roots.
func (p *replay) gradePart(c *models.Check) {
	if c.Rooted == nil || c.PottingRoots == nil {
		return
	}
	p.Grade = &Grade{
		On: c.CheckedOn, Live: *c.Examined - c.Lost.Sum() - c.LostRooted.Sum(), Rooted: *c.Rooted,
		Ready: *c.PottingRoots, Overlong: orZero(c.Overlong), Partial: true,
	}
}

// gradePotted takes the potted ones from those that were ready. What a look at
// a part said is no longer so after potting, and nothing is left to say of a
// tray without rooted ones.
func (p *replay) gradePotted(potted int) {
	p.Tally.PottingRoots = max(0, p.Tally.PottingRoots-potted)
	if g := p.Grade; g != nil {
		g.Ready = max(0, g.Ready-potted)
		g.Overlong = max(0, g.Overlong-potted)
	}
	if p.Grade != nil && (p.Grade.Partial || p.Tally.Rooted == 0) {
		p.Grade = nil
	}
	p.regrade()
}

// regrade holds the grade of a whole tray inside what still stands in it.
func (p *replay) regrade() {
	t := &p.Tally
	t.PottingRoots = min(t.PottingRoots, t.Rooted)
	g := p.Grade
	if g == nil || g.Partial {
		return
	}
	g.Live, g.Rooted = t.Live(), t.Rooted
	g.Ready = min(g.Ready, g.Rooted)
	g.Overlong = min(g.Overlong, g.Ready)
}

func orZero(n *int) int {
	if n == nil {
		return 0
	}
	return *n
}

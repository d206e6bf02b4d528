package rules

import (
	"slices"

	"withybed/models"
)

// changeDays are the days in (after, to], in order, on which an answer of any rule
// can become another one; between two of them everything stays as it is. There may
// be days among them on which nothing changes. What a rule reads of a day has to have
// its ends here.
func (h *history) changeDays(after, to models.Date) []models.Date {
	c := changes{after: after, to: to}
	for _, v := range h.Rules {
		c.add(v.InForceFrom)
	}
	h.countChanges(&c)
	h.stemChanges(&c)
	for i := range h.Closures {
		c.add(h.Closures[i].InForceFrom)
		c.closures(h.Closures[i].Closures)
	}
	for i := range h.PlaceClosures {
		c.add(h.PlaceClosures[i].InForceFrom)
		c.closures(h.PlaceClosures[i].Closures)
	}
	for _, look := range h.NestChecks {
		c.period(look.CheckedOn, look.CheckedOn.Add(models.NestLookDays))
	}
	for _, r := range h.Rests {
		c.period(r.StartsOn, r.EndsOn)
	}
	for _, s := range h.Salvages {
		c.period(s.StartsOn, s.EndsOn)
	}
	for i := range h.Permits {
		c.period(h.Permits[i].ValidFrom, h.Permits[i].ValidTo)
	}
	slices.SortFunc(c.days, models.Date.Compare)
	return slices.Compact(c.days)
}

// countChanges are the days of counts and of what ended them, and those from which
// counts are too old.
func (h *history) countChanges(c *changes) {
	for i := range h.Surveys {
		on := h.Surveys[i].SurveyedOn
		c.add(on)
		for _, v := range h.Rules {
			c.add(on.Add(v.SurveyValidDays + 1))
		}
	}
	for _, event := range h.Disturbances {
		c.add(event.HappenedOn)
	}
}

// stemChanges are the days on which stems come into a window and leave it, and those
// between which a cut has to leave room for them.
func (h *history) stemChanges(c *changes) {
	in := func(day models.Date) {
		c.add(day.Add(1 - h.ruleOn(day).WindowDays))
		c.period(day, day)
		for _, v := range h.Rules {
			c.add(day.Add(v.WindowDays))
		}
	}
	for _, day := range h.Ledger {
		in(day.TakenOn)
	}
	for _, p := range h.Parents {
		in(p.TakenOn)
	}
	for i := range h.Shares {
		in(h.Shares[i].FromDay)
		in(h.Shares[i].ToDay)
	}
}

// changes gathers days in (after, to].
type changes struct {
	after, to models.Date
	days      []models.Date
}

func (c *changes) add(day models.Date) {
	if day.After(c.after) && !day.After(c.to) {
		c.days = append(c.days, day)
	}
}

// period is one that holds from a day to another, both included; without an end it
// holds for good.
func (c *changes) period(from, to models.Date) {
	c.add(from)
	if !to.IsZero() {
		c.add(to.Add(1))
	}
}

func (c *changes) closures(list []models.Closure) {
	for i := range list {
		closure := &list[i]
		if !closure.EveryYear {
			from, _ := models.ParseDate(closure.From) // entered ones can be read
			to, _ := models.ParseDate(closure.To)
			c.period(from, to)
			continue
		}
		for year := c.after.Year(); year <= c.to.Year(); year++ {
			c.aroundEnd(year, closure.From)
			c.aroundEnd(year, closure.To)
		}
	}
}

// aroundEnd are the days around an end of a closure of every year, which may be
// 29 February and then begins or ends on the 28th.
func (c *changes) aroundEnd(year int, monthDay string) {
	leap, err := models.ParseDate("2024-" + monthDay)
	if err != nil {
		return
	}
	month, day := leap.MonthDay()
	for shift := -1; shift <= 2; shift++ {
		c.add(models.NewDate(year, month, day+shift))
	}
}

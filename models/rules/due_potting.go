package rules

import (
	"fmt"
	"slices"

	"withybed/models"
)

// potAsk is asked when a tray is fit to be potted up: enough of its live cuttings
// have potting roots, or some have roots too long already, or the rooted ones
// have waited long enough whatever their roots.
func (a *asker) potAsk() (ask, bool) {
	var days []models.Date
	add := func(day models.Date, ok bool) {
		if ok {
			days = append(days, day)
		}
	}
	add(a.overlongFrom())
	add(a.shareFrom())
	add(a.waitedFrom())
	if len(days) == 0 {
		return ask{}, false
	}
	first := slices.MinFunc(days, models.Date.Compare)
	return ask{flag: models.FlagPotUp, since: first, tell: a.tellPot}, true
}

// tellPot gives the weightiest reason of a day.
func (a *asker) tellPot(on models.Date) words {
	reached := func(day models.Date, ok bool) bool { return ok && !day.After(on) }
	switch {
	case reached(a.overlongFrom()):
		g := a.story.Grade
		return words{a.readyOn(on).count(a.story.Tally.Live()), true, fmt.Sprintf(
			"%d of %s looked at on %s had roots that are too long already: pot up now",
			g.Overlong, models.Counted(g.Live, "live cutting"), g.On)}
	case reached(a.shareFrom()):
		return words{count: a.readyOn(on).count(a.story.Tally.Live()), reason: a.shareReason(on)}
	}
	first := a.story.Tray[0]
	limit, where := a.longestWait()
	return words{count: a.story.Tally.Rooted, reason: fmt.Sprintf(
		"%s %s, the first found on %s and rooted at some time after %s, %s ago: they wait at most %s",
		models.Counted(a.story.Tally.Rooted, "rooted cutting"), where, first.By, first.After, models.Counted(on.Sub(first.After), "day"), models.Counted(limit, "day"))}
}

// overlongFrom is the day of the last look that graded roots, if it saw any that
// were too long.
func (a *asker) overlongFrom() (models.Date, bool) {
	g := a.story.Grade
	if g == nil || g.Overlong == 0 {
		return models.Date{}, false
	}
	return g.On, true
}

// readiness is how many cuttings of a tray are fit to pot, as the fraction
// num/den, so that a look at a part of the tray loses nothing by rounding.
type readiness struct{ num, den int }

// reaches says that the ready ones are at least a share of those live.
func (r readiness) reaches(share models.Decimal, live int) bool {
	return r.num > 0 && models.DecimalOf(r.num) >= share*models.Decimal(live)*models.Decimal(r.den)
}

// count is the number of ready cuttings, to the nearest whole one from 1 to live.
func (r readiness) count(live int) int {
	return min(max(1, (2*r.num+r.den)/(2*r.den)), live)
}

// readyOn is how many are ready on a day: those the last graded look saw with
// potting roots, scaled up where it looked at a part of the tray, and of those
// found rooted later the ones that have had their time.
func (a *asker) readyOn(on models.Date) readiness {
	ready := readiness{0, 1}
	if g := a.story.Grade; g != nil && g.Live > 0 {
		ready = readiness{g.Ready * a.story.Tally.Live(), g.Live}
	}
	ready.num += a.ripeOn(on) * ready.den
	return ready
}

// ripeOn is how many cuttings nobody graded count as ready, for they were found
// rooted long enough ago.
func (a *asker) ripeOn(on models.Date) int {
	ripe := 0
	for _, f := range a.ungraded() {
		if !f.By.Add(a.readyAfter()).After(on) {
			ripe += f.Count
		}
	}
	return ripe
}

// ungraded are the rooted ones of the tray found after the last look that graded.
func (a *asker) ungraded() []Found {
	for i, f := range a.story.Tray {
		if a.story.Grade == nil || f.By.After(a.story.Grade.On) {
			return a.story.Tray[i:]
		}
	}
	return nil
}

// shareFrom is the first day on which the ready share of the tray is reached. It
// can be the day of the last graded look, or one on which ungraded ones ripen.
func (a *asker) shareFrom() (models.Date, bool) {
	var days []models.Date
	if a.story.Grade != nil {
		days = append(days, a.story.Grade.On)
	}
	for _, f := range a.ungraded() {
		days = append(days, f.By.Add(a.readyAfter()))
	}
	for _, day := range days {
		if a.readyOn(day).reaches(a.ReadyShare, a.story.Tally.Live()) {
			return day, true
		}
	}
	return models.Date{}, false
}

// waitedFrom is the day on which the rooted ones of the tray have waited long,
// counted from the last look that found the first of them unrooted, or from
// sticking; never before they were found.
func (a *asker) waitedFrom() (models.Date, bool) {
	if len(a.story.Tray) == 0 {
		return models.Date{}, false
	}
	limit, _ := a.longestWait()
	first := a.story.Tray[0]
	return models.Later(first.By, first.After.Add(limit)), true
}

func (a *asker) longestWait() (days int, where string) {
	if a.record.Sticking.InWater() {
		return a.WaitedLongWater, "in water"
	}
	return a.WaitedLong, "in medium"
}

func (a *asker) readyAfter() int {
	if a.record.Sticking.InWater() {
		return a.ReadyAfterWater
	}
	return a.ReadyAfter
}

// shareReason says who is ready and why, as a share of the live ones.
func (a *asker) shareReason(on models.Date) string {
	live, ripe, ready := a.story.Tally.Live(), a.ripeOn(on), a.readyOn(on)
	share := fmt.Sprintf("%d %%: a tray is potted up from %s %%", min(100, 100*ready.num/(ready.den*live)), a.ReadyShare*100)
	waited := fmt.Sprintf("found rooted %s ago or longer", models.Counted(a.readyAfter(), "day"))
	switch graded := a.gradedWords(); {
	case graded == "":
		return fmt.Sprintf("%d of %s %s, %s", ripe, models.Counted(live, "live cutting"), waited, share)
	case ripe == 0:
		return fmt.Sprintf("%s, %s", graded, share)
	default:
		return fmt.Sprintf("%s, and %d more %s, together %s", graded, ripe, waited, share)
	}
}

// gradedWords says what the last graded look saw; empty where it saw none ready.
func (a *asker) gradedWords() string {
	g := a.story.Grade
	if g == nil || g.Ready == 0 {
		return ""
	}
	looked := models.Counted(g.Live, "live cutting")
	if g.Partial {
		looked = models.Counted(g.Live, "cutting") + " examined"
	}
	return fmt.Sprintf("%d of %s had potting roots on %s", g.Ready, looked, g.On)
}

package rules

import (
	"fmt"

	"withybed/models"
)

// tray is what the live cuttings of a stuck batch ask for. A decision keeps
// check and decide quiet up to and with its day; it never quiets anything else.
func (a *asker) tray() []ask {
	bench := a.record.Sticking.Bench
	asks := []ask{a.checkAsk()}
	if a.story.Tally.Unrooted > 0 {
		asks = append(asks, a.decideAsk())
	}
	for i := range asks {
		asks[i].since = models.Later(asks[i].since, a.story.QuietUntil.Add(1))
	}
	if pot, ok := a.potAsk(); ok && a.record.Purpose != models.DirectStick {
		asks = append(asks, pot)
	}
	for i := range asks {
		asks[i].bench = bench
	}
	return asks
}

// warmSpell is how many days an unheated bench stays warm from the warm-from day
// on: to the end of September where that is 1 March. What is stuck later waits
// for the next spring.
const warmSpell = 214

// clock is the day from which the time of a tray counts: its sticking, or the
// first warm day after it where it is recorded that there is no bottom heat. A
// tray of which nothing was recorded is looked at as if it were warm: a look too
// many costs less than a jar that has rooted unseen. The medium makes no
// difference: a mist bench without heat is cold too.
func (a *asker) clock() models.Date {
	stuck := a.record.Sticking.StuckOn
	if !a.record.Sticking.Unheated() {
		return stuck
	}
	return models.Later(stuck, warmDay(stuck, a.WarmFrom))
}

// warmDay is the warm-from day of the warm spell that holds a day, or of the
// next one. It is no day where monthDay is not MM-DD.
func warmDay(day models.Date, monthDay string) models.Date {
	for year := day.Year() - 1; ; year++ {
		warm, err := models.ParseDate(fmt.Sprintf("%04d-%s", year, leapless(monthDay)))
		if err != nil || day.Before(warm.Add(warmSpell)) {
			return warm
		}
	}
}

func (a *asker) lastLook() models.Date { return models.Later(a.story.LastCheck, a.story.LastLook) }

// checkAsk is asked when a look is due: a first one some days after sticking,
// and then at the interval of the medium, or earlier where a model of the days to
// root says that half of what may still root should have by then. On an unheated bench that begins when
// it is warm, with one look a month until then. Potting counts as a look.
func (a *asker) checkAsk() ask {
	stuck, clock, last := a.record.Sticking.StuckOn, a.clock(), a.lastLook()
	if last.After(clock) {
		return a.earlier(a.nextLook(last), last)
	}
	if cold := models.Later(stuck, last).Add(a.CheckEveryCold); cold.Before(clock) {
		return a.coldLook(models.Later(stuck, last), clock)
	}
	return a.earlier(a.firstLook(clock), models.Later(stuck, last))
}

func (a *asker) nextLook(last models.Date) ask {
	every, where := a.lookEvery()
	return a.check(last.Add(every), func(on models.Date) string {
		return fmt.Sprintf("last looked at on %s, %s ago: %s a look is due every %s",
			last, models.Counted(on.Sub(last), "day"), where, models.Counted(every, "day"))
	})
}

func (a *asker) coldLook(last, clock models.Date) ask {
	verb := "last looked at"
	if last == a.record.Sticking.StuckOn {
		verb = "stuck"
	}
	return a.check(last.Add(a.CheckEveryCold), func(on models.Date) string {
		return fmt.Sprintf("%s on %s, %s ago, on an unheated bench: until it is warm on %s a look is due every %s",
			verb, last, models.Counted(on.Sub(last), "day"), clock, models.Counted(a.CheckEveryCold, "day"))
	})
}

func (a *asker) firstLook(clock models.Date) ask {
	after, where := a.FirstCheck, "in medium"
	if a.record.Sticking.InWater() {
		after, where = a.FirstCheckWater, "in water"
	}
	stuck := a.record.Sticking.StuckOn
	return a.check(clock.Add(after), func(on models.Date) string {
		if clock == stuck {
			return fmt.Sprintf("stuck on %s, %s ago, and not looked at yet: %s a first look is due after %s",
				stuck, models.Counted(on.Sub(stuck), "day"), where, models.Counted(after, "day"))
		}
		return fmt.Sprintf("stuck on %s, on an unheated bench, and not looked at since it was warm on %s, %s ago: %s a first look is due after %s",
			stuck, clock, models.Counted(on.Sub(clock), "day"), where, models.Counted(after, "day"))
	})
}

func (a *asker) check(since models.Date, reason func(on models.Date) string) ask {
	return ask{flag: models.FlagCheck, since: since, tell: func(on models.Date) words {
		return words{count: a.story.Tally.Live(), reason: reason(on)}
	}}
}

// lookEvery is the days between looks and where that holds: the shortest of what
// applies.
func (a *asker) lookEvery() (days int, where string) {
	days, where = a.CheckEvery, "in medium"
	if a.record.Sticking.Mist {
		days, where = a.CheckEveryMist, "under mist"
	}
	if a.record.Sticking.InWater() && (!a.record.Sticking.Mist || a.CheckEveryWater < days) {
		days, where = a.CheckEveryWater, "in water"
	}
	return days, where
}

// decideAsk is asked when cuttings are live and unrooted past the cut-off, in
// days since the clock of the tray began.
func (a *asker) decideAsk() ask {
	clock, n := a.clock(), a.story.Tally.Unrooted
	cutoff, of := a.cutoff()
	return ask{flag: models.FlagDecide, since: clock.Add(cutoff + 1), tell: func(on models.Date) words {
		return words{count: n, reason: fmt.Sprintf(
			"%s unrooted after %s in the warm, from %s on, past the %d %s: keep them to a day, stick them again, discard them or close the batch",
			models.Counted(n, "cutting"), models.Counted(on.Sub(clock), "day"), clock, cutoff, of)}
	}}
}

// cutoff is the warm days after which unrooted cuttings are decided about, and
// for what. Slow kinds are slow in water too.
func (a *asker) cutoff() (days int, of string) {
	switch taxon := &a.record.Taxon; {
	case taxon.SlowToRoot:
		return a.CutoffSlow, "for slow kinds"
	case a.record.Sticking.InWater():
		return a.CutoffWater, "for cuttings in water"
	case willowOrCottonwood(taxon):
		return a.CutoffWillow, "for willow and cottonwood"
	}
	return a.CutoffOther, "for kinds like this one"
}

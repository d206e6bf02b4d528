package rules

import (
	"withybed/models"
)

// RuleOn is the version of a harvest rule in force on a day. Versions come in
// the order they were entered; the first holds from the beginning, and of two
// that start on one day the later entered counts.
func RuleOn(versions []models.RuleVersion, day models.Date) models.RuleVersion {
	return inForce(versions, day, func(v *models.RuleVersion) models.Date { return v.InForceFrom })
}

// ClosuresOn is the list of closures in force on a day, by the same rule.
func ClosuresOn(versions []models.ClosureVersion, day models.Date) models.ClosureVersion {
	return inForce(versions, day, func(v *models.ClosureVersion) models.Date { return v.InForceFrom })
}

func inForce[V any](versions []V, day models.Date, from func(*V) models.Date) V {
	var found V
	var since models.Date
	for i := range versions {
		start := models.Date{}
		if i > 0 {
			start = from(&versions[i])
		}
		if !start.After(day) && !start.Before(since) {
			found, since = versions[i], start
		}
	}
	return found
}

func (h *history) ruleOn(day models.Date) models.RuleVersion { return RuleOn(h.Rules, day) }

// PlaceClosuresOn is the list of closures of a whole place in force on a day. Before
// its first list a place has none.
func PlaceClosuresOn(versions []models.PlaceClosureVersion, day models.Date) models.PlaceClosureVersion {
	fromNone := append([]models.PlaceClosureVersion{{}}, versions...)
	return inForce(fromNone, day, func(v *models.PlaceClosureVersion) models.Date { return v.InForceFrom })
}

// shutBy is a closure that holds on a day, of the stand or of its whole place.
type shutBy struct {
	*models.Closure
	ofPlace bool
}

// closureOn is a closure of the stand or its place that holds on a day, or nil; one
// that is shut for good is told before one that a look for nests could lift.
func (h *history) closureOn(day models.Date) *shutBy {
	var found *shutBy
	for i, list := range [][]models.Closure{ClosuresOn(h.Closures, day).Closures, PlaceClosuresOn(h.PlaceClosures, day).Closures} {
		for j := range list {
			closure := &list[j]
			if !holds(closure, day) || closure.Kind == models.NestCheck && h.lookedOver(day) {
				continue
			}
			if found == nil || found.Kind == models.NestCheck && closure.Kind != models.NestCheck {
				found = &shutBy{closure, i > 0}
			}
		}
	}
	return found
}

// holds says that a closure covers a day, both its ends included. One of every
// year may wrap the year, and 29 February is read as the 28th.
func holds(c *models.Closure, day models.Date) bool {
	if !c.EveryYear {
		text := day.String()
		return c.From <= text && text <= c.To
	}
	from, to, at := leapless(c.From), leapless(c.To), leapless(day.String()[len("2026-"):])
	if from <= to {
		return from <= at && at <= to
	}
	return at >= from || at <= to
}

func leapless(monthDay string) string {
	if monthDay == "02-29" {
		return "02-28"
	}
	return monthDay
}

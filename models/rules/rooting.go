package rules

import (
	"withybed/models"
	"withybed/models/stats"
)

// wilsonConfidence is the two-sided confidence of the interval shown with the
// rooting percent of a batch.
const wilsonConfidence = 0.95

// RootingOf is what one batch says of its rooting. The percent is ever rooted ÷
// stuck, on the day of the last look at roots or potting, with a Wilson interval
// that holds within this batch only; it is nil before sticking and before the
// first look, since a percent that nobody looked for is none. A tray that a check
// found empty needs no look at roots: it is 0 % on the day of that check. The days
// to root are brackets in days after sticking; they are nil before sticking only.
func RootingOf(r *models.BatchRecord, s *Story) (*models.RootingCount, *models.DaysToRoot) {
	if r.Sticking == nil || s.Tally.Stuck == 0 {
		return nil, nil
	}
	days := daysToRoot(foundIn(r, s), s.Tally.Stuck)
	on := rootingDay(s)
	if on.IsZero() {
		return nil, &days
	}
	stuck, rooted := s.Tally.Stuck, s.Tally.EverRooted
	interval := stats.Wilson(rooted, stuck, wilsonConfidence)
	return &models.RootingCount{
		Stuck: stuck, EverRooted: rooted, On: on, Percent: percent(rooted, stuck),
		Lower: 100 * interval.Lower, Upper: 100 * interval.Upper,
	}, &days
}

// rootingDay is the day a rooting percent speaks of, or none.
func rootingDay(s *Story) models.Date {
	if s.LastLook.IsZero() && s.Tally.Live() == 0 {
		return s.LastFull
	}
	return s.LastLook
}

func percent(part, whole int) float64 { return 100 * float64(part) / float64(whole) }

// foundIn is what the looks of a batch found, in days after sticking.
func foundIn(r *models.BatchRecord, s *Story) []stats.Found {
	stuck := r.Sticking.StuckOn
	found := make([]stats.Found, len(s.Found))
	for i, f := range s.Found {
		found[i] = stats.Found{After: f.After.Sub(stuck), By: f.By.Sub(stuck), Count: f.Count}
	}
	return found
}

func daysToRoot(found []stats.Found, stuck int) models.DaysToRoot {
	return models.DaysToRoot{
		OfStuck:  levels(func(q float64) stats.DayBracket { return stats.BracketOfStuck(found, stuck, q) }),
		OfRooted: levels(func(q float64) stats.DayBracket { return stats.Bracket(found, q) }),
	}
}

func levels(at func(q float64) stats.DayBracket) models.Levels {
	return models.Levels{T10: bracket(at(0.1)), T50: bracket(at(0.5)), T90: bracket(at(0.9))}
}

func bracket(b stats.DayBracket) models.Bracket {
	if b.Status != stats.Reached {
		return models.Bracket{Status: models.BracketStatus(b.Status)}
	}
	return models.Bracket{Status: models.Reached, From: &b.After, To: &b.By}
}

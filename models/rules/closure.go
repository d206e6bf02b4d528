package rules

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"withybed/models"
)

// AddClosures is the edit of a stand that adds closures to those in force on the
// day they start on, which is today where none is given. One that is there already
// is not added again.
func AddClosures(stand *models.StandRecord, req *models.NewClosures, today models.Date) (models.StandEdit, error) {
	start := startOn(req.InForceFrom, today)
	var f models.Faults
	list := moreClosures(&f, ClosuresOn(stand.Closures, start).Closures, req.Closures, "a stand")
	return models.StandEdit{Closures: &list, InForceFrom: start, Why: req.Why, By: req.By}, f.Err()
}

// moreClosures is a list of closures with others added to it, each once.
func moreClosures(f *models.Faults, before, added []models.Closure, of string) []models.Closure {
	checkClosures(f, added)
	if len(added) == 0 {
		f.Add("invalid", "closures", nil, "is empty: give at least one closure")
	}
	list := slices.Clone(before)
	for _, c := range closureList(added) {
		if !slices.Contains(list, c) {
			list = append(list, c)
		}
	}
	checkFull(f, list, of)
	return list
}

func checkFull(f *models.Faults, list []models.Closure, of string) {
	if len(list) > models.MaxClosures {
		f.Add("invalid", "closures", nil, "would make %d closures, and %s has at most %d: ask the coordinator to take some away", len(list), of, models.MaxClosures)
	}
}

// startOn is the day a new version starts on: the one that was given, or today.
func startOn(given, today models.Date) models.Date {
	if given.IsZero() {
		return today
	}
	return given
}

// OpenLater warns of lists of closures that take over on a later day, and in which
// closures that were added are missing.
func OpenLater(stand *models.StandRecord, req *models.NewClosures, today models.Date) []string {
	var warnings []string
	start, added := startOn(req.InForceFrom, today), closureList(req.Closures)
	for i, later := range stand.Closures {
		comes := i > 0 && later.InForceFrom.After(start) && ClosuresOn(stand.Closures, later.InForceFrom).ID == later.ID
		if comes {
			warnings = append(warnings, leftOpen(later.InForceFrom, added, later.Closures)...)
		}
	}
	return warnings
}

// leftOpen warns of a later list of closures without some that were added.
func leftOpen(from models.Date, added, later []models.Closure) []string {
	missing := lost(added, later)
	if len(missing) == 0 {
		return nil
	}
	return []string{fmt.Sprintf("another list of closures is in force from %s on, without %s: add it with in_force_from %s too",
		from, strings.Join(missing, ", "), from)}
}

// dropped warns of closures that a new version takes away.
func dropped(stand *models.StandRecord, version *models.ClosureVersion) []string {
	if version == nil {
		return nil
	}
	return noLongerClosed(ClosuresOn(stand.Closures, version.InForceFrom).Closures, version.Closures)
}

func noLongerClosed(before, after []models.Closure) []string {
	if missing := lost(before, after); len(missing) > 0 {
		return []string{"no longer closed: " + strings.Join(missing, ", ")}
	}
	return nil
}

// lost are the closures, in words, whose period another list leaves open, or leaves
// to a look for nests.
func lost(closures, other []models.Closure) (words []string) {
	for _, c := range closures {
		kept := slices.ContainsFunc(other, func(o models.Closure) bool {
			same := o.From == c.From && o.To == c.To && o.EveryYear == c.EveryYear
			return same && (o.Kind == c.Kind || o.Kind == models.Closed)
		})
		if !kept {
			words = append(words, closureWords(&c))
		}
	}
	return words
}

func closureWords(c *models.Closure) string {
	text := c.From + ".." + c.To
	if c.Reason != "" {
		text += " (" + c.Reason + ")"
	}
	return text
}

func newClosures(f *models.Faults, stand *models.StandRecord, edit *models.StandEdit, start models.Date) *models.ClosureVersion {
	if edit.Closures == nil {
		return nil
	}
	checkClosures(f, *edit.Closures)
	list := closureList(*edit.Closures)
	if slices.Equal(list, ClosuresOn(stand.Closures, start).Closures) {
		return nil
	}
	return &models.ClosureVersion{Closures: list, InForceFrom: start, Why: models.Clean(edit.Why), SetBy: models.Clean(edit.By)}
}

func closureList(closures []models.Closure) []models.Closure {
	list := make([]models.Closure, len(closures))
	for i, c := range closures {
		list[i] = c
		list[i].Reason = models.Clean(c.Reason)
		if c.Kind == "" {
			list[i].Kind = models.Closed
		}
	}
	return list
}

func checkClosures(f *models.Faults, closures []models.Closure) {
	for i := range closures {
		c := &closures[i]
		at := fmt.Sprintf("closures[%d].", i)
		checkKnown(f, at+"kind", c.Kind, models.ClosureKinds)
		checkText(f, at+"reason", c.Reason, models.MaxNote)
		from := checkEnd(f, at+"from", c.From, c.EveryYear)
		to := checkEnd(f, at+"to", c.To, c.EveryYear)
		if from && to && !c.EveryYear && c.To < c.From {
			f.Add("invalid", at+"to", c.To, "is before %s", c.From)
		}
	}
}

// checkEnd looks at one end of a closure: MM-DD of every year, or a whole date.
func checkEnd(f *models.Faults, field, text string, everyYear bool) bool {
	if everyYear {
		if !monthDay(text) {
			f.Add("bad-date", field, text, "is %q, and a closure of every year has month-day, as in 04-15", text)
			return false
		}
		return true
	}
	if _, err := models.ParseDate(text); err != nil {
		f.Add("bad-date", field, text, "is %q, and a closure that is not of every year has year-month-day, as in 2026-04-15", text)
		return false
	}
	return true
}

// monthDay says that a text is a day of the year as MM-DD, 29 February included.
func monthDay(text string) bool {
	_, err := time.Parse(time.DateOnly, "2024-"+text)
	return err == nil && len(text) == len("04-15")
}

package rules

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"withybed/models"
)

// stamp is when something was entered; what was entered at one instant goes by its
// identifier, which sorts by time too.
type stamp struct {
	at time.Time
	id string
}

func (s stamp) compare(o stamp) int { return cmp.Or(s.at.Compare(o.at), cmp.Compare(s.id, o.id)) }

// known says that it was entered by then.
func (s stamp) known(then stamp) bool { return s.compare(then) <= 0 }

// event is an entry that says something of what a stand bore or could bear.
type event struct {
	stamp
	words   string
	against bool // a batch that was recorded against a rule
}

// tookOver says of a day to which too much was taken since when that is known: it goes
// through everything that was entered and bears on the day, in the order of entry, to
// the last that took it over the limit.
func tookOver(r *models.LandRecord, use standUse, place *time.Location) models.LandOver {
	over := models.LandOver{On: use.on, Taken: use.taken, Limit: use.limit, Over: use.over(), Within: true}
	before := 0
	for _, e := range eventsOf(r, use.on) {
		now := overThen(r, e.stamp, use.on)
		if before == 0 && now > 0 {
			over.Since, over.By, over.Within = models.DateIn(e.at, place), e.words, !e.against
		}
		before = now
	}
	return over
}

// overThen is by how much a day was over its limit by what was known when something was
// entered.
func overThen(r *models.LandRecord, then stamp, day models.Date) int {
	h := knownThen(r, then)
	taken, after := 0, day.Add(-h.ruleOn(day).WindowDays)
	for i := range r.Entries {
		e := &r.Entries[i]
		if e.TakenOn.After(after) && !e.TakenOn.After(day) && (stamp{e.EnteredAt, e.ID}).known(then) {
			taken += e.Stems
		}
	}
	return max(0, taken-h.limit(day))
}

// eventsOf is everything that was entered and bears on a day, in the order of entry.
func eventsOf(r *models.LandRecord, day models.Date) []event {
	var events []event
	after := day.Add(-newHistory(r.StandRecord).longestWindow())
	for i := range r.Entries {
		if e := &r.Entries[i]; e.TakenOn.After(after) && !e.TakenOn.After(day) {
			events = append(events, event{stamp{e.EnteredAt, e.ID}, entryWords(e), e.BatchID != nil && e.ShareID == nil && e.RefusedBy != ""})
		}
	}
	for i := range r.Rules {
		v := &r.Rules[i]
		events = append(events, event{stamp{v.EnteredAt, v.ID}, "the harvest rule in force from " + v.InForceFrom.String(), false})
	}
	for i := range r.Surveys {
		s := &r.Surveys[i]
		events = append(events, event{stamp{s.EnteredAt, s.ID}, "the count of " + s.SurveyedOn.String(), false})
	}
	for i := range r.ReplacedSurveys {
		s := &r.ReplacedSurveys[i]
		what := "the count of " + s.SurveyedOn.String()
		events = append(events, event{stamp{s.EnteredAt, s.ID}, what, false}, event{stamp{at: s.ReplacedAt}, "the correction of " + what, false})
	}
	for i := range r.Disturbances {
		d := &r.Disturbances[i]
		events = append(events, event{stamp{d.EnteredAt, d.ID}, disturbedWords(d), false})
	}
	for i := range r.ReplacedDisturbances {
		d := &r.ReplacedDisturbances[i]
		what := disturbedWords(&d.Disturbance)
		events = append(events, event{stamp{d.EnteredAt, d.ID}, what, false}, event{stamp{at: d.ReplacedAt}, "the correction of " + what, false})
	}
	slices.SortStableFunc(events, func(a, b event) int { return a.compare(b.stamp) })
	return events
}

func disturbedWords(d *models.Disturbance) string {
	return fmt.Sprintf("the %s of %s", strings.ReplaceAll(d.Kind, "_", " "), d.HappenedOn)
}

// entryWords names an entry of a ledger.
func entryWords(e *models.LandEntry) string {
	switch {
	case e.ShareID != nil:
		return "what is set aside for " + e.TakenOn.String()
	case e.Kind == models.Cut:
		return fmt.Sprintf("batch %s, cut on %s", e.Batch, e.TakenOn)
	case e.BatchID != nil:
		return "the correction of batch " + e.Batch
	case e.Kind == models.EarlierCut:
		return fmt.Sprintf("the nursery's own cut of %s, from before it kept batches", e.TakenOn)
	case e.Kind == models.Others:
		return fmt.Sprintf("the cut of others of %s", e.TakenOn)
	}
	return fmt.Sprintf("the correction of the cut of others of %s", e.TakenOn)
}

// knownThen is a stand, but for its ledger, as far as it was known when something was
// entered.
func knownThen(r *models.LandRecord, then stamp) *history {
	stand := models.StandRecord{Stand: r.Stand, Taxon: r.Taxon}
	for _, v := range r.Rules {
		if (stamp{v.EnteredAt, v.ID}).known(then) {
			stand.Rules = append(stand.Rules, v)
		}
	}
	for _, s := range r.Surveys {
		if (stamp{s.EnteredAt, s.ID}).known(then) {
			stand.Surveys = append(stand.Surveys, s)
		}
	}
	for _, s := range r.ReplacedSurveys {
		if (stamp{s.EnteredAt, s.ID}).known(then) && !(stamp{at: s.ReplacedAt}).known(then) {
			stand.Surveys = append(stand.Surveys, s.Survey)
		}
	}
	slices.SortStableFunc(stand.Surveys, func(a, b models.Survey) int {
		return cmp.Or(a.SurveyedOn.Compare(b.SurveyedOn), cmp.Compare(a.ID, b.ID))
	})
	for _, d := range r.Disturbances {
		if (stamp{d.EnteredAt, d.ID}).known(then) {
			stand.Disturbances = append(stand.Disturbances, d)
		}
	}
	for _, d := range r.ReplacedDisturbances {
		if (stamp{d.EnteredAt, d.ID}).known(then) && !(stamp{at: d.ReplacedAt}).known(then) {
			stand.Disturbances = append(stand.Disturbances, d.Disturbance)
		}
	}
	return newHistory(&stand)
}

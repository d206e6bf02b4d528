package rules

import (
	"fmt"

	"withybed/models"
)

// GoodTo is the last day on which a look for nests is good.
func GoodTo(look *models.NestLook) models.Date { return look.CheckedOn.Add(models.NestLookDays) }

// EnterNestCheck makes the record of a look for nests, on today where no day is given.
// Identifier, stand or place and time of entry are left to the caller.
func EnterNestCheck(req models.NewNestCheck, today models.Date) (models.NestLook, []string, error) {
	on := startOn(req.On, today)
	var f models.Faults
	checkPast(&f, "on", on, today)
	needText(&f, "by", req.By, models.MaxName)
	checkText(&f, "note", req.Note, models.MaxNote)
	look := models.NestLook{CheckedOn: on, NestsFound: req.NestsFound, CheckedBy: models.Clean(req.By), Note: models.Clean(req.Note)}
	var warnings []string
	if GoodTo(&look).Before(today) {
		warnings = append(warnings, fmt.Sprintf("a look is good for %d days, so that this one is good no more: look again", models.NestLookDays))
	}
	return look, warnings, f.Err()
}

// nestLook is the latest look for nests on or before a day that is good still, or
// nil. Of looks on one day one that found nests is told: in what order they were
// entered says nothing of what is in the thicket.
func (h *history) nestLook(day models.Date) *models.NestLook {
	look := h.lastLook(day)
	if look == nil || GoodTo(look).Before(day) {
		return nil
	}
	return look
}

// lastLook is the latest look for nests on or before a day, good or not, or nil.
func (h *history) lastLook(day models.Date) *models.NestLook {
	var last *models.NestLook
	for i := range h.NestChecks {
		if look := &h.NestChecks[i]; !look.CheckedOn.After(day) && (last == nil || outweighs(look, last)) {
			last = look
		}
	}
	return last
}

// outweighs says that a look counts rather than one that was entered before it.
func outweighs(look, before *models.NestLook) bool {
	if look.CheckedOn == before.CheckedOn {
		return look.NestsFound || !before.NestsFound
	}
	return look.CheckedOn.After(before.CheckedOn)
}

// lookedOver says that a look for nests that is good on a day found none.
func (h *history) lookedOver(day models.Date) bool {
	look := h.nestLook(day)
	return look != nil && !look.NestsFound
}

// nestWords is what stands in the way of a cut where nests are looked for first.
func (h *history) nestWords(day models.Date) string {
	text := " until someone has looked for nests and found none: "
	if look := h.nestLook(day); look != nil {
		return text + "nests in use were found on " + look.CheckedOn.String()
	}
	return text + fmt.Sprintf("no look of the last %d days is on file", models.NestLookDays)
}

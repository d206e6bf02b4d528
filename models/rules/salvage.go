package rules

import (
	"fmt"

	"withybed/models"
)

// EnterSalvage makes the record of a salvage, from today where no first day is given,
// and warns of rests, which it does not lift. Identifier, stand and time of entry are
// left to the caller.
func EnterSalvage(stand *models.StandRecord, req models.NewSalvage, today models.Date) (models.SalvagePeriod, []string, error) {
	from := startOn(req.From, today)
	var f models.Faults
	switch {
	case req.To.IsZero():
		f.Add("invalid", "to", nil, "is missing: a salvage has a last day, before the ground is destroyed")
	case req.To.Before(from):
		f.Add("out-of-order", "to", req.To, "is %s, before the first day, %s", req.To, from)
	}
	needText(&f, "authority", req.Authority, models.MaxName)
	needText(&f, "why", req.Why, models.MaxNote)
	checkText(&f, "by", req.By, models.MaxName)
	salvage := models.SalvagePeriod{
		StartsOn: from, EndsOn: req.To, Authority: models.Clean(req.Authority), Why: models.Clean(req.Why), SetBy: models.Clean(req.By),
	}
	var warnings []string
	for _, r := range RestsFrom(stand, from) {
		if !r.StartsOn.After(salvage.EndsOn) {
			warnings = append(warnings, restWords(&r)+", and a salvage lifts no rest: give the rest its end")
		}
	}
	return salvage, warnings, f.Err()
}

// salvageOn is the salvage that goes on on a day, or nil.
func (h *history) salvageOn(day models.Date) *models.SalvagePeriod {
	for i := range h.Salvages {
		if s := &h.Salvages[i]; !s.StartsOn.After(day) && !s.EndsOn.Before(day) {
			return s
		}
	}
	return nil
}

func salvageWords(s *models.SalvagePeriod) string {
	return fmt.Sprintf("salvage to %s, free of caps: %s (authority: %s)", s.EndsOn, s.Why, s.Authority)
}

// salvageMissing warns of a batch that is cut as salvage where none is on file: the
// purpose alone frees it of nothing.
func (h *history) salvageMissing(req *models.NewBatch) []string {
	if req.Purpose != models.Salvage || h.salvageOn(req.CollectedOn) != nil {
		return nil
	}
	return []string{fmt.Sprintf("no salvage of %s on %s is on file, so that the cut is held against every cap: the coordinator enters one with its authority",
		h.Code, req.CollectedOn)}
}

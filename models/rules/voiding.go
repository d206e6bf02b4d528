package rules

import (
	"fmt"

	"withybed/models"
)

// SplitOff are a batch and all that were split off it, and off those, among the batches
// of one harvest.
func SplitOff(family []*models.BatchRecord, r *models.BatchRecord) []*models.BatchRecord {
	all := []*models.BatchRecord{r}
	of := map[string]bool{r.ID: true}
	for more := true; more; {
		more = false
		for _, m := range family {
			if m.SplitFromID != nil && of[*m.SplitFromID] && !of[m.ID] {
				of[m.ID], more = true, true
				all = append(all, m)
			}
		}
	}
	return all
}

// VoidBatch makes a batch one that never was: it holds no stems, its tag is free, and
// nothing of it falls due. What it said is answered. Its entries stay, and are told.
func VoidBatch(r *models.BatchRecord) (before map[string]any, err error) {
	form := cutForm(r, &models.StandRecord{})
	if before, err = models.Said(form); err != nil {
		return nil, err
	}
	r.Void, r.Active, r.AwaitsReview, r.RecordNumber = true, false, false, nil
	return before, nil
}

// CheckVoid looks at a request that voids a batch.
func CheckVoid(r *models.BatchRecord, req models.NewVoid) error {
	if err := checkCorrection(req.Why, req.By); err != nil {
		return err
	}
	if r.Void {
		return correctedAlready("batch "+r.Code, &models.Correction{Void: true})
	}
	return nil
}

// VoidWarnings are what to look at again where batches never were.
func VoidWarnings(gone []*models.BatchRecord) []string {
	var warnings []string
	for _, r := range gone {
		potted := 0
		for _, p := range r.Pottings {
			potted += p.Count
		}
		if potted > 0 {
			warnings = append(warnings, fmt.Sprintf("%s of %s %s potted: look which batch the pots are of, and mend their labels",
				models.Counted(potted, "cutting"), r.Code, models.Were(potted)))
		}
		if r.RecordNumber != nil {
			warnings = append(warnings, fmt.Sprintf("the tag %s of %s is free again", *r.RecordNumber, r.Code))
		}
	}
	return warnings
}

// Unsplit is a batch without the split of a sister that never was, with that split, and
// the identifier of the decision that made it, if one did.
func Unsplit(of *models.BatchRecord, sister string) (without *models.BatchRecord, split models.Split, decision string, err error) {
	with := *of
	with.Splits, with.Decisions = nil, nil
	for _, s := range of.Splits {
		if s.SisterID == sister {
			split = s
			continue
		}
		with.Splits = append(with.Splits, s)
	}
	for _, d := range of.Decisions {
		if d.Action == models.Restick && d.Entry == split.Entry {
			decision = d.ID
			continue
		}
		with.Decisions = append(with.Decisions, d)
	}
	return &with, split, decision, stillStands(&with, split.Entry, "void", true, "with her cuttings back")
}

// correctedAlready is the error for a record that a correction stands against already.
func correctedAlready(what string, by *models.Correction) error {
	if by.ReplacedBy != nil {
		return models.Errorf(models.Conflict, "corrected-already", "the %s was corrected already: correct the one in its place, %s", what, *by.ReplacedBy)
	}
	return models.Errorf(models.Conflict, "corrected-already", "the %s is void already", what)
}

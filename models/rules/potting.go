package rules

import (
	"fmt"
	"slices"

	"withybed/models"
)

// Pot makes the record of cuttings potted up. More than were known to be rooted
// are found rooted that day, as far as unrooted ones remain.
func Pot(r *models.BatchRecord, req models.NewPotting, today models.Date) (models.Potting, []string, error) {
	return potAs(r, req, newSlot(r), today)
}

func potAs(r *models.BatchRecord, req models.NewPotting, at slot, today models.Date) (models.Potting, []string, error) {
	k := models.Potting{
		PottedOn: req.PottedOn, Count: req.Count, Container: models.Clean(req.Container),
		Medium: models.Clean(req.Medium), Bench: models.Clean(req.Bench), PottedBy: models.Clean(req.PottedBy),
	}
	if err := checkPotting(&k, today); err != nil {
		return models.Potting{}, nil, err
	}
	with, entry := *r, k
	entry.Entry, entry.ID = at.number, at.id
	with.Pottings = append(slices.Clone(r.Pottings), entry)
	if err := fits(&with, at, "potted_on", k.PottedOn); err != nil {
		return models.Potting{}, nil, err
	}
	if story := told(r, k.PottedOn); story != nil {
		return k, pottingWarnings(&k, story.Tally.Rooted), nil
	}
	return k, nil, nil
}

func checkPotting(k *models.Potting, today models.Date) error {
	var f models.Faults
	checkPast(&f, "potted_on", k.PottedOn, today)
	checkCount(&f, "count", k.Count, 1)
	checkText(&f, "container", k.Container, models.MaxName)
	checkText(&f, "medium", k.Medium, models.MaxName)
	checkText(&f, "bench", k.Bench, models.MaxName)
	checkText(&f, "potted_by", k.PottedBy, models.MaxName)
	return f.Err()
}

func pottingWarnings(k *models.Potting, known int) []string {
	if k.Count <= known {
		return nil
	}
	return []string{fmt.Sprintf("only %d %s known to be rooted: the rest of those potted, %d, counts as found rooted on %s",
		known, models.Were(known), k.Count-known, k.PottedOn)}
}

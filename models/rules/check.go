package rules

import (
	"fmt"
	"slices"

	"withybed/models"
)

// Check makes the record of a look at a tray. Warnings tell what a person has
// to act on, or has not been counted.
func Check(r *models.BatchRecord, req models.NewCheck, today models.Date) (models.Check, []string, error) {
	return checkAs(r, req, newSlot(r), today)
}

func checkAs(r *models.BatchRecord, req models.NewCheck, at slot, today models.Date) (models.Check, []string, error) {
	c := checkOf(&req)
	if err := checkOfLook(&req, today); err != nil {
		return models.Check{}, nil, err
	}
	with, entry := *r, c
	entry.Entry, entry.ID = at.number, at.id
	with.Checks = append(slices.Clone(r.Checks), entry)
	if err := fits(&with, at, "checked_on", c.CheckedOn); err != nil {
		return models.Check{}, nil, err
	}
	if story := told(r, c.CheckedOn); story != nil {
		return c, checkWarnings(&c, story.Tally.Live()), nil
	}
	return c, nil, nil
}

func checkOf(req *models.NewCheck) models.Check {
	c := models.Check{
		CheckedOn: req.CheckedOn, Rooted: req.Rooted, PottingRoots: req.PottingRoots, Overlong: req.Overlong,
		Unrooted: req.Unrooted, Lost: withoutZeros(req.Lost), Withdrawn: req.Withdrawn, Examined: req.Examined,
		CheckedBy: models.Clean(req.CheckedBy), Method: req.Method, Note: models.Clean(req.Note),
	}
	if req.LostRooted != nil {
		c.LostRooted = withoutZeros(*req.LostRooted)
	}
	return c
}

// withoutZeros never is nil: given and empty is not the same as left out.
func withoutZeros(lost models.Losses) models.Losses {
	kept := models.Losses{}
	for cause, n := range lost {
		if n != 0 {
			kept[cause] = n
		}
	}
	return kept
}

func checkOfLook(req *models.NewCheck, today models.Date) error {
	var f models.Faults
	checkPast(&f, "checked_on", req.CheckedOn, today)
	checkOptionalCount(&f, "rooted", req.Rooted, 0)
	checkOptionalCount(&f, "potting_roots", req.PottingRoots, 0)
	checkOptionalCount(&f, "overlong", req.Overlong, 0)
	checkOptionalCount(&f, "unrooted", req.Unrooted, 0)
	checkOptionalCount(&f, "examined", req.Examined, 1)
	checkCount(&f, "withdrawn", req.Withdrawn, 0)
	checkLosses(&f, "lost", req.Lost)
	if req.LostRooted != nil {
		checkLosses(&f, "lost_rooted", *req.LostRooted)
	}
	checkText(&f, "checked_by", models.Clean(req.CheckedBy), models.MaxName)
	checkText(&f, "note", models.Clean(req.Note), models.MaxNote)
	checkKnown(&f, "method", req.Method, models.LookMethods)
	checkPartOf(&f, "potting_roots", req.PottingRoots, "rooted", req.Rooted)
	checkPartOf(&f, "overlong", req.Overlong, "potting_roots", req.PottingRoots)
	checkExamined(&f, req)
	return f.Err()
}

func checkLosses(f *models.Faults, field string, lost models.Losses) {
	causes := make([]models.Cause, 0, len(lost))
	for cause := range lost {
		causes = append(causes, cause)
	}
	slices.Sort(causes)
	for _, cause := range causes {
		if !cause.Known() {
			f.Add("unknown-word", field, string(cause), "has the cause %q, and a cause is %s", cause, models.OneOf(models.Causes))
		}
		checkCount(f, field+"."+string(cause), lost[cause], 0)
	}
}

// checkPartOf refuses a part without the whole, or larger than it.
func checkPartOf(f *models.Faults, field string, part *int, of string, whole *int) {
	switch {
	case part == nil:
	case whole == nil:
		f.Add("missing", of, nil, "is missing, and %s is a part of it", field)
	case *part > *whole:
		f.Add("out-of-range", field, *part, "is %d, but %s is %d, and one is a part of the other", *part, of, *whole)
	}
}

func checkExamined(f *models.Faults, req *models.NewCheck) {
	if req.Examined == nil {
		return
	}
	rooted, unrooted, lost := orZero(req.Rooted), orZero(req.Unrooted), req.Lost.Sum()
	if req.LostRooted != nil {
		lost += req.LostRooted.Sum()
	}
	if sum := rooted + unrooted + lost; sum > *req.Examined {
		f.Add("unbalanced", "examined", *req.Examined, "is %d, but %d rooted + %d unrooted + %d lost make %d of them",
			*req.Examined, rooted, unrooted, lost, sum)
	}
}

// checkWarnings speaks of a tray in which stood so many live cuttings.
func checkWarnings(c *models.Check, stood int) []string {
	var warnings []string
	if c.Examined != nil {
		stood = *c.Examined
		if n := c.Lost.Sum() + c.LostRooted.Sum() + c.Withdrawn; n > 0 {
			warnings = append(warnings, fmt.Sprintf(
				"only %d %s looked at, so this moves no count: enter the %d lost or withdrawn with the next look at the whole tray", stood, models.Were(stood), n))
		}
	}
	if sick := sickness(c, stood); sick != "" {
		warnings = append(warnings, sick+": keep the tray apart, share no water with it, and tell the lead")
	}
	return warnings
}

// rotShare is the share of a tray, one in so many, from which rot is a sign of
// disease.
const rotShare = 5

func sickness(c *models.Check, stood int) string {
	black := c.Lost[models.BlackBase] + c.LostRooted[models.BlackBase]
	rotted := black + c.Lost[models.RottedBase] + c.LostRooted[models.RottedBase]
	switch {
	case black > 0:
		return fmt.Sprintf("%d with a black base, which may be a disease", black)
	case rotted > 0 && rotted*rotShare >= stood:
		return fmt.Sprintf("%d of %d rotted, a fifth or more", rotted, stood)
	}
	return ""
}

package rules

import (
	"slices"

	"withybed/models"
)

// EnterPlaceClosures makes the version of the closures of a whole place that a request
// asks for: those in force on the day it starts on, today where none is given, with
// more added, or the whole list anew. It is nil where nothing changes. Identifier,
// place and time of entry are left to the caller.
func EnterPlaceClosures(versions []models.PlaceClosureVersion, req *models.NewPlaceClosures, today models.Date) (*models.PlaceClosureVersion, []string, error) {
	start := startOn(req.InForceFrom, today)
	before := PlaceClosuresOn(versions, start).Closures
	var f models.Faults
	checkText(&f, "why", req.Why, models.MaxNote)
	checkText(&f, "by", req.By, models.MaxName)
	list := placeList(&f, before, req)
	if err := f.Err(); err != nil {
		return nil, nil, err
	}
	if slices.Equal(list, before) {
		return nil, []string{"the closures are as they were, so no new version of them was started"}, nil
	}
	version := &models.PlaceClosureVersion{Closures: list, InForceFrom: start, Why: models.Clean(req.Why), SetBy: models.Clean(req.By)}
	warnings := append(noLongerClosed(before, list), placeOpenLater(versions, start, closureList(req.Closures))...)
	if version.Why == "" || version.SetBy == "" {
		warnings = append(warnings, "the new closures do not say why they were set and by whom: give why and by")
	}
	return version, warnings, nil
}

func placeList(f *models.Faults, before []models.Closure, req *models.NewPlaceClosures) []models.Closure {
	if !req.WholeList {
		return moreClosures(f, before, req.Closures, "a place")
	}
	checkClosures(f, req.Closures)
	list := closureList(req.Closures)
	checkFull(f, list, "a place")
	return list
}

// placeOpenLater warns of lists of closures that take over on a day after start, and
// in which closures that were given are missing.
func placeOpenLater(versions []models.PlaceClosureVersion, start models.Date, given []models.Closure) (warnings []string) {
	for _, later := range versions {
		if later.InForceFrom.After(start) && PlaceClosuresOn(versions, later.InForceFrom).ID == later.ID {
			warnings = append(warnings, leftOpen(later.InForceFrom, given, later.Closures)...)
		}
	}
	return warnings
}

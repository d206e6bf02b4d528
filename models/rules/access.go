package rules

import (
	"slices"

	"withybed/models"
)

// deeds say what each role may do.
var deeds = map[models.Role][]models.Deed{
	models.Reader:      {models.DeedGreet, models.DeedStands, models.DeedRead},
	models.Manager:     {models.DeedGreet, models.DeedStands, models.DeedLook, models.DeedGuard},
	models.Volunteer:   {models.DeedGreet, models.DeedStands, models.DeedRead, models.DeedLog, models.DeedLook},
	models.Lead:        {models.DeedGreet, models.DeedStands, models.DeedRead, models.DeedLog, models.DeedTend, models.DeedLook},
	models.Coordinator: models.Deeds,
}

// May says whether a role may do a deed.
func May(role models.Role, deed models.Deed) bool { return slices.Contains(deeds[role], deed) }

// Access refuses a caller whose role may not do a deed.
func Access(caller models.Caller, deed models.Deed) error {
	if May(caller.Role, deed) {
		return nil
	}
	var may []models.Role
	for _, role := range models.Roles {
		if May(role, deed) {
			may = append(may, role)
		}
	}
	return models.Errorf(models.Forbidden, "not-for-role", "this needs the token of a %s, and this token is a %s's: ask the coordinator", models.OneOf(may), caller.Role)
}

// MayComparePeople refuses a comparison of who stuck cuttings to anyone but leads,
// coordinators and the nursery itself.
func MayComparePeople(caller models.Caller) error {
	if caller.Role == "" || caller.Is(models.Lead, models.Coordinator) {
		return nil
	}
	return models.Errorf(models.Forbidden, "not-for-role", "people are compared for leads and coordinators alone, and this token is a %s's: ask one of them", caller.Role)
}

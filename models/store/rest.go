package store

import "withybed/models"

// AddRests writes rests of stands.
func (tx *Tx) AddRests(rests []models.Rest) error { return addAll(tx, "add rests", "rests", rests) }

// AddSalvage writes a salvage of a stand.
func (tx *Tx) AddSalvage(s models.SalvagePeriod) error {
	return tx.add("add salvage "+s.ID, "salvages", &s)
}

// AddNestCheck writes a look for nests.
func (tx *Tx) AddNestCheck(l models.NestLook) error {
	return tx.add("add a look for nests "+l.ID, "nest_checks", &l)
}

// AddPlaceClosures writes a version of the closures of a place.
func (tx *Tx) AddPlaceClosures(c models.PlaceClosureVersion) error {
	if c.Closures == nil {
		c.Closures = []models.Closure{}
	}
	return tx.add("add closures of "+c.Place, "place_closures", &c)
}

package store

import "withybed/models"

// StandsAt are the stands at a place, compared without case and extra spaces, in
// order of id. In a write they are held until the transaction ends.
func (tx *Tx) StandsAt(place string) ([]models.Stand, error) {
	spelt, err := tx.spellings("place", place)
	if err != nil || len(spelt) == 0 {
		return nil, err
	}
	const there = "place IN (?)"
	if err := tx.lockRows("lock the stands at "+place, "stands", there, spelt); err != nil {
		return nil, err
	}
	return find[models.Stand]("read the stands at "+place, tx.db.Table("stands").Where(there, spelt).Order("id"))
}

// ReadPlace reads anew what is kept of the place of a stand, and the looks for nests
// there and at the stand itself that are good on a day or later.
func (tx *Tx) ReadPlace(r *models.StandRecord, from models.Date) error {
	r.PlaceClosures, r.NestChecks = nil, nil
	return tx.fillPlaces([]*models.StandRecord{r}, field{r.ID: r}, []string{r.ID}, from)
}

// Places are the names of places as the stands spell them, to suggest one from.
func (tx *Tx) Places() ([]string, error) {
	names := []string{}
	err := tx.db.Table("stands").Distinct("place").Where("place <> ''").Order("place").Limit(mostNames).Pluck("place", &names).Error
	return names, explain("read the names of places", err)
}

// AddPlaceClosures writes a version of the closures of a place.
func (tx *Tx) AddPlaceClosures(c models.PlaceClosureVersion) error {
	if c.Closures == nil {
		c.Closures = []models.Closure{}
	}
	return tx.add("add closures of "+c.Place, "place_closures", &c)
}

// PlaceClosures are the versions of the closures of a place, in the order they were
// entered.
func (tx *Tx) PlaceClosures(placeKey string) ([]models.PlaceClosureVersion, error) {
	return find[models.PlaceClosureVersion]("read the closures of "+placeKey,
		tx.entered("place_closures", tx.db.Table("place_closures").Where("place_key = ?", placeKey)).Order("id"))
}

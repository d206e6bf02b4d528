package store

import "withybed/models"

// AddRests writes rests of stands. One that does not say when it was first set was
// set when it was entered.
func (tx *Tx) AddRests(rests []models.Rest) error {
	for i := range rests {
		if rests[i].SetAt.IsZero() {
			rests[i].SetAt = rests[i].EnteredAt
		}
	}
	return addAll(tx, "add rests", "rests", rests)
}

// Rests lists the rests of a stand, the latest entered first, whether they stand or
// were replaced or voided.
func (tx *Tx) Rests(standID string, page models.Page) (models.List[models.Rest], error) {
	return keptOf(tx, "rests", standID, page, func(r models.Rest) string { return r.ID })
}

// AddSalvage writes a salvage of a stand.
func (tx *Tx) AddSalvage(s models.SalvagePeriod) error {
	return tx.add("add salvage "+s.ID, "salvages", &s)
}

// Salvages lists the salvages of a stand, the latest entered first, whether they stand
// or were voided.
func (tx *Tx) Salvages(standID string, page models.Page) (models.List[models.SalvagePeriod], error) {
	return keptOf(tx, "salvages", standID, page, func(s models.SalvagePeriod) string { return s.ID })
}

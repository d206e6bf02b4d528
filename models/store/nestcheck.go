package store

import "withybed/models"

// AddNestCheck writes a look for nests.
func (tx *Tx) AddNestCheck(l models.NestLook) error {
	return tx.add("add a look for nests "+l.ID, "nest_checks", &l)
}

// NestChecks lists the looks for nests at a stand and at the whole of its place, the
// latest entered first, whether they stand or were voided.
func (tx *Tx) NestChecks(standID, placeKey string, page models.Page) (models.List[models.NestLook], error) {
	where := tx.db.Where("nest_checks.stand_id = ?", standID)
	if placeKey != "" {
		where = where.Or("nest_checks.stand_id IS NULL AND nest_checks.place_key = ?", placeKey)
	}
	return keptWhere(tx, "nest_checks", where, page, func(l models.NestLook) string { return l.ID })
}

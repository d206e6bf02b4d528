package store

import "withybed/models"

// AddChange writes a line of the record of changes. Lines are never changed.
func (tx *Tx) AddChange(c models.Change) error {
	return tx.add("keep what was changed", "changes", &c)
}

// Changes lists the record of changes, the newest line first; of one maker alone
// if madeBy is not empty.
func (tx *Tx) Changes(madeBy string, page models.Page) (models.List[models.Change], error) {
	after, going, err := oneKey("changes", page)
	if err != nil {
		return models.List[models.Change]{}, err
	}
	query := tx.db.Table("changes").Order("id DESC").Limit(page.Size() + 1)
	if madeBy != "" {
		query = query.Where("made_by = ?", madeBy)
	}
	if going {
		query = query.Where("id < ?", after)
	}
	rows, err := find[models.Change]("list the changes", query)
	return pageOf(rows, page, func(c models.Change) string { return cursorOf("changes", c.ID) }), err
}

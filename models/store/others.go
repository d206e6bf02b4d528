package store

import "withybed/models"

// AddOthersCut writes a cut of others; its entry of the ledger is there before it.
func (tx *Tx) AddOthersCut(c models.OthersCut) error {
	return tx.add("add a cut of others "+c.ID, "others_cuts", &c)
}

// OthersCuts lists the cuts of others from a stand, the latest entered first.
func (tx *Tx) OthersCuts(standID string, page models.Page) (models.List[models.OthersCut], error) {
	after, going, err := oneKey("others_cuts", page)
	if err != nil {
		return models.List[models.OthersCut]{}, err
	}
	query := tx.db.Table("others_cuts").Where("stand_id = ?", standID).Order("id DESC").Limit(page.Size() + 1)
	if going {
		query = query.Where("id < ?", after)
	}
	rows, err := find[models.OthersCut]("list the cuts of others from stand "+standID, query)
	return pageOf(rows, page, func(c models.OthersCut) string { return cursorOf("others_cuts", c.ID) }), err
}

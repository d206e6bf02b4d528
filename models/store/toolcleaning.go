package store

import "withybed/models"

// AddToolCleaning writes tools and boots cleaned before a stand was entered.
func (tx *Tx) AddToolCleaning(c models.ToolCleaning) error {
	return tx.add("add a cleaning "+c.ID, "tool_cleanings", &c)
}

// ToolCleaning is a cleaning at a stand, or ErrNoRow.
func (tx *Tx) ToolCleaning(standID, id string) (models.ToolCleaning, error) {
	return take[models.ToolCleaning]("read cleaning "+id, tx.db.Table("tool_cleanings").Where("stand_id = ? AND id = ?", standID, id))
}

// ToolCleanings lists the cleanings at a stand, the latest entered first, whether they
// stand or were voided.
func (tx *Tx) ToolCleanings(standID string, page models.Page) (models.List[models.ToolCleaning], error) {
	return keptOf(tx, "tool_cleanings", standID, page, func(c models.ToolCleaning) string { return c.ID })
}

// LastToolCleaning is the latest cleaning that stands at each of some stands on or before
// a day, by the stand's id; of one day the later entered counts. A stand without one has
// none.
func (tx *Tx) LastToolCleaning(standIDs []string, upTo models.Date) (map[string]models.ToolCleaning, error) {
	last := map[string]models.ToolCleaning{}
	if len(standIDs) == 0 {
		return last, nil
	}
	later := tx.standing("later", tx.db.Table("tool_cleanings AS later")).Select("1").
		Where("later.stand_id = tool_cleanings.stand_id AND later.cleaned_on <= ?", upTo).
		Where("(later.cleaned_on, later.id) > (tool_cleanings.cleaned_on, tool_cleanings.id)")
	rows, err := find[models.ToolCleaning]("read the latest cleanings", tx.standing("tool_cleanings", tx.db.Table("tool_cleanings")).
		Where("stand_id IN (?) AND cleaned_on <= ?", standIDs, upTo).Where("NOT EXISTS (?)", later))
	for _, row := range rows {
		last[row.StandID] = row
	}
	return last, err
}

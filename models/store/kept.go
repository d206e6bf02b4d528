package store

import (
	"gorm.io/gorm"

	"withybed/models"
)

// keptOf lists the rows of a stand in a table, the latest entered first, whether they
// stand or were replaced or voided.
func keptOf[T any](tx *Tx, table, standID string, page models.Page, id func(T) string) (models.List[T], error) {
	return keptWhere(tx, table, tx.db.Where(table+".stand_id = ?", standID), page, id)
}

func keptWhere[T any](tx *Tx, table string, where *gorm.DB, page models.Page, id func(T) string) (models.List[T], error) {
	after, going, err := oneKey(table, page)
	if err != nil {
		return models.List[T]{}, err
	}
	query := tx.db.Table(table).Where(where).Order(table + ".id DESC").Limit(page.Size() + 1)
	if going {
		query = query.Where(table+".id < ?", after)
	}
	rows, err := find[T]("list "+table, query)
	return pageOf(rows, page, func(row T) string { return cursorOf(table, id(row)) }), err
}

package store

import (
	"gorm.io/gorm"

	"withybed/models"
)

// AddParents writes what batches took of tagged plants.
func (tx *Tx) AddParents(tallies []models.ParentTally) error {
	return addAll(tx, "add parents", "parent_tallies", tallies)
}

// ParentTallies are what batches took of the tagged plants of a stand from one day to
// another, both included, in order of day, then of entry.
func (tx *Tx) ParentTallies(standID string, from, to models.Date) ([]models.ParentTally, error) {
	return find[models.ParentTally]("read the parents of stand "+standID, tx.standingParents().
		Where("stand_id = ? AND taken_on BETWEEN ? AND ?", standID, from, to).Order("taken_on, id"))
}

// standingParents are what batches took of tagged plants, but for what was written anew
// by the instant asked about.
func (tx *Tx) standingParents() *gorm.DB {
	query := tx.entered("parent_tallies", tx.db.Table("parent_tallies"))
	if tx.known.IsZero() {
		return query.Where("replaced_at IS NULL")
	}
	return query.Where("replaced_at IS NULL OR replaced_at > ?", tx.known)
}

// BatchStems are the stems that batches took of a stand from one day to another, both
// included, with what corrections made of them.
func (tx *Tx) BatchStems(standID string, from, to models.Date) (int, error) {
	stems := 0
	err := tx.entered("ledger", tx.db.Table("ledger")).Select("COALESCE(SUM(stems), 0)").
		Where("stand_id = ? AND taken_on BETWEEN ? AND ? AND batch_id IS NOT NULL AND share_id IS NULL", standID, from, to).Scan(&stems).Error
	return stems, explain("sum what batches took of stand "+standID, err)
}

package store

import (
	"fmt"
	"time"

	"gorm.io/gorm"

	"withybed/models"
)

// CutOfBatch is the code, as compared, of the stand of a batch and the day it was cut,
// or ErrNoRow. They are read where the stand has to be locked before the batch, and
// have to be looked at again after.
func (tx *Tx) CutOfBatch(codeKey string) (standCodeKey string, on models.Date, err error) {
	type cut struct {
		CodeKey     string
		CollectedOn models.Date
	}
	row, err := take[cut]("read the cut of batch "+codeKey, tx.db.Table("batches").Select("stands.code_key, batches.collected_on").
		Joins("JOIN stands ON stands.id = batches.stand_id").Where("batches.code_key = ?", codeKey))
	return row.CodeKey, row.CollectedOn, err
}

// Family is a batch with all that are of one harvest with it, in the order they were
// entered: the first holds the stems. In a write all are held until the transaction
// ends. There is none where there is no such batch.
func (tx *Tx) Family(codeKey string) ([]*models.BatchRecord, error) {
	const harvest = "harvest_id = (SELECT harvest_id FROM batches WHERE code_key = ?)"
	if err := tx.lockRows("lock the family of batch "+codeKey, "batches", harvest, codeKey); err != nil {
		return nil, err
	}
	rows, err := find[batchRow]("read the family of batch "+codeKey, tx.batchRows().Where("batches."+harvest, codeKey).Order("batches.id"))
	if err != nil {
		return nil, err
	}
	ids := make([]string, len(rows))
	for i, row := range rows {
		ids[i] = row.ID
	}
	return tx.fillBatches(rows, ids)
}

// EditBatch writes everything of a batch but its identifier, its code and its place
// among its sisters. Its Version is the one that was read, and is counted up. It is
// ErrStale if something was entered meanwhile; a tag or number that is taken is a
// Duplicate.
func (tx *Tx) EditBatch(r *models.BatchRecord) error {
	op := "edit batch " + r.Code
	row := endingBatch{r.Batch, endOf(r)}
	row.Version++
	done := tx.db.Table("batches").Where("id = ? AND version = ?", r.ID, r.Version).
		Select("*").Omit("id", "code", "code_key", "harvest_id", "split_from_id", "entered_at").Updates(&row)
	return changedOne(op, done)
}

// changedOne is ErrStale unless a statement changed a row.
func changedOne(op string, done *gorm.DB) error {
	if done.Error != nil {
		return explain(op, done.Error)
	}
	if done.RowsAffected == 0 {
		return fmt.Errorf("%s: %w", op, ErrStale)
	}
	return nil
}

// SpendNumber keeps a number of a stand and year from being given again, since a code
// was made of it.
func (tx *Tx) SpendNumber(standID string, year, number int) error {
	const spend = "INSERT INTO spent_numbers (stand_id, year, number) VALUES (?, ?, ?) ON CONFLICT DO NOTHING"
	return explain("spend a number of stand "+standID, tx.db.Exec(spend, standID, year, number).Error)
}

// ReplaceParents notes at an instant that what batches took of tagged plants is
// written anew, or never was taken.
func (tx *Tx) ReplaceParents(batchID string, at time.Time) error {
	const replace = "UPDATE parent_tallies SET replaced_at = ? WHERE batch_id = ? AND replaced_at IS NULL"
	return explain("replace the parents of batch "+batchID, tx.db.Exec(replace, at.UTC(), batchID).Error)
}

// LedgerOfBatch is all that stands on ledgers about a batch, in the order of entry.
func (tx *Tx) LedgerOfBatch(batchID string) ([]models.LedgerEntry, error) {
	return find[models.LedgerEntry]("read the ledger of batch "+batchID, tx.db.Table("ledger").Where("batch_id = ?", batchID).Order("id"))
}

// AddDetermination writes that a batch was named anew.
func (tx *Tx) AddDetermination(d models.Determination) error {
	return tx.add("add a determination of batch "+d.BatchID, "determinations", &d)
}

package store

import (
	"slices"

	"gorm.io/gorm/clause"

	"withybed/models"
)

// StandingFlags are the flags that were raised and not cleared, by batch.
func (tx *Tx) StandingFlags() ([]models.FlagSpan, error) {
	return find[models.FlagSpan]("read the standing flags",
		tx.db.Table("flag_spans").Where("cleared_on IS NULL").Order("batch_id, flag, id"))
}

// RaiseFlags writes flags. One that was raised on the same day before is left
// as it is.
func (tx *Tx) RaiseFlags(flags []models.FlagSpan) error {
	for some := range slices.Chunk(flags, batchOfRows) {
		err := tx.db.Table("flag_spans").Clauses(clause.OnConflict{DoNothing: true}).Create(&some).Error
		if err != nil {
			return explain("raise flags", err)
		}
	}
	return nil
}

// ClearFlags ends standing flags on a day.
func (tx *Tx) ClearFlags(ids []string, on models.Date) error {
	for some := range slices.Chunk(ids, batchOfRows) {
		err := tx.db.Exec("UPDATE flag_spans SET cleared_on = ? WHERE id IN (?) AND cleared_on IS NULL", on, some).Error
		if err != nil {
			return explain("clear flags", err)
		}
	}
	return nil
}

// FlagHistory is every flag of a batch, in order of day.
func (tx *Tx) FlagHistory(batchID string) ([]models.FlagSpan, error) {
	return find[models.FlagSpan]("read the flags of batch "+batchID,
		tx.db.Table("flag_spans").Where("batch_id = ?", batchID).Order("raised_on, id"))
}

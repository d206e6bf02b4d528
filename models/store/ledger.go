package store

import "withybed/models"

// AddLedgerEntries writes lines of ledgers. Lines are never changed.
func (tx *Tx) AddLedgerEntries(entries []models.LedgerEntry) error {
	return addAll(tx, "add to the ledger", "ledger", entries)
}

// LedgerLines lists the ledger of a stand, the newest entry first.
func (tx *Tx) LedgerLines(standID string, page models.Page) (models.List[models.LedgerLine], error) {
	after, going, err := oneKey("ledger", page)
	if err != nil {
		return models.List[models.LedgerLine]{}, err
	}
	query := tx.db.Table("ledger").Select(columnsOf[models.LedgerEntry](tx, "ledger")+", COALESCE(batches.code, '') AS batch").
		Joins("LEFT JOIN batches ON batches.id = ledger.batch_id").
		Where("ledger.stand_id = ?", standID).Order("ledger.id DESC").Limit(page.Size() + 1)
	if query = tx.entered("ledger", query); going {
		query = query.Where("ledger.id < ?", after)
	}
	rows, err := find[models.LedgerLine]("list the ledger of stand "+standID, query)
	return pageOf(rows, page, func(l models.LedgerLine) string { return cursorOf("ledger", l.ID) }), err
}

// LedgerBySeason sums what was really taken of a stand by day, in order of day: not
// what was only set aside. A batch counts on a day while stems of it are left there: one
// that was moved to another day counts on that, and one that is void on none.
func (tx *Tx) LedgerBySeason(standID string) ([]models.CutDay, error) {
	byBatch := tx.entered("ledger", tx.db.Table("ledger")).
		Select(`taken_on, SUM(stems) AS stems, SUM(parents) AS parents,
			CASE WHEN batch_id IS NOT NULL AND SUM(stems) > 0 THEN 1 ELSE 0 END AS batches`).
		Where("stand_id = ? AND share_id IS NULL", standID).Group("taken_on, batch_id")
	return find[models.CutDay]("sum the ledger of stand "+standID, tx.db.Table("(?) AS by_batch", byBatch).
		Select("taken_on, SUM(stems) AS stems, SUM(parents) AS parents, SUM(batches) AS batches").
		Group("taken_on").Order("taken_on"))
}

type standDay struct {
	StandID string
	models.LedgerDay
}

// ledgerDays sums the ledgers of stands by day, for the days after one; days
// whose sums are both zero are left out.
func (tx *Tx) ledgerDays(standIDs []string, after models.Date) ([]standDay, error) {
	return find[standDay]("sum the ledgers", tx.entered("ledger", tx.db.Table("ledger").
		Select("stand_id, taken_on, SUM(stems) AS stems, SUM(parents) AS parents").
		Where("stand_id IN (?) AND taken_on > ?", standIDs, after)).
		Group("stand_id, taken_on").Having("SUM(stems) <> 0 OR SUM(parents) <> 0").
		Order("stand_id, taken_on"))
}

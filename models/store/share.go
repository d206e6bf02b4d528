package store

import "withybed/models"

// AddShare writes a crew share; its first entry of the ledger comes after it.
func (tx *Tx) AddShare(s models.Share) error {
	return tx.add("add crew share "+s.ID, "crew_shares", &s)
}

// EndShares notes of crew shares that nothing of them is set aside from a day on.
func (tx *Tx) EndShares(ids []string, on models.Date) error {
	if len(ids) == 0 {
		return nil
	}
	return explain("end crew shares", tx.db.Exec("UPDATE crew_shares SET ended_on = ? WHERE id IN (?) AND ended_on IS NULL", on, ids).Error)
}

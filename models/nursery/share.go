package nursery

import (
	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// release gives back to stands that are held what is left of the crew shares that are
// over, and writes it down.
func (n *Nursery) release(tx *store.Tx, now moment, stands ...*models.StandRecord) error {
	var ended []string
	var entries []models.LedgerEntry
	for _, stand := range stands {
		for _, entry := range rules.ReleaseShares(stand, now.today) {
			entry.ID, entry.EnteredAt = n.newID(), now.at
			ended, entries = append(ended, *entry.ShareID), append(entries, entry)
		}
	}
	if err := tx.EndShares(ended, now.today); err != nil {
		return err
	}
	return tx.AddLedgerEntries(entries)
}

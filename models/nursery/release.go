package nursery

import (
	"slices"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// releases are the crew shares found to be over on stands that a write holds. They are
// written beside its deed, since it judges as if they were.
type releases struct {
	newID   func() string
	over    []models.Share
	entries []models.LedgerEntry
}

// release gives back to stands what is left of the crew shares that are over. In a
// write it is written down with the deed, and the stands have to be held.
func (m *moment) release(stands ...*models.StandRecord) {
	for _, stand := range stands {
		over, entries := rules.ReleaseShares(stand, m.today)
		if m.releases != nil {
			m.releases.note(m, over, entries)
		}
	}
}

// note keeps each share once: a stand may be read twice in one write.
func (r *releases) note(m *moment, over []models.Share, entries []models.LedgerEntry) {
	known := r.over
	noted := func(id string) bool {
		return slices.ContainsFunc(known, func(s models.Share) bool { return s.ID == id })
	}
	for _, s := range over {
		if !noted(s.ID) {
			r.over = append(r.over, s)
		}
	}
	for _, entry := range entries {
		if !noted(*entry.ShareID) {
			entry.ID, entry.EnteredAt = r.newID(), m.at
			r.entries = append(r.entries, entry)
		}
	}
}

func (r *releases) write(tx *store.Tx) error {
	for _, s := range r.over {
		if err := tx.EndShare(s.ID, s.EndedOn); err != nil {
			return err
		}
	}
	return tx.AddLedgerEntries(r.entries)
}

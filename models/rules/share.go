package rules

import (
	"fmt"

	"withybed/models"
)

// shareGrace is for how many days after its last day a crew share is held still, so
// that a crew out of signal can log what it cut.
const shareGrace = 7

// ShareOver says that what is left of a crew share is released: its last day is more
// than seven days past.
func ShareOver(s *models.Share, today models.Date) bool { return today.Sub(s.ToDay) > shareGrace }

// heldIn is what a cut draws on its share of the stems counted in the window that
// ends on a day: these are counted there already.
func (h *history) heldIn(cut Cut, day models.Date) int {
	if cut.Share == nil {
		return 0
	}
	from := cut.Share.FromDay
	if from.After(day) || !from.After(day.Add(-h.ruleOn(day).WindowDays)) {
		return 0
	}
	return min(cut.Stems, cut.Share.Left)
}

// ReleaseShares gives back to a stand what is left of the crew shares that are over,
// and answers the entries its ledger is to have for it, without identifiers and time
// of entry.
func ReleaseShares(stand *models.StandRecord, today models.Date) []models.LedgerEntry {
	var entries []models.LedgerEntry
	var open []models.OpenShare
	for _, s := range stand.Shares {
		if !ShareOver(&s.Share, today) {
			open = append(open, s)
			continue
		}
		entry := GiveBack(&s, models.ShareReleased, "released: the crew share of "+s.Crew+" is over")
		entries = append(entries, entry)
		stand.Ledger = WithStems(stand.Ledger, models.LedgerDay{TakenOn: entry.TakenOn, Stems: entry.Stems, Parents: entry.Parents})
	}
	stand.Shares = open
	return entries
}

// GiveBack is the entry of a ledger by which all that is left of a crew share is set
// aside no more.
func GiveBack(s *models.OpenShare, kind models.LedgerKind, why string) models.LedgerEntry {
	return models.LedgerEntry{
		StandID: s.StandID, ShareID: &s.ID, Kind: kind, TakenOn: s.FromDay,
		Stems: -s.Left, Parents: -s.LeftParents, Why: why,
	}
}

// namedShare is the crew share that a batch is taken from, among those of its stand
// that are held still.
func (h *history) namedShare(f *models.Faults, req *models.NewBatch) *models.OpenShare {
	id := models.Clean(req.Share)
	if id == "" {
		return nil
	}
	for i := range h.Shares {
		s := &h.Shares[i]
		if s.ID != id {
			continue
		}
		if req.CollectedOn.Before(s.FromDay) || req.CollectedOn.After(s.ToDay) {
			f.Add("share-misfit", "collected_on", req.CollectedOn, "is %s, and the share of %s is for %s to %s", req.CollectedOn, s.Crew, s.FromDay, s.ToDay)
		}
		return s
	}
	f.Add("share-misfit", "share", id, "is %q, and nothing is set aside under it at %s now: it is used up, returned or released, or of another stand", id, h.Code)
	return nil
}

// beyondShare says by how much a cut goes beyond the crew share it is taken from, or
// is empty.
func beyondShare(cut Cut) string {
	if cut.Share == nil || cut.Stems <= cut.Share.Left {
		return ""
	}
	return fmt.Sprintf("%s %s cut on the share of %s, which had %d left: %d more than were set aside",
		models.Counted(cut.Stems, "stem"), models.Were(cut.Stems), cut.Share.Crew, cut.Share.Left, cut.Stems-cut.Share.Left)
}

// DrawShare is the entry of a ledger by which a batch takes the place of what was
// set aside for it.
func DrawShare(s *models.OpenShare, batch *models.Batch) models.LedgerEntry {
	parents := 0
	if batch.ParentPlants != nil {
		parents = min(*batch.ParentPlants, s.LeftParents)
	}
	stems := min(batch.StemsCut, s.Left)
	if stems == s.Left {
		parents = s.LeftParents
	}
	return models.LedgerEntry{
		StandID: s.StandID, ShareID: &s.ID, BatchID: &batch.ID, Kind: models.ShareDrawn, TakenOn: s.FromDay,
		Stems: -stems, Parents: -parents, EnteredBy: batch.CollectedBy, Why: "drawn on the crew share of " + s.Crew,
	}
}

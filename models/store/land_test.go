package store_test

import (
	"testing"
	"time"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// The entries of the days come with what their batches and the entries they correct
// say; counts and disturbances that count no more come with when that was entered.
func TestLandRecords(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 3)
		here, paper := stands[0], permit(1, stands[0])
		b := batch(1, here, "2026-01-17")
		b.PermitID = &paper.ID
		others := othersEntry("l-02", here)
		void := models.LedgerEntry{ID: "l-03", StandID: here.ID, Kind: models.Voided, TakenOn: others.TakenOn, Stems: -12, Corrects: &others.ID, Why: "seen wrongly", EnteredAt: entered.Add(time.Hour)}
		early, late := stemsOf("l-04", b, models.Cut, 5), stemsOf("l-05", b, models.Cut, 6)
		early.TakenOn, late.TakenOn = day("2025-12-31"), day("2026-02-01")
		elsewhere := models.LedgerEntry{ID: "l-06", StandID: stands[1].ID, Kind: models.EarlierCut, TakenOn: day("2026-01-31"), Stems: 2, EnteredAt: entered}
		gone, stays, flood := survey(1, here, "2025-09-01"), survey(2, here, "2025-09-01"), disturbance(1, here, "2025-10-01")
		replacedAt := entered.Add(2 * time.Hour)
		corrections := []models.Correction{
			{ID: "c-1", StandID: here.ID, Subject: models.OfSurvey, SubjectID: gone.ID, ReplacedBy: &stays.ID, Before: map[string]any{}, After: map[string]any{}, Why: "misread", EnteredAt: replacedAt},
			{ID: "c-2", StandID: here.ID, Subject: models.OfDisturbance, SubjectID: flood.ID, Void: true, Before: map[string]any{}, After: map[string]any{}, Why: "another stand", EnteredAt: replacedAt},
		}
		cleaned := models.ToolCleaning{ID: "t-1", StandID: here.ID, CleanedOn: day("2026-01-10"), CleanedBy: "RQ", How: "brushed", EnteredAt: entered}
		write(t, s, adding((*store.Tx).AddPermit, paper), adding((*store.Tx).AddBatches, []*models.BatchRecord{{Batch: b}}),
			adding((*store.Tx).AddLedgerEntries, []models.LedgerEntry{stemsOf("l-01", b, models.Cut, 24), others, early, late, elsewhere}),
			adding((*store.Tx).AddLedgerEntries, []models.LedgerEntry{void}),
			adding((*store.Tx).AddSurvey, gone, stays), adding((*store.Tx).AddDisturbance, flood), adding((*store.Tx).AddToolCleaning, cleaned),
			adding((*store.Tx).AddCorrection, corrections...))
		read(t, s, func(tx *store.Tx) error {
			records, err := tx.StandRecords([]string{here.CodeKey, stands[1].CodeKey, stands[2].CodeKey}, day("2026-01-01"))
			if err != nil {
				return err
			}
			got, err := tx.LandRecords(records, day("2026-01-01"), day("2026-01-31"), day("2026-01-31"))
			if err != nil {
				return err
			}
			var ids []string
			for _, r := range got {
				for _, e := range r.Entries {
					ids = append(ids, r.Code+" "+e.ID)
				}
			}
			wantSame(t, "the entries", []string{here.Code + " l-02", here.Code + " l-03", here.Code + " l-01", stands[1].Code + " l-06"}, ids)
			cut := got[0].Entries[2]
			wantSame(t, "what the batch says", []any{b.Code, paper.Number, b.RefusedBy, true, models.LedgerKind("")}, []any{cut.Batch, cut.Permit, cut.RefusedBy, cut.AwaitsReview, cut.CorrectedKind})
			wantSame(t, "what is voided", []any{"", models.Others, false}, []any{got[0].Entries[1].Batch, got[0].Entries[1].CorrectedKind, got[0].Entries[1].AwaitsReview})
			if r := got[0].ReplacedSurveys; len(r) != 1 || r[0].ID != gone.ID || !r[0].ReplacedAt.Equal(replacedAt) || !r[0].EnteredAt.Equal(entered) || r[0].LowerBound != gone.LowerBound || r[0].Counted() != gone.Counted() {
				t.Errorf("the surveys that count no more: %+v", r)
			}
			if r := got[0].ReplacedDisturbances; len(r) != 1 || r[0].ID != flood.ID || !r[0].ReplacedAt.Equal(replacedAt) {
				t.Errorf("the disturbances that count no more: %+v", r)
			}
			wantSame(t, "the cleaning", &cleaned, got[0].Cleaning)
			if got[1].Cleaning != nil || len(got[2].Entries)+len(got[2].ReplacedSurveys) != 0 {
				t.Errorf("elsewhere: %+v, %+v", got[1], got[2])
			}
			none, err := tx.LandRecords(nil, day("2026-01-01"), day("2026-01-31"), day("2026-01-31"))
			wantSame(t, "of no stand", 0, len(none))
			return err
		}, func(tx *store.Tx) error {
			names, err := tx.LandManagers()
			wantSame(t, "the land managers", []string{here.LandManager}, names)
			return err
		})
	})
}

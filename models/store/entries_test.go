package store_test

import (
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// addEntries gives a batch one entry of each kind, two of some, and a sister.
func addEntries(t *testing.T, s *store.Store, b, sister models.Batch) {
	t.Helper()
	write(t, s,
		adding((*store.Tx).AddMove, move(b)),
		adding((*store.Tx).AddSticking, sticking(b)),
		adding((*store.Tx).AddCheck, check(2, b), check(1, b)),
		adding((*store.Tx).AddSplit, split(b, sister)),
		adding((*store.Tx).AddPotting, potting(b)),
		adding((*store.Tx).AddDecision, decision(b)),
		adding((*store.Tx).AddReview, review(b)))
}

func TestABatchComesBackWithItsEntriesInOrder(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		kind, stands := seed(t, s, 1)
		here, sister, beside := batch(1, stands[0], "2026-01-17"), batch(2, stands[0], "2026-01-17"), batch(3, stands[0], "2026-01-17")
		far := batch(4, stands[0], "2026-01-17")
		write(t, s, adding((*store.Tx).AddBatch, here, sister, beside, far))
		addEntries(t, s, here, sister)
		addEntries(t, s, beside, far)
		st := sticking(here)
		want := &models.BatchRecord{
			Batch: here, Stand: stands[0].Code, Taxon: kind, Sticking: &st,
			Moves: []models.Move{move(here)}, Splits: []models.Split{split(here, sister)},
			Checks: []models.Check{check(1, here), check(2, here)}, Pottings: []models.Potting{potting(here)},
			Decisions: []models.Decision{decision(here)}, Reviews: []models.Review{review(here)},
		}
		wantFull(t, st)
		wantFull(t, st.Tray)
		wantFull(t, want.Moves[0])
		wantFull(t, want.Splits[0], "Treatment")
		wantFull(t, want.Checks[0])
		wantFull(t, want.Pottings[0])
		wantFull(t, want.Decisions[0])
		wantFull(t, want.Reviews[0])
		wantSame(t, "the batch", want, batchRecord(t, s, here.CodeKey))
		wantEveryBatch(t, s, models.BatchFilter{}, []string{far.Code, beside.Code, sister.Code, here.Code})
	})
}

func TestBareEntriesComeBackAsTheyWere(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		kind, stands := seed(t, s, 1)
		b, sister := batch(1, stands[0], "2026-01-17"), batch(2, stands[0], "2026-01-17")
		on := day("2026-01-18")
		want := &models.BatchRecord{
			Batch: b, Stand: stands[0].Code, Taxon: kind,
			Sticking: &models.Sticking{BatchID: b.ID, StuckOn: on, Label: models.NoTreatment, EnteredAt: entered},
			Moves:    []models.Move{{ID: "m", BatchID: b.ID, MovedOn: on, EnteredAt: entered}},
			Splits:   []models.Split{{ID: "s", BatchID: b.ID, SisterID: sister.ID, Sister: sister.Code, SplitOn: on, EnteredAt: entered}},
			Checks: []models.Check{
				{ID: "c", BatchID: b.ID, CheckedOn: on, EnteredAt: entered},
				{ID: "d", BatchID: b.ID, CheckedOn: on, Rooted: ptr(0), Lost: models.Losses{}, LostRooted: models.Losses{}, Entry: 1, EnteredAt: entered},
			},
			Pottings:  []models.Potting{{ID: "p", BatchID: b.ID, PottedOn: on, EnteredAt: entered}},
			Decisions: []models.Decision{{ID: "x", BatchID: b.ID, DecidedOn: on, EnteredAt: entered}},
			Reviews:   []models.Review{{ID: "r", BatchID: b.ID, EnteredAt: entered}},
		}
		write(t, s,
			adding((*store.Tx).AddBatch, b, sister),
			adding((*store.Tx).AddSticking, *want.Sticking), adding((*store.Tx).AddMove, want.Moves...),
			adding((*store.Tx).AddSplit, want.Splits...), adding((*store.Tx).AddCheck, want.Checks...),
			adding((*store.Tx).AddPotting, want.Pottings...), adding((*store.Tx).AddDecision, want.Decisions...),
			adding((*store.Tx).AddReview, want.Reviews...))
		wantSame(t, "the batch", want, batchRecord(t, s, b.CodeKey))
	})
}

func TestBottomHeatAndTreatmentComeBackAsTheyWere(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		for n, tray := range []models.Tray{
			{BottomHeat: &models.BottomHeat{Recorded: true}},
			{BottomHeat: &models.BottomHeat{Recorded: true, Heated: true}},
			{BottomHeat: &models.BottomHeat{Recorded: true, Heated: true, Celsius: 20}},
			{Treatment: &models.Treatment{}},
			{Treatment: &models.Treatment{Name: "split heel “½”"}},
			{Treatment: &models.Treatment{AuxinPercent: ptr(0.3), WillowWaterGPerL: ptr(100.0), WillowWaterHours: ptr(24.5)}},
		} {
			b := batch(n+1, stands[0], "2026-01-17")
			want := models.Sticking{BatchID: b.ID, StuckOn: day("2026-01-18"), Count: 1, Tray: tray, Label: tray.TreatmentLabel(), EnteredAt: entered}
			write(t, s, adding((*store.Tx).AddBatch, b), adding((*store.Tx).AddSticking, want))
			wantSame(t, "the sticking", &want, batchRecord(t, s, b.CodeKey).Sticking)
		}
	})
}

func TestASplitTellsTheSistersTreatmentOnceSheIsStuck(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		b, waiting, control, treated := batch(1, stands[0], "2026-01-17"), batch(2, stands[0], "2026-01-17"), batch(3, stands[0], "2026-01-17"), batch(4, stands[0], "2026-01-17")
		untreated := sticking(control)
		untreated.Treatment = nil
		last := split(b, control) // with an id before that of treated
		last.Entry = 9
		write(t, s, adding((*store.Tx).AddBatch, b, waiting, control, treated),
			adding((*store.Tx).AddSticking, untreated, sticking(treated)),
			adding((*store.Tx).AddSplit, last, split(b, treated), split(b, waiting)))
		var got []string
		for _, split := range batchRecord(t, s, b.CodeKey).Splits {
			got = append(got, split.Sister+": "+split.Treatment)
		}
		wantSame(t, "the treatments", []string{
			waiting.Code + ": ", treated.Code + ": " + tray().TreatmentLabel(), control.Code + ": " + models.NoTreatment,
		}, got)
	})
}

func TestSecondEntriesThatCannotBeAreDuplicates(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		b, sister := batch(1, stands[0], "2026-01-17"), batch(2, stands[0], "2026-01-17")
		write(t, s, adding((*store.Tx).AddBatch, b, sister))
		addEntries(t, s, b, sister)
		if err := s.Write(background, adding((*store.Tx).AddSticking, sticking(b))); !store.IsDuplicate(err, "stickings_pkey") {
			t.Errorf("a second sticking says %v", err)
		}
		again := split(b, sister)
		again.ID = "another"
		if err := s.Write(background, adding((*store.Tx).AddSplit, again)); !store.IsDuplicate(err, "splits_sister_key") {
			t.Errorf("a second split of a sister says %v", err)
		}
	})
}

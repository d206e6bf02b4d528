package store_test

import (
	"errors"
	"testing"
	"time"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func correction(n string, b models.Batch, change ...func(*models.Correction)) models.Correction {
	c := models.Correction{
		ID: "correction-" + n, StandID: b.StandID, BatchID: &b.ID, Subject: models.OfCheck, SubjectID: "check", Void: true, ReplacedBy: ptr("another"),
		Before: map[string]any{"rooted": 31.0, "lost": map[string]any{"mould": 2.0}, "note": "«Ö»"}, After: map[string]any{"rooted": nil},
		Why: "entered twice", CorrectedBy: "OP", AboutEntry: 3, Entry: 9, EnteredAt: entered,
	}
	for _, each := range change {
		each(&c)
	}
	return c
}

func TestABatchComesBackWithWhatWasCorrectedOfIt(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		kind, stands := seed(t, s, 1)
		other := taxon(2)
		b := batch(1, stands[0], "2026-01-17")
		named := models.Determination{
			ID: "d-1", BatchID: b.ID, TaxonID: other.ID, BeforeID: kind.ID, Taxon: other.ScientificName, Before: kind.ScientificName, Qualifier: models.Compare,
			DeterminedOn: day("2026-02-01"), DeterminedBy: "OP", Note: "buds «Ö»", Entry: 4, EnteredAt: entered,
		}
		first, later := correction("1", b), correction("2", b, func(c *models.Correction) { c.Entry = 10 })
		wantFull(t, first)
		wantFull(t, named)
		write(t, s, adding((*store.Tx).AddTaxon, other), adding((*store.Tx).AddBatch, b),
			adding((*store.Tx).AddCorrection, later, first), adding((*store.Tx).AddDetermination, named))
		got := batchRecord(t, s, b.CodeKey)
		wantSame(t, "the corrections", []models.Correction{first, later}, got.Corrections)
		wantSame(t, "the determinations", []models.Determination{named}, got.Determinations)
	})
}

// Every entry is written in place of what it said, and one that is void is read no more;
// the sticking of a batch may then be another.
func TestEntriesAreWrittenAnewAndTakenOut(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		b, sister := batch(1, stands[0], "2026-01-17"), batch(2, stands[0], "2026-01-17")
		write(t, s, adding((*store.Tx).AddBatch, b, sister))
		addEntries(t, s, b, sister)
		was := batchRecord(t, s, b.CodeKey)
		stuck, moved, looked, potted, decided := *was.Sticking, was.Moves[0], was.Checks[0], was.Pottings[0], was.Decisions[0]
		stuck.Count, stuck.Treatment, stuck.BottomHeat, stuck.Mist, stuck.Label = 59, nil, nil, false, models.NoTreatment
		moved.To, moved.Cause = models.ToLost, models.Frost
		looked.Rooted, looked.Lost, looked.LostRooted, looked.Withdrawn, looked.Note = nil, models.Losses{models.Mould: 2}, nil, 0, ""
		potted.Count, potted.Bench = 17, ""
		decided.Action, decided.UntilDay = models.CloseBatch, models.Date{}
		write(t, s, adding((*store.Tx).EditSticking, stuck), adding((*store.Tx).EditMove, moved), adding((*store.Tx).EditCheck, looked),
			adding((*store.Tx).EditPotting, potted), adding((*store.Tx).EditDecision, decided),
			func(tx *store.Tx) error { return tx.CountSplit(was.Splits[0].ID, 7) })
		got := batchRecord(t, s, b.CodeKey)
		wantSame(t, "the sticking", &stuck, got.Sticking)
		wantSame(t, "the move", moved, got.Moves[0])
		wantSame(t, "the checks", []models.Check{looked, was.Checks[1]}, got.Checks)
		wantSame(t, "the potting", potted, got.Pottings[0])
		wantSame(t, "the decision", decided, got.Decisions[0])
		if got.Splits[0].Count != 7 {
			t.Errorf("the split is %+v", got.Splits[0])
		}
		for subject, id := range map[models.Subject]string{
			models.OfSticking: b.ID, models.OfMove: moved.ID, models.OfSplit: was.Splits[0].ID, models.OfCheck: looked.ID,
			models.OfPotting: potted.ID, models.OfDecision: decided.ID,
		} {
			write(t, s, func(tx *store.Tx) error { return tx.VoidEntry(subject, id) })
			if err := s.Write(background, func(tx *store.Tx) error { return tx.VoidEntry(subject, "nowhere") }); !errors.Is(err, store.ErrStale) {
				t.Errorf("a missing %s says %v", subject, err)
			}
		}
		if err := s.Write(background, func(tx *store.Tx) error { return tx.VoidEntry(models.OfBatch, b.ID) }); err == nil {
			t.Error("a batch is voided as an entry")
		}
		got = batchRecord(t, s, b.CodeKey)
		if got.Sticking != nil || len(got.Moves)+len(got.Splits)+len(got.Pottings)+len(got.Decisions) != 0 || len(got.Checks) != 1 || len(got.Reviews) != 1 {
			t.Errorf("%+v", got)
		}
		wantEveryBatch(t, s, models.BatchFilter{Bench: "B2"}, nil)
		again := sticking(b)
		again.Count, again.Entry = 12, 30
		write(t, s, adding((*store.Tx).AddSticking, again))
		wantSame(t, "the other sticking", &again, batchRecord(t, s, b.CodeKey).Sticking)
		if err := s.Write(background, adding((*store.Tx).AddSticking, again)); !store.IsDuplicate(err, "stickings_pkey") {
			t.Errorf("a third sticking says %v", err)
		}
		if err := s.Write(background, adding((*store.Tx).EditMove, models.Move{ID: "nowhere", MovedOn: day("2026-01-17"), EnteredAt: entered})); !errors.Is(err, store.ErrStale) {
			t.Errorf("an edit of no move says %v", err)
		}
	})
}

func TestABatchIsWrittenAnew(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 2)
		b := batch(1, stands[0], "2026-01-17")
		write(t, s, adding((*store.Tx).AddBatch, b))
		is := b
		is.StandID, is.Year, is.Number, is.CollectedOn, is.WaitingFrom = stands[1].ID, 2025, 9, day("2025-12-30"), day("2025-12-30")
		is.StemsCut, is.Cuttings, is.ParentPlants, is.RecordNumber, is.LengthCM, is.HarvestFraction = 20, 60, nil, nil, nil, nil
		is.Note, is.AlreadyCut, is.AwaitsReview, is.Qualifier, is.Void, is.Active = "", false, false, models.Affinity, true, false
		write(t, s, adding((*store.Tx).EditBatch, &models.BatchRecord{Batch: is}))
		is.Version++
		wantSame(t, "the batch", is, batchRecord(t, s, b.CodeKey).Batch)
		if err := s.Write(background, adding((*store.Tx).EditBatch, &models.BatchRecord{Batch: b})); !errors.Is(err, store.ErrStale) {
			t.Errorf("an edit of an old version says %v", err)
		}
		renamed := is
		renamed.Code, renamed.CodeKey, renamed.EnteredAt, renamed.HarvestID = "X", "x", entered.Add(time.Hour), "x"
		write(t, s, adding((*store.Tx).EditBatch, &models.BatchRecord{Batch: renamed}))
		is.Version++
		wantSame(t, "the batch that keeps its code", is, batchRecord(t, s, b.CodeKey).Batch)
		other := batch(3, stands[1], "2025-12-30")
		write(t, s, adding((*store.Tx).AddBatch, other))
		is.RecordNumber = other.RecordNumber
		if err := s.Write(background, adding((*store.Tx).EditBatch, &models.BatchRecord{Batch: is})); !store.IsDuplicate(err, "batches_record_number") {
			t.Errorf("a taken tag says %v", err)
		}
	})
}

// A family comes in the order of entry, whichever of it is named, and void batches with it.
func TestTheFamilyOfABatch(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		first, sister, far := batch(1, stands[0], "2026-01-17"), batch(2, stands[0], "2026-01-17"), batch(3, stands[0], "2026-01-17")
		sister.HarvestID, sister.SplitFromID, sister.Void = first.ID, &first.ID, true
		write(t, s, adding((*store.Tx).AddBatch, first, far, sister))
		for _, named := range []models.Batch{first, sister} {
			write(t, s, func(tx *store.Tx) error {
				family, err := tx.Family(named.CodeKey)
				var codes []string
				for _, r := range family {
					codes = append(codes, r.Code)
				}
				wantSame(t, "the family", []string{first.Code, sister.Code}, codes)
				return err
			})
		}
		write(t, s, func(tx *store.Tx) error {
			none, err := tx.Family("nowhere")
			wantSame(t, "the family of none", 0, len(none))
			if _, _, cut := tx.CutOfBatch("nowhere"); !errors.Is(cut, store.ErrNoRow) {
				t.Errorf("the cut of none says %v", cut)
			}
			stand, on, cut := tx.CutOfBatch(far.CodeKey)
			wantSame(t, "the stand of a cut", stands[0].CodeKey, stand)
			wantSame(t, "the day of a cut", day("2026-01-17"), on)
			return errors.Join(err, cut)
		})
	})
}

// A number that was spent is not the next one again.
func TestSpentNumbersAreNotGivenAgain(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		one := stands[0].ID
		spend := func(tx *store.Tx) error {
			return errors.Join(tx.SpendNumber(one, 2026, 8), tx.SpendNumber(one, 2025, 3))
		}
		write(t, s, adding((*store.Tx).AddBatch, batch(5, stands[0], "2026-01-17")), spend, spend)
		read(t, s, func(tx *store.Tx) error {
			got, err := tx.LastBatchNumbers([]string{one}, []int{2025, 2026, 2027})
			wantSame(t, "the last numbers", map[store.StandYear]int{{StandID: one, Year: 2026}: 8, {StandID: one, Year: 2025}: 3}, got)
			return err
		})
	})
}

// A void batch is listed where void ones are asked for, and nowhere else.
func TestVoidBatchesAreLeftOut(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		stands0 := stands[0].ID
		standing, void := batch(1, stands[0], "2026-01-17"), batch(2, stands[0], "2026-01-17")
		void.Void = true
		write(t, s, adding((*store.Tx).AddBatch, standing, void), adding((*store.Tx).AddLedgerEntry, ledgerEntry(1, standing, 24), ledgerEntry(2, void, 24), ledgerEntry(3, void, -24)))
		wantEveryBatch(t, s, models.BatchFilter{}, []string{standing.Code})
		wantEveryBatch(t, s, models.BatchFilter{Active: true}, []string{standing.Code})
		wantEveryBatch(t, s, models.BatchFilter{AwaitsReview: true}, []string{standing.Code})
		wantEveryBatch(t, s, models.BatchFilter{Void: true}, []string{void.Code})
		read(t, s, func(tx *store.Tx) error {
			on, err := tx.BatchRecordsOn(day("2026-02-01"))
			wantSame(t, "the batches of a day", 1, len(on))
			return err
		}, func(tx *store.Tx) error {
			same, err := tx.BatchesOn([]string{stands0}, []models.Date{day("2026-01-17")})
			wantSame(t, "the batches cut on a day", 1, len(same))
			return err
		}, func(tx *store.Tx) error {
			days, err := tx.LedgerBySeason(stands0)
			wantSame(t, "the seasons", []models.CutDay{{LedgerDay: models.LedgerDay{TakenOn: day("2026-01-17"), Stems: 24, Parents: 6}, Batches: 1}}, days)
			return err
		})
	})
}

// What was corrected at a stand comes latest first, of its batches only where they are
// asked for, and says by its subject what stands against a record.
func TestCorrectionsOfAStand(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 2)
		b := batch(1, stands[0], "2026-01-17")
		ofBatch := correction("1", b)
		ofSurvey := correction("2", b, func(c *models.Correction) { c.BatchID, c.Subject, c.SubjectID = nil, models.OfSurvey, "survey" })
		write(t, s, adding((*store.Tx).AddBatch, b), adding((*store.Tx).AddCorrection, ofBatch, ofSurvey))
		read(t, s, func(tx *store.Tx) error {
			all, err := tx.Corrections(stands[0].ID, true, models.Page{})
			wantSame(t, "the corrections", []models.CorrectionView{{Correction: ofSurvey}, {Batch: b.Code, Correction: ofBatch}}, all.Items)
			list := func(p models.Page) (models.List[models.CorrectionView], error) {
				return tx.Corrections(stands[0].ID, true, p)
			}
			wantSame(t, "the pages", []string{ofSurvey.ID, ofBatch.ID}, pages(t, 1, list, func(c models.CorrectionView) string { return c.ID }))
			return err
		}, func(tx *store.Tx) error {
			own, err := tx.Corrections(stands[0].ID, false, models.Page{})
			wantSame(t, "those of the stand itself", []models.CorrectionView{{Correction: ofSurvey}}, own.Items)
			return err
		}, func(tx *store.Tx) error {
			by, err := tx.AmendedBy([]string{"survey", "check", "nothing"})
			wantSame(t, "what stands against records", map[string]models.Correction{"survey": ofSurvey}, by)
			none, err2 := tx.AmendedBy(nil)
			wantSame(t, "what stands against none", 0, len(none))
			return errors.Join(err, err2)
		}, func(tx *store.Tx) error {
			place, err := tx.PlaceOfStand(stands[1].CodeKey)
			wantSame(t, "the place", stands[1].Place, place)
			return err
		})
	})
}

// The plants of a batch are replaced at an instant: before it they are known as they were.
func TestParentsAreReplaced(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		b := batch(1, stands[0], "2026-01-17")
		tally := func(id, tag string, at time.Time) models.ParentTally {
			return models.ParentTally{ID: id, BatchID: b.ID, StandID: b.StandID, TakenOn: b.CollectedOn, TagKey: models.NameKey(tag), Parent: models.Parent{Tag: tag, Stems: 2}, EnteredAt: at}
		}
		then := entered.Add(time.Hour)
		write(t, s, adding((*store.Tx).AddBatch, b), func(tx *store.Tx) error { return tx.AddParents([]models.ParentTally{tally("1", "D-07", entered)}) },
			func(tx *store.Tx) error { return tx.ReplaceParents(b.ID, then) },
			func(tx *store.Tx) error { return tx.AddParents([]models.ParentTally{tally("2", "D-70", then)}) },
			adding((*store.Tx).AddSurvey, survey(1, stands[0], "2025-09-01")), adding((*store.Tx).AddRule, rule(9, stands[0])))
		wantSame(t, "the plants", []models.Parent{{Tag: "D-70", Stems: 2}}, batchRecord(t, s, b.CodeKey).Parents)
		for at, want := range map[time.Time]string{entered: "D-07", then: "D-70"} {
			read(t, s, func(tx *store.Tx) error {
				r, err := tx.AsKnown(at).StandRecord(stands[0].CodeKey, day("2026-01-17"))
				if err == nil && (len(r.Parents) != 1 || r.Parents[0].Tag != want) {
					t.Errorf("at %s the plants are %+v", at, r.Parents)
				}
				return err
			})
		}
	})
}

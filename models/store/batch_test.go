package store_test

import (
	"errors"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func batchRecord(t *testing.T, s *store.Store, codeKey string) (record *models.BatchRecord) {
	t.Helper()
	read(t, s, func(tx *store.Tx) (err error) {
		record, err = tx.BatchRecord(codeKey)
		return err
	})
	return record
}

func TestABatchComesBackAsItWas(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		kind, stands := seed(t, s, 1)
		count := survey(1, stands[0], "2025-09-01")
		first, sister := batch(1, stands[0], "2026-01-17"), batch(2, stands[0], "2026-01-17")
		first.SurveyID, sister.SplitFromID, sister.SurveyID = &count.ID, &first.ID, &count.ID
		sister.HarvestID = first.ID
		permit, share := permit(1, stands[0]), share(1, stands[0])
		sister.PermitID, sister.PermitQuantity, sister.ShareID = &permit.ID, models.MustDecimal("2.5"), &share.ID
		sister.Qualifier, sister.Void = "cf.", true
		wantFull(t, sister, "OverLimit")
		write(t, s, adding((*store.Tx).AddSurvey, count), adding((*store.Tx).AddPermit, permit), adding((*store.Tx).AddShare, share), adding((*store.Tx).AddBatch, first, sister))
		for _, want := range []*models.BatchRecord{
			{Batch: first, Stand: stands[0].Code, Taxon: kind, Survey: count.Brief()},
			{Batch: sister, Stand: stands[0].Code, Taxon: kind, Survey: count.Brief(), SplitFrom: first.Code,
				Permit: permit.Number, PermitUnit: permit.Unit, Crew: share.Crew, HarvestAwaitsReview: true},
		} {
			wantSame(t, "the batch", want, batchRecord(t, s, want.CodeKey))
		}
	})
}

func TestABareBatchComesBackAsItWas(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		kind, stands := seed(t, s, 1)
		bare := models.Batch{
			ID: "b", HarvestID: "b", Code: "TB-1", CodeKey: "tb-1", StandID: stands[0].ID, TaxonID: kind.ID,
			CollectedOn: day("1900-01-01"), WaitingFrom: day("1900-01-01"), EnteredAt: entered,
		}
		write(t, s, adding((*store.Tx).AddBatch, bare))
		wantSame(t, "the batch", &models.BatchRecord{Batch: bare, Stand: stands[0].Code, Taxon: kind}, batchRecord(t, s, "tb-1"))
	})
}

func TestAMissingBatchIsNoRow(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		for name, look := range map[string]func(tx *store.Tx) error{
			"record": func(tx *store.Tx) error { _, err := tx.BatchRecord("nowhere"); return err },
			"stand":  func(tx *store.Tx) error { _, err := tx.StandOfBatch("nowhere"); return err },
		} {
			if err := s.Write(background, look); !errors.Is(err, store.ErrNoRow) {
				t.Errorf("the %s says %v", name, err)
			}
		}
	})
}

func TestTakenKeysOfABatchAreDuplicates(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		first := batch(1, stands[0], "2026-01-17")
		write(t, s, adding((*store.Tx).AddBatch, first))
		for constraint, change := range map[string]func(b *models.Batch){
			"batches_code_key":      func(b *models.Batch) { b.CodeKey = first.CodeKey },
			"batches_number":        func(b *models.Batch) { b.Number = first.Number },
			"batches_record_number": func(b *models.Batch) { b.RecordNumber = first.RecordNumber },
		} {
			second := batch(2, stands[0], "2026-01-17")
			change(&second)
			if err := s.Write(background, adding((*store.Tx).AddBatch, second)); !store.IsDuplicate(err, constraint) {
				t.Errorf("%s: it says %v", constraint, err)
			}
		}
	})
}

func TestATouchOfABatchIsGuarded(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		b := batch(1, stands[0], "2026-01-17")
		touched := b
		touched.Active, touched.AwaitsReview = false, false
		touched.Note = "is not written"
		write(t, s, adding((*store.Tx).AddBatch, b), adding((*store.Tx).TouchBatch, &models.BatchRecord{Batch: touched}))
		if err := s.Write(background, adding((*store.Tx).TouchBatch, &models.BatchRecord{Batch: b})); !errors.Is(err, store.ErrStale) {
			t.Errorf("the second touch of one version says %v", err)
		}
		touched.Note, touched.Version = b.Note, b.Version+1
		wantSame(t, "the touched batch", touched, batchRecord(t, s, b.CodeKey).Batch)
	})
}

func TestNumbersGoOnFromTheHighestOfStandAndYear(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 2)
		write(t, s, adding((*store.Tx).AddBatch,
			batch(1, stands[0], "2026-01-17"), batch(7, stands[0], "2026-02-17"), batch(9, stands[1], "2026-01-17"), batch(3, stands[1], "2025-01-17")))
		one, two := stands[0].ID, stands[1].ID
		for _, ask := range []struct {
			stands []string
			years  []int
			want   map[store.StandYear]int
		}{
			{[]string{one}, []int{2026}, map[store.StandYear]int{{StandID: one, Year: 2026}: 7}},
			{[]string{one, two}, []int{2025, 2026}, map[store.StandYear]int{{StandID: one, Year: 2026}: 7, {StandID: two, Year: 2026}: 9, {StandID: two, Year: 2025}: 3}},
			{[]string{one}, []int{2025}, map[store.StandYear]int{}},
		} {
			read(t, s, func(tx *store.Tx) error {
				got, err := tx.LastBatchNumbers(ask.stands, ask.years)
				wantSame(t, "the last numbers", ask.want, got)
				return err
			})
		}
	})
}

func TestNearCodesBeginWithTheText(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 2)
		one, two, three := batch(1, stands[0], "2026-01-17"), batch(2, stands[0], "2026-01-17"), batch(1, stands[1], "2026-01-17")
		odd := batch(2, stands[1], "2026-01-17")
		odd.Code, odd.CodeKey = "TB_0002-2026-2", "tb_0002-2026-2"
		write(t, s, adding((*store.Tx).AddBatch, one, two, three, odd))
		for prefix, want := range map[string][]string{
			"TB-0001": {two.Code, one.Code}, "tb-0002-": {three.Code}, "": {odd.Code, three.Code, two.Code, one.Code},
			"TB_": {odd.Code}, "TB_0001": {}, "%": {}, `\`: {}, "0001": {},
		} {
			read(t, s, func(tx *store.Tx) error {
				got, err := tx.NearBatchCodes(prefix)
				wantSame(t, "codes near "+prefix, want, got)
				return err
			})
		}
	})
}

func TestTheStandOfABatch(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 2)
		b := batch(1, stands[1], "2026-01-17")
		write(t, s, adding((*store.Tx).AddBatch, b))
		read(t, s, func(tx *store.Tx) error {
			got, err := tx.StandOfBatch(b.CodeKey)
			if got != stands[1].CodeKey {
				t.Errorf("it is of stand %q", got)
			}
			return err
		})
	})
}

func TestBatchesAreListedByTheirFilter(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		kind, stands := seed(t, s, 2)
		other := taxon(2)
		change := func(b models.Batch, change func(b *models.Batch)) models.Batch { change(&b); return b }
		a := batch(1, stands[0], "2026-01-10")
		b := change(batch(2, stands[0], "2026-01-20"), func(b *models.Batch) { b.Active = false })
		c := change(batch(3, stands[0], "2026-01-20"), func(b *models.Batch) { b.AwaitsReview = false })
		d := change(batch(1, stands[1], "2026-01-05"), func(b *models.Batch) { b.TaxonID, b.Kind = other.ID, models.LiveStake })
		there := sticking(d)
		there.Bench = "b2"
		write(t, s, adding((*store.Tx).AddTaxon, other), adding((*store.Tx).AddBatch, d, a, b, c),
			adding((*store.Tx).AddSticking, sticking(a), there))
		all := []string{c.Code, b.Code, a.Code, d.Code}
		for _, ask := range []struct {
			filter models.BatchFilter
			want   []string
		}{
			{models.BatchFilter{}, all},
			{models.BatchFilter{StandID: stands[0].ID}, all[:3]},
			{models.BatchFilter{TaxonID: kind.ID, AwaitsReview: true}, []string{b.Code, a.Code}},
			{models.BatchFilter{Kind: models.LiveStake}, all[3:]},
			{models.BatchFilter{From: day("2026-01-10"), To: day("2026-01-19")}, []string{a.Code}},
			{models.BatchFilter{To: day("2026-01-10")}, []string{a.Code, d.Code}},
			{models.BatchFilter{Active: true}, []string{c.Code, a.Code, d.Code}},
			{models.BatchFilter{Stuck: true}, []string{a.Code, d.Code}},
			{models.BatchFilter{Bench: " B2"}, []string{a.Code, d.Code}},
			{models.BatchFilter{Bench: "b3"}, nil},
		} {
			for limit := 1; limit <= 4; limit++ {
				read(t, s, func(tx *store.Tx) error {
					list := func(p models.Page) (models.List[*models.BatchRecord], error) { return tx.BatchRecords(ask.filter, p) }
					wantSame(t, "the list", ask.want, pages(t, limit, list, func(r *models.BatchRecord) string { return r.Code }))
					return nil
				})
			}
			wantEveryBatch(t, s, ask.filter, ask.want)
		}
	})
}

// wantEveryBatch also holds the records to those read one by one.
func wantEveryBatch(t *testing.T, s *store.Store, filter models.BatchFilter, want []string) {
	t.Helper()
	read(t, s, func(tx *store.Tx) error {
		records, err := tx.EveryBatchRecord(filter)
		if err != nil {
			return err
		}
		var codes []string
		for _, record := range records {
			codes = append(codes, record.Code)
			alone, err := tx.BatchRecord(record.CodeKey)
			if err != nil {
				return err
			}
			wantSame(t, "one of all batches", alone, record)
		}
		wantSame(t, "all batches", want, codes)
		return nil
	})
}

func TestTheBatchesOfADayComeWithoutSisters(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 2)
		first, second, sister := batch(1, stands[0], "2026-01-17"), batch(2, stands[0], "2026-01-17"), batch(3, stands[0], "2026-01-17")
		sister.SplitFromID = &first.ID
		next, elsewhere := batch(4, stands[0], "2026-01-18"), batch(1, stands[1], "2026-01-17")
		write(t, s, adding((*store.Tx).AddBatch, second, first, sister, next, elsewhere, batch(5, stands[0], "2026-01-19")))
		for _, ask := range []struct {
			stands []string
			days   []models.Date
			want   []models.Batch
		}{
			{[]string{stands[0].ID}, []models.Date{day("2026-01-17")}, []models.Batch{first, second}},
			{[]string{stands[0].ID, stands[1].ID}, []models.Date{day("2026-01-17"), day("2026-01-18")}, []models.Batch{first, second, next, elsewhere}},
		} {
			read(t, s, func(tx *store.Tx) error {
				got, err := tx.BatchesOn(ask.stands, ask.days)
				wantSame(t, "the batches", ask.want, got)
				return err
			})
		}
	})
}

func TestManyBatchesAreAddedWithTheirEntries(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		var records []*models.BatchRecord
		var entries []models.LedgerEntry
		for n := range 450 {
			b := batch(n+1, stands[0], "2026-01-17")
			record := &models.BatchRecord{Batch: b}
			if n%3 == 0 {
				record.Sticking, record.Moves = ptr(sticking(b)), []models.Move{move(b)}
			}
			records, entries = append(records, record), append(entries, ledgerEntry(n, b, 2))
		}
		taken := 0
		watched := store.Watch(background, func(string) { taken++ })
		if err := s.Write(watched, adding((*store.Tx).AddBatches, records)); err != nil || taken != 5 {
			t.Errorf("450 batches with 150 stickings and moves took %d statements (%v), want 3, 1 and 1", taken, err)
		}
		write(t, s, adding((*store.Tx).AddLedgerEntries, entries, nil), adding((*store.Tx).AddBatches, nil))
		for _, n := range []int{0, 199, 200, 449} {
			got := batchRecord(t, s, records[n].CodeKey)
			wantSame(t, "the sticking", records[n].Sticking, got.Sticking)
			wantSame(t, "the moves", records[n].Moves, got.Moves)
		}
		wantSame(t, "the ledger", []models.LedgerDay{{TakenOn: day("2026-01-17"), Stems: 900, Parents: 900}},
			ledgerOf(t, s, stands[0]))
	})
}

// ledgerOf is the ledger as the rules read it, within one window.
func ledgerOf(t *testing.T, s *store.Store, here models.Stand) []models.LedgerDay {
	t.Helper()
	write(t, s, adding((*store.Tx).AddRule, rule(1, here)))
	return standRecord(t, s, here.CodeKey, day("2026-01-17")).Ledger
}

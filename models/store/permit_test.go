package store_test

import (
	"errors"
	"testing"
	"time"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func readPermit(t *testing.T, s *store.Store, numberKey string) (p models.Permit) {
	t.Helper()
	read(t, s, func(tx *store.Tx) (err error) {
		p, err = tx.Permit(numberKey)
		return err
	})
	return p
}

func TestAPermitComesBackAsItWas(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 3)
		full := permit(1, stands[0], stands[2])
		full.Earlier = []models.EarlierTerms{{Terms: full.PermitTerms, Stands: []string{stands[1].Code}, ChangedBy: "OP", Why: "a slip", ChangedAt: entered}}
		wantFull(t, full, "Drawn")
		bare := models.Permit{
			ID: "bare", Number: "WV-2", NumberKey: "wv-2", EnteredAt: entered, Earlier: []models.EarlierTerms{}, StandIDs: []string{stands[1].ID},
			PermitTerms: models.PermitTerms{Kind: models.ConsentPaper, Issuer: "the valley people", Taxa: []string{}, People: []string{}, ValidFrom: day("2026-01-01")},
		}
		nilled := bare
		nilled.Taxa, nilled.People, nilled.Earlier = nil, nil, nil
		write(t, s, adding((*store.Tx).AddPermit, full, nilled))
		wantSame(t, "the permit", full, readPermit(t, s, "wv-1"))
		wantSame(t, "a bare one", bare, readPermit(t, s, "wv-2"))
		err := s.Write(background, func(tx *store.Tx) error {
			another := permit(1, stands[0])
			another.ID = "another"
			return tx.AddPermit(another)
		})
		if !store.IsDuplicate(err, "permits_number_key") {
			t.Errorf("a number twice: %v", err)
		}
		err = s.Read(background, func(tx *store.Tx) error { _, err := tx.Permit("wv-3"); return err })
		if !errors.Is(err, store.ErrNoRow) {
			t.Errorf("a permit that is not there: %v", err)
		}
	})
}

// What batches draw is summed, but for void ones, and over all stands of a permit.
func TestWhatIsDrawnOnAPermit(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 2)
		p := permit(1, stands[0], stands[1])
		write(t, s, adding((*store.Tx).AddPermit, p))
		for n, c := range []struct {
			stand models.Stand
			drawn string
			void  bool
		}{{stands[0], "10.5", false}, {stands[1], "4", false}, {stands[1], "7", true}} {
			b := batch(n+1, c.stand, "2026-01-17")
			b.PermitID, b.PermitQuantity, b.Void = &p.ID, models.MustDecimal(c.drawn), c.void
			write(t, s, adding((*store.Tx).AddBatch, b))
		}
		if got := readPermit(t, s, "wv-1").Drawn; got != models.MustDecimal("14.5") {
			t.Errorf("%s are drawn", got)
		}
		read(t, s, func(tx *store.Tx) error {
			record, err := tx.StandRecord(stands[1].CodeKey, day("2026-01-01"))
			if len(record.Permits) != 1 || record.Permits[0].Drawn != models.MustDecimal("14.5") {
				t.Errorf("the stand has the permits %+v", record.Permits)
			}
			return err
		})
	})
}

// An edit changes terms and stands from an instant on: before it, they are as they
// were.
func TestAnEditOfAPermitLeavesWhatWasKnown(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 3)
		first := permit(1, stands[0], stands[1])
		write(t, s, adding((*store.Tx).AddPermit, first))
		later := entered.Add(time.Hour)
		after := first
		after.Quantity, after.Issuer, after.People, after.ValidTo = nil, "the board", []string{}, models.Date{}
		after.StandIDs = []string{stands[1].ID, stands[2].ID}
		after.Earlier = []models.EarlierTerms{{Terms: first.PermitTerms, Stands: []string{"TB-0001", "TB-0002"}, Why: "a new paper", ChangedAt: later}}
		write(t, s, func(tx *store.Tx) error { return tx.EditPermit(after, first.StandIDs, later) })

		after.Version++
		wantSame(t, "the permit", after, readPermit(t, s, "wv-1"))
		err := s.Write(background, func(tx *store.Tx) error { return tx.EditPermit(first, first.StandIDs, later) })
		if !errors.Is(err, store.ErrStale) {
			t.Errorf("an edit of the version before: %v", err)
		}
		covers := func(at time.Time) (covered []string, issuer string) {
			read(t, s, func(tx *store.Tx) error {
				if !at.IsZero() {
					tx = tx.AsKnown(at)
				}
				for _, stand := range stands {
					record, err := tx.StandRecord(stand.CodeKey, models.Date{})
					if err != nil {
						return err
					}
					for _, p := range record.Permits {
						covered, issuer = append(covered, stand.ID), p.Issuer
					}
				}
				return nil
			})
			return covered, issuer
		}
		for _, c := range []struct {
			at     time.Time
			stands []string
			issuer string
		}{
			{time.Time{}, after.StandIDs, "the board"},
			{later, after.StandIDs, "the board"},
			{later.Add(-time.Second), first.StandIDs, "Wrenlow Valley Parks"},
			{entered.Add(-time.Second), nil, ""},
		} {
			got, issuer := covers(c.at)
			wantSame(t, "the stands covered at "+c.at.String(), c.stands, got)
			if issuer != c.issuer {
				t.Errorf("at %s the issuer is %q", c.at, issuer)
			}
		}

		back := after
		back.StandIDs = []string{stands[0].ID, stands[2].ID}
		write(t, s, func(tx *store.Tx) error { return tx.EditPermit(back, after.StandIDs, later) })
		wantSame(t, "the stands covered again", back.StandIDs, readPermit(t, s, "wv-1").StandIDs)
	})
}

func TestPermitsAreListedByNumber(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		kind, stands := seed(t, s, 2)
		theirs := stand(9, kind)
		theirs.LandManager = "SORREL Flat  Ditch Company"
		endless, early := permit(4, theirs), permit(3, stands[1])
		endless.ValidTo = models.Date{}
		early.ValidFrom, early.ValidTo = day("2025-01-01"), day("2025-03-31")
		write(t, s, adding((*store.Tx).AddStand, theirs), adding((*store.Tx).AddPermit, permit(2, stands[0], stands[1]), endless, permit(1, stands[0]), early))
		numbers := func(f models.PermitFilter) []string {
			var all []string
			read(t, s, func(tx *store.Tx) error {
				list := func(p models.Page) (models.List[models.Permit], error) { return tx.Permits(f, p) }
				all = pages(t, 1, list, func(p models.Permit) string { return p.Number })
				return nil
			})
			return all
		}
		for name, c := range map[string]struct {
			filter models.PermitFilter
			want   []string
		}{
			"all":            {models.PermitFilter{}, []string{"WV-1", "WV-2", "WV-3", "WV-4"}},
			"of a stand":     {models.PermitFilter{StandID: stands[1].ID}, []string{"WV-2", "WV-3"}},
			"on a day":       {models.PermitFilter{On: day("2026-03-31")}, []string{"WV-1", "WV-2", "WV-4"}},
			"on a later day": {models.PermitFilter{On: day("2026-04-01")}, []string{"WV-4"}},
			"of a manager":   {models.PermitFilter{LandManager: "sorrel flat ditch company"}, []string{"WV-4"}},
		} {
			wantSame(t, name, c.want, numbers(c.filter))
		}
		read(t, s, func(tx *store.Tx) error {
			ending, err := tx.PermitsEnding(day("2026-03-31"), day("2026-03-31"))
			if len(ending) != 2 || ending[0].Number != "WV-1" || len(ending[1].StandIDs) != 2 {
				t.Errorf("there end %+v", ending)
			}
			return err
		}, func(tx *store.Tx) error {
			covered, err := tx.CoveredStands([]string{stands[1].ID}, []string{theirs.CodeKey})
			wantSame(t, "the stands covered", []models.CoveredStand{
				{ID: stands[1].ID, Code: stands[1].Code, CodeKey: stands[1].CodeKey, LandManager: stands[1].LandManager, GatheringPlaceOf: "the valley people", Taxon: kind.ScientificName},
				{ID: theirs.ID, Code: theirs.Code, CodeKey: theirs.CodeKey, LandManager: theirs.LandManager, GatheringPlaceOf: "the valley people", Taxon: kind.ScientificName},
			}, covered)
			return err
		}, func(tx *store.Tx) error {
			known, err := tx.PermitNumbers()
			wantSame(t, "the numbers", []string{"WV-1", "WV-2", "WV-3", "WV-4"}, known)
			return err
		})
	})
}

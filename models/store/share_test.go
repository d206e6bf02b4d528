package store_test

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func shareEntry(n int, s models.Share, kind models.LedgerKind, stems, parents int) models.LedgerEntry {
	return models.LedgerEntry{
		ID: fmt.Sprintf("ledger-%s-%04d", s.ID, n), StandID: s.StandID, ShareID: &s.ID, Kind: kind, TakenOn: s.FromDay,
		Stems: stems, Parents: parents, EnteredBy: "RQ", Why: "of the weavers", EnteredAt: entered,
	}
}

func setAside(s models.Share, entries ...models.LedgerEntry) func(tx *store.Tx) error {
	return func(tx *store.Tx) error {
		if err := tx.AddShare(s); err != nil {
			return err
		}
		return tx.AddLedgerEntries(entries)
	}
}

func ending(s models.Share, on string) func(tx *store.Tx) error {
	return func(tx *store.Tx) error { return tx.EndShare(s.ID, day(on)) }
}

func endingOn(s models.Share, to string) models.Share {
	s.ToDay = day(to)
	return s
}

func TestCrewSharesComeBackWithWhatBecameOfThem(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 2)
		drawn, returned, released, used := share(1, stands[0]), share(2, stands[0]), share(3, stands[0]), share(4, stands[0])
		wantFull(t, drawn, "EndedOn")
		write(t, s,
			setAside(drawn, shareEntry(1, drawn, models.ShareSet, 9, 3), shareEntry(2, drawn, models.ShareDrawn, -4, -1)),
			setAside(returned, shareEntry(1, returned, models.ShareSet, 9, 3), shareEntry(2, returned, models.ShareReturned, -9, -3)),
			setAside(released, shareEntry(1, released, models.ShareSet, 9, 3), shareEntry(2, released, models.ShareDrawn, -2, -1), shareEntry(3, released, models.ShareReleased, -7, -2)),
			setAside(used, shareEntry(1, used, models.ShareSet, 9, 3), shareEntry(2, used, models.ShareDrawn, -9, -3)),
			ending(returned, "2026-01-26"), ending(released, "2026-01-26"), ending(returned, "2026-02-26"), // it has ended before
		)
		returned.EndedOn, released.EndedOn = day("2026-01-26"), day("2026-01-26")
		open := func(s models.Share, left, plants int) models.OpenShare {
			return models.OpenShare{Share: s, Left: left, LeftParents: plants}
		}
		read(t, s, func(tx *store.Tx) error {
			got, err := tx.SharesOf(stands[0].ID, models.Page{})
			wantSame(t, "the shares", []models.KeptShare{
				{OpenShare: open(used, 0, 0), Stand: stands[0].Code},
				{OpenShare: open(released, 0, 0), Stand: stands[0].Code, Released: 7},
				{OpenShare: open(returned, 0, 0), Stand: stands[0].Code, Returned: 9},
				{OpenShare: open(drawn, 5, 2), Stand: stands[0].Code},
			}, got.Items)
			return err
		}, func(tx *store.Tx) error {
			list := func(p models.Page) (models.List[models.KeptShare], error) { return tx.SharesOf(stands[0].ID, p) }
			wantSame(t, "the pages", []string{used.ID, released.ID, returned.ID, drawn.ID}, pages(t, 1, list, func(s models.KeptShare) string { return s.ID }))
			record, err := tx.StandRecord(stands[0].CodeKey, day("2026-01-20"))
			if err != nil {
				return err
			}
			wantSame(t, "those on which can be drawn", []models.OpenShare{open(drawn, 5, 2), open(used, 0, 0)}, record.Shares)
			elsewhere, err := tx.SharesOf(stands[1].ID, models.Page{})
			wantSame(t, "the shares elsewhere", []models.KeptShare{}, elsewhere.Items)
			return err
		}, func(tx *store.Tx) error {
			got, err := tx.ShareOf(stands[0].ID, returned.ID)
			wantSame(t, "one that has ended", returned, got)
			if _, err := tx.ShareOf(stands[1].ID, returned.ID); !errors.Is(err, store.ErrNoRow) {
				t.Errorf("it is found at another stand: %v", err)
			}
			return err
		})
	})
}

func TestWhatIsHeldAtAllStands(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		kind, stands := seed(t, s, 2)
		other := stand(3, kind)
		other.LandManager = "Sorrel Flat Ditch Company"
		write(t, s, adding((*store.Tx).AddStand, other))
		late, early, same := endingOn(share(1, stands[0]), "2026-02-05"), endingOn(share(2, stands[1]), "2026-01-30"), endingOn(share(3, other), "2026-01-30")
		over, used, returned := endingOn(share(4, stands[0]), "2026-01-10"), endingOn(share(5, stands[0]), "2026-02-05"), endingOn(share(6, stands[0]), "2026-02-05")
		for _, held := range []models.Share{late, early, same, over} {
			write(t, s, setAside(held, shareEntry(1, held, models.ShareSet, 9, 3)))
		}
		write(t, s,
			setAside(used, shareEntry(1, used, models.ShareSet, 9, 3), shareEntry(2, used, models.ShareDrawn, -9, -3)),
			setAside(returned, shareEntry(1, returned, models.ShareSet, 9, 3), shareEntry(2, returned, models.ShareReturned, -9, -3)),
			ending(returned, "2026-01-26"))
		id := func(s models.KeptShare) string { return s.ID }
		read(t, s, func(tx *store.Tx) error {
			list := func(p models.Page) (models.List[models.KeptShare], error) {
				return tx.HeldShares("", day("2026-01-20"), p)
			}
			for _, size := range []int{1, 10} {
				wantSame(t, "what is held", []string{early.ID, same.ID, late.ID}, pages(t, size, list, id))
			}
			own := func(p models.Page) (models.List[models.KeptShare], error) {
				return tx.HeldShares("sorrel flat  ditch company", day("2026-01-20"), p)
			}
			wantSame(t, "what is held on one's land", []string{same.ID}, pages(t, 10, own, id))
			_, err := tx.HeldShares("", day("2026-01-20"), models.Page{After: store.CursorOf("shares", "x")})
			if e := models.AsError(err); e == nil || e.Code != "bad-cursor" {
				t.Errorf("a mark of another list: %v", err)
			}
			return nil
		}, func(tx *store.Tx) error {
			for endedBy, want := range map[string][]string{"2026-01-09": {}, "2026-01-10": {stands[0].CodeKey}, "2026-02-05": {stands[0].CodeKey, stands[1].CodeKey, other.CodeKey}} {
				got, err := tx.StandsOfShares(day(endedBy))
				if err != nil {
					return err
				}
				wantSame(t, "the stands of shares that ended by "+endedBy, want, got)
			}
			got, err := tx.StandsHolding(kind.ID)
			wantSame(t, "the stands of the taxon that hold shares", []string{stands[0].CodeKey, stands[1].CodeKey, other.CodeKey}, got)
			none, noErr := tx.StandsHolding("another")
			wantSame(t, "those of another", 0, len(none))
			return errors.Join(err, noErr)
		})
	})
}

// What was set aside is told as it was known, whatever became of it since.
func TestCrewSharesAsTheyWereKnown(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		aside := share(1, stands[0])
		drawn := shareEntry(2, aside, models.ShareDrawn, -4, -1)
		drawn.EnteredAt = entered.Add(time.Second)
		returned := shareEntry(3, aside, models.ShareReturned, -5, -2)
		returned.EnteredAt = entered.Add(2 * time.Second)
		write(t, s, setAside(aside, shareEntry(1, aside, models.ShareSet, 9, 3), drawn, returned),
			ending(aside, "2026-03-29"))
		read(t, s, func(tx *store.Tx) error {
			for after, want := range map[int][]int{-1: nil, 0: {9}, 1: {5}, 2: nil} {
				record, err := tx.AsKnown(entered.Add(time.Duration(after)*time.Second)).StandRecord(stands[0].CodeKey, day("2026-01-20"))
				if err != nil {
					return err
				}
				var left []int
				for _, s := range record.Shares {
					left = append(left, s.Left)
				}
				wantSame(t, fmt.Sprintf("what was left %d seconds after it was set", after), want, left)
			}
			return nil
		})
	})
}

// A share is released once, whoever comes second.
func TestAShareIsReleasedOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		aside := share(1, stands[0])
		write(t, s, setAside(aside, shareEntry(1, aside, models.ShareSet, 9, 3), shareEntry(2, aside, models.ShareReleased, -9, -3)))
		err := s.Write(background, func(tx *store.Tx) error {
			return tx.AddLedgerEntries([]models.LedgerEntry{shareEntry(3, aside, models.ShareReleased, -9, -3)})
		})
		if !store.IsDuplicate(err, "ledger_released_once") {
			t.Errorf("it is released twice: %v", err)
		}
	})
}

package store_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func TestABadCursorIsTold(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		lists := map[string]func(tx *store.Tx, p models.Page) error{
			"taxa": func(tx *store.Tx, p models.Page) error { _, err := tx.Taxa(p); return err },
			"stands": func(tx *store.Tx, p models.Page) error {
				_, err := tx.AllStandRecords(models.StandFilter{}, p, models.Date{})
				return err
			},
			"surveys": func(tx *store.Tx, p models.Page) error { _, err := tx.Surveys("s", p); return err },
			"batches": func(tx *store.Tx, p models.Page) error {
				_, err := tx.BatchRecords(models.BatchFilter{}, p)
				return err
			},
			"ledger": func(tx *store.Tx, p models.Page) error { _, err := tx.LedgerLines("s", p); return err },
			"shares": func(tx *store.Tx, p models.Page) error { _, err := tx.SharesOf("s", p); return err },
			"held shares": func(tx *store.Tx, p models.Page) error {
				_, err := tx.HeldShares("", models.Date{}, p)
				return err
			},
			"reminders": func(tx *store.Tx, p models.Page) error { _, err := tx.Reminders(p); return err },
			"people":    func(tx *store.Tx, p models.Page) error { _, err := tx.People(p); return err },
		}
		for name, list := range lists {
			for _, after := range []string{
				"!", "bm90aGluZw", store.CursorOf("another", "a"), store.CursorOf("another", "2026-01-01", "a"),
				store.CursorOf(name), store.CursorOf(name, "not a day", "a", "b"), store.CursorOf(name, "a\x00"),
				store.CursorOf(name, "2026-01-01", "\x00"), strings.Repeat("é", 500),
			} {
				err := s.Read(background, func(tx *store.Tx) error { return list(tx, models.Page{After: after}) })
				e := models.AsError(err)
				if e == nil || e.Kind != models.Invalid || e.Code != "bad-cursor" || len(e.Fields) != 1 || e.Fields[0].Name != "after" {
					t.Errorf("%s after %q says %v", name, after, err)
				}
			}
		}
	})
}

func TestACursorComesBackAndFitsIntoAnAddress(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := rapid.StringMatching(`[a-z]+`).Draw(t, "list")
		keys := rapid.SliceOf(rapid.StringMatching(`[^\x00]*`)).Draw(t, "keys")
		cursor := store.CursorOf(list, keys...)
		if strings.Trim(cursor, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_") != "" {
			t.Fatalf("%q has to be escaped in an address", cursor)
		}
		got, err := store.ParseCursor(list, cursor, len(keys))
		if err != nil || strings.Join(got, "|") != strings.Join(keys, "|") {
			t.Fatalf("%q comes back as %q (%v)", keys, got, err)
		}
	})
}

func FuzzParseCursor(f *testing.F) {
	f.Add("", uint8(1))
	f.Add(store.CursorOf("batches", "2026-01-17", "id"), uint8(2))
	f.Add("WyJiYXRjaGVzIl0", uint8(0))
	f.Fuzz(func(t *testing.T, cursor string, length uint8) {
		n := int(length)
		keys, err := store.ParseCursor("batches", cursor, n)
		if err != nil {
			if e := models.AsError(err); e == nil || e.Code != "bad-cursor" {
				t.Fatalf("%q says %v", cursor, err)
			}
			return
		}
		again, err := store.ParseCursor("batches", store.CursorOf("batches", keys...), n)
		if err != nil || strings.Join(again, "|") != strings.Join(keys, "|") {
			t.Fatalf("%q reads as %q, and then as %q (%v)", cursor, keys, again, err)
		}
	})
}

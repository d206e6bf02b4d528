package store_test

import (
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// letterOf is a letter to an address that waits from the time it was made.
func letterOf(n int, address string) models.Letter {
	return models.Letter{
		ID: fmt.Sprintf("letter-%04d", n), Occasion: "reminder 2026-01-19", Address: address, MessageID: "m@wrenlow.example",
		Subject: "Withybed, «Ö»: 3 batches to pot up", Text: "Pot up\n  B2\n", HTML: "<p>Pot up &amp; label</p>",
		MadeAt: entered, TryAt: entered.Add(time.Duration(n) * time.Minute), Tries: 1, Trouble: "451 later",
	}
}

func addLetters(t *testing.T, s *store.Store, letters ...models.Letter) {
	t.Helper()
	if err := s.Write(background, func(tx *store.Tx) error { return tx.AddLetters(letters) }); err != nil {
		t.Fatal(err)
	}
}

// next is the id of the letter that is next at an instant, or nothing.
func next(t *testing.T, s *store.Store, now time.Time) (id string) {
	t.Helper()
	err := s.Write(background, func(tx *store.Tx) error {
		letter, err := tx.NextLetter(now)
		id = letter.ID
		return err
	})
	if err != nil && !errors.Is(err, store.ErrNoRow) {
		t.Fatal(err)
	}
	return id
}

func mark(t *testing.T, s *store.Store, id string, change func(*models.Letter)) {
	t.Helper()
	err := s.Write(background, func(tx *store.Tx) error {
		letter, err := tx.Letter(id)
		if err != nil {
			return err
		}
		change(&letter)
		return tx.MarkLetter(letter)
	})
	if err != nil {
		t.Fatal(err)
	}
}

func TestALetterIsKeptAsItIs(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		full := letterOf(1, "rowan@wrenlow.example")
		full.HeldBy, full.HeldUntil, full.SentAt, full.GivenUpAt = "server one", at(entered), at(entered), at(entered)
		wantFull(t, full)
		bare := models.Letter{ID: "bare", Occasion: "soak b 2026-01-20", MadeAt: entered, TryAt: entered}
		addLetters(t, s, full, bare)
		for _, want := range []models.Letter{full, bare} {
			read(t, s, func(tx *store.Tx) error {
				got, err := tx.Letter(want.ID)
				wantSame(t, "the letter", want, got)
				return err
			})
		}
		full.Tries, full.Trouble, full.MessageID, full.HeldBy, full.HeldUntil = 2, "none", "other@wrenlow.example", "", nil
		full.TryAt, full.SentAt, full.GivenUpAt = entered.Add(time.Hour), nil, at(entered.Add(time.Hour))
		mark(t, s, full.ID, func(l *models.Letter) { *l = full })
		read(t, s, func(tx *store.Tx) error {
			got, err := tx.Letter(full.ID)
			wantSame(t, "the letter", full, got)
			return err
		})
		err := s.Write(background, func(tx *store.Tx) error {
			full.ID = "none"
			return tx.MarkLetter(full)
		})
		if !errors.Is(err, store.ErrStale) {
			t.Errorf("a letter that is gone says %v", err)
		}
	})
}

// An address gets one letter about an occasion, and letters about others.
func TestAnAddressGetsOneLetterAboutAnOccasion(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		other := letterOf(4, "rowan@wrenlow.example")
		other.Occasion = "review b"
		addLetters(t, s, letterOf(1, "rowan@wrenlow.example"), letterOf(2, "rowan@wrenlow.example"), letterOf(3, ""), other)
		addLetters(t, s, letterOf(5, "rowan@wrenlow.example"), letterOf(6, "osier@wrenlow.example"), letterOf(7, ""))
		addLetters(t, s)
		want := []string{"letter-0006", "letter-0004", "letter-0003", "letter-0001"}
		read(t, s, func(tx *store.Tx) error {
			wantSame(t, "the letters", want, pages(t, 2, func(page models.Page) (models.List[models.Letter], error) {
				return tx.Letters("", page)
			}, func(l models.Letter) string { return l.ID }))
			return nil
		})
	})
}

func TestTheNextLetter(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		minute := func(n int) time.Time { return entered.Add(time.Duration(n) * time.Minute) }
		for n := range 5 {
			addLetters(t, s, letterOf(n, fmt.Sprintf("crew%d@wrenlow.example", n)))
		}
		mark(t, s, "letter-0000", func(l *models.Letter) { l.SentAt = at(entered) })
		mark(t, s, "letter-0001", func(l *models.Letter) { l.GivenUpAt = at(entered) })
		mark(t, s, "letter-0002", func(l *models.Letter) { l.HeldBy, l.HeldUntil = "one", at(minute(5)) })
		for _, c := range []struct {
			now  time.Time
			want string
		}{
			{minute(2), ""}, {minute(3).Add(-time.Millisecond), ""}, {minute(3), "letter-0003"},
			{minute(5).Add(-time.Millisecond), "letter-0003"}, {minute(5), "letter-0002"},
		} {
			if got := next(t, s, c.now); got != c.want {
				t.Errorf("at %s the next is %q, want %q", c.now, got, c.want)
			}
		}
		for state, want := range map[models.LetterState][]string{
			models.LetterWaiting: {"letter-0004", "letter-0003", "letter-0002"},
			models.LetterSent:    {"letter-0000"}, models.LetterGivenUp: {"letter-0001"},
		} {
			read(t, s, func(tx *store.Tx) error {
				list, err := tx.Letters(state, models.Page{})
				var ids []string
				for _, l := range list.Items {
					ids = append(ids, l.ID)
					if l.State() != state {
						t.Errorf("%s is %s and listed as %s", l.ID, l.State(), state)
					}
				}
				if !slices.Equal(ids, want) {
					t.Errorf("%s are %q, want %q", state, ids, want)
				}
				return err
			})
		}
		wantNoScan(t, s, func(tx *store.Tx) (int, error) {
			_, err := tx.NextLetter(minute(9))
			return 1, err
		})
	})
}

// While one transaction has the next letter in hand, another takes the one after.
func TestTwoTakeTwoLetters(t *testing.T) {
	s := storetest.Open(t, store.Postgres)
	addLetters(t, s, letterOf(1, "a@wrenlow.example"), letterOf(2, "b@wrenlow.example"))
	now := entered.Add(time.Hour)
	err := s.Write(background, func(tx *store.Tx) error {
		first, err := tx.NextLetter(now)
		if second := next(t, s, now); first.ID != "letter-0001" || second != "letter-0002" {
			t.Errorf("one takes %q, the other %q", first.ID, second)
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
}

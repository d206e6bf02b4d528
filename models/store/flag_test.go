package store_test

import (
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func TestFlagsStandUntilTheyAreCleared(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		b := batch(1, stands[0], "2026-01-17")
		over, first, second := flagSpan(1, b, "2026-03-01"), flagSpan(2, b, "2026-03-14"), flagSpan(3, b, "2026-03-14")
		wantFull(t, over)
		first.ClearedOn, second.ClearedOn = models.Date{}, models.Date{}
		second.Flag = models.FlagCheck
		again := first
		again.ID = "again" // the same flag of the same day, raised by another run
		write(t, s, adding((*store.Tx).AddBatch, b),
			adding((*store.Tx).RaiseFlags, []models.FlagSpan{over, first, second}, []models.FlagSpan{again}, nil))
		standing(t, s, []models.FlagSpan{second, first}) // by batch, then by flag
		write(t, s, func(tx *store.Tx) error { return tx.ClearFlags([]string{over.ID, first.ID}, day("2026-03-28")) },
			func(tx *store.Tx) error { return tx.ClearFlags(nil, day("2026-03-29")) })
		standing(t, s, []models.FlagSpan{second})
		first.ClearedOn = day("2026-03-28")
		read(t, s, func(tx *store.Tx) error {
			history, err := tx.FlagHistory(b.ID)
			wantSame(t, "the history", []models.FlagSpan{over, first, second}, history)
			return err
		})
	})
}

func standing(t *testing.T, s *store.Store, want []models.FlagSpan) {
	t.Helper()
	read(t, s, func(tx *store.Tx) error {
		got, err := tx.StandingFlags()
		wantSame(t, "the standing flags", want, got)
		return err
	})
}

func TestManyFlagsAreRaisedAndCleared(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		const many = 450
		_, stands := seed(t, s, 1)
		b := batch(1, stands[0], "2026-01-17")
		var flags []models.FlagSpan
		var ids []string
		for n := range many {
			flag := flagSpan(n, b, "2000-01-01")
			flag.RaisedOn, flag.ClearedOn = flag.RaisedOn.Add(n), models.Date{}
			flags, ids = append(flags, flag), append(ids, flag.ID)
		}
		write(t, s, adding((*store.Tx).AddBatch, b), adding((*store.Tx).RaiseFlags, flags))
		standing(t, s, flags)
		write(t, s, func(tx *store.Tx) error { return tx.ClearFlags(ids[:many-1], day("2026-03-28")) })
		standing(t, s, flags[many-1:])
	})
}

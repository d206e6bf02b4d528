package store_test

import (
	"errors"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func someNursery() models.Nursery {
	return models.Nursery{
		Settings: models.Settings{
			Name: "Wrenlow Valley «Native» Plants", TimeZone: "America/Los_Angeles", ReminderDay: "monday", ReminderHour: 7,
			HarvestRule: models.HarvestRule{StandCap: models.MustDecimal("0.05"), WindowDays: 350, Basis: "agreed"},
			Confidence:  models.MustDecimal("0.9"),
			Thresholds:  models.Thresholds{CheckEvery: 14, WarmFrom: "04-15", ReadyShare: models.MustDecimal("0.8")},
			Bases:       map[string]string{"check_every": "our own records"},
		},
		MadeAt: entered, Version: 1,
	}
}

func theNursery(t *testing.T, s *store.Store) (n models.Nursery, err error) {
	t.Helper()
	failed := s.Read(background, func(tx *store.Tx) error {
		n, err = tx.Nursery()
		return err
	})
	if failed != nil && err == nil {
		t.Fatal(failed)
	}
	return n, err
}

func TestANurseryIsMadeOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		if _, err := theNursery(t, s); !errors.Is(err, store.ErrNoRow) {
			t.Errorf("before it is made: %v", err)
		}
		second := someNursery()
		second.Name = "Another"
		write(t, s, adding((*store.Tx).MakeNursery, someNursery()))
		if err := s.Write(background, adding((*store.Tx).MakeNursery, second)); !store.IsDuplicate(err, "nursery_pkey") {
			t.Errorf("making another says %v", err)
		}
		got, err := theNursery(t, s)
		if err != nil {
			t.Fatal(err)
		}
		wantFull(t, got)
		wantSame(t, "the nursery", someNursery(), got)
	})
}

func TestANurseryIsEditedByWhoReadItLast(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		edited := someNursery()
		edited.Bases = nil
		edited.ReminderHour = 0
		write(t, s, adding((*store.Tx).MakeNursery, someNursery()), adding((*store.Tx).EditNursery, edited))
		err := s.Write(background, adding((*store.Tx).EditNursery, someNursery()))
		if !errors.Is(err, store.ErrStale) {
			t.Errorf("the second edit of one version says %v", err)
		}
		got, err := theNursery(t, s)
		if err != nil {
			t.Fatal(err)
		}
		edited.Version = 2
		wantSame(t, "the edited nursery", edited, got)
	})
}

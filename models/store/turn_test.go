package store

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"

	"withybed/models"
)

func TestAWriterWhoseTurnDoesNotComeIsToldTheDatabaseIsBusy(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &Store{turn: make(chan struct{}, 1)}
		if err := s.takeTurn(t.Context()); err != nil {
			t.Fatal(err)
		}
		e := models.AsError(s.takeTurn(t.Context()))
		if e == nil || e.Code != "database-busy" {
			t.Errorf("the error is %v, want database-busy", e)
		}
	})
}

func TestAWriterWhoGivesUpWaitingIsLetGo(t *testing.T) {
	s := &Store{turn: make(chan struct{}, 1)}
	ctx, cancel := context.WithCancel(t.Context())
	if err := s.takeTurn(ctx); err != nil {
		t.Fatal(err)
	}
	cancel()
	if err := s.takeTurn(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("the error is %v, want the context's", err)
	}
}

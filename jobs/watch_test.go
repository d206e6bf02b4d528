package jobs_test

import (
	"context"
	"errors"
	"slices"
	"testing"

	"withybed/jobs"
	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// Whoever watches the mail is told of every try, of those that failed as well.
func TestTriesAreWatched(t *testing.T) {
	n := mailTown(t, storetest.Open(t, store.SQLite), oakley, "finch@wrenlow.example")
	m := jobs.NewMail(n.Nursery, &pile{ask: func(_ context.Context, l models.Letter) error {
		if l.Address == oakley {
			return errors.New("the mailbox is full")
		}
		return nil
	}}, sender, "server 1")
	var seen []bool
	m.Watch = func(sent bool) { seen = append(seen, sent) }
	n.deliver(m, 1, 1)
	if len(seen) != 2 || !slices.Contains(seen, true) || !slices.Contains(seen, false) {
		t.Errorf("it was told %v", seen)
	}
}

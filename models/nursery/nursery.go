// Package nursery holds the use cases: what a person or a job does with the
// nursery. One exported method is one whole transaction; exported methods never
// call each other. Each reads all it needs, asks the rules, then writes.
package nursery

import (
	"context"
	"errors"
	"fmt"
	"time"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// Nursery runs the use cases on a store.
type Nursery struct {
	store     *store.Store
	clock     models.Clock
	newID     func() string
	newSecret func() string
}

// New makes the nursery of a store. The clock says what time it is, newID makes
// identifiers that sort by the time they were made, newSecret makes secrets that
// nobody can guess.
func New(s *store.Store, clock models.Clock, newID, newSecret func() string) *Nursery {
	return &Nursery{store: s, clock: clock, newID: newID, newSecret: newSecret}
}

// Seed is what a nursery is made with, where the person who starts it says so.
type Seed struct {
	Name     string
	TimeZone string // IANA name; UTC if empty
}

// Make makes the nursery in an empty database, and leaves one that is there as
// it is. It answers the nursery that counts.
func (n *Nursery) Make(ctx context.Context, seed Seed) (models.Nursery, error) {
	settings, err := rules.SeedSettings(seed.Name, seed.TimeZone)
	if err != nil {
		return models.Nursery{}, err
	}
	made := models.Nursery{Settings: settings, MadeAt: n.clock.Now(), Version: 1}
	var found models.Nursery
	err = n.store.Write(ctx, func(tx *store.Tx) error {
		var err error
		if found, err = tx.Nursery(); !errors.Is(err, store.ErrNoRow) {
			return err
		}
		found = made
		return tx.MakeNursery(made)
	})
	return found, err
}

// Readiness is where the nursery's days stand: what anyone may know of it.
type Readiness struct {
	Today    models.Date
	TimeZone string
}

// Ready says whether the database answers and holds a nursery.
func (n *Nursery) Ready(ctx context.Context) (Readiness, error) {
	if err := n.store.Ping(ctx); err != nil {
		return Readiness{}, err
	}
	return read(ctx, n, func(_ *store.Tx, now moment) (Readiness, error) {
		return Readiness{Today: now.today, TimeZone: now.TimeZone}, nil
	})
}

// moment is the one instant of a use case, with the nursery as it is then and who
// asks.
type moment struct {
	at     time.Time
	place  *time.Location
	today  models.Date
	known  time.Time // asked is what was known then; zero where it is what is known now
	caller models.Caller
	change *change                      // what is kept of a write; nil where nothing is
	people func() (rules.People, error) // the codes of people, read once where they are asked for
	models.Nursery

	releases *releases // crew shares that a write found to be over; nil in a read
}

func (n *Nursery) moment(tx *store.Tx) (moment, error) {
	nursery, err := tx.Nursery()
	if errors.Is(err, store.ErrNoRow) {
		return moment{}, models.Errorf(models.Unavailable, "not-made", "the nursery is not made yet: run withy serve or any withy command on this database first")
	}
	if err != nil {
		return moment{}, err
	}
	rules.FillSettings(&nursery.Settings)
	now := moment{at: n.clock.Now(), Nursery: nursery, caller: CallerIn(tx.Context()), people: peopleOf(tx)}
	return now, now.relocate()
}

// relocate works out today in the nursery's time zone.
func (m *moment) relocate() error {
	place, err := time.LoadLocation(m.TimeZone)
	if err != nil {
		return fmt.Errorf("load the time zone of the nursery: %w", err)
	}
	m.place, m.today = place, models.DateIn(m.at, place)
	return nil
}

// read runs a use case that changes nothing.
func read[T any](ctx context.Context, n *Nursery, do func(tx *store.Tx, now moment) (T, error)) (answer T, err error) {
	err = n.store.Read(ctx, func(tx *store.Tx) error {
		now, err := n.moment(tx)
		if err != nil {
			return err
		}
		answer, err = do(tx, now)
		return err
	})
	return answer, err
}

// write runs a use case that changes something.
func write[T any](ctx context.Context, n *Nursery, do func(tx *store.Tx, now moment) (T, error)) (T, error) {
	return writeIn(ctx, n, n.store.Write, do)
}

// transaction is a way of the store to write: Write, or WriteSnapshot for what
// reads many batches that it does not hold.
type transaction func(ctx context.Context, do func(tx *store.Tx) error) error

func writeIn[T any](ctx context.Context, n *Nursery, in transaction, do func(tx *store.Tx, now moment) (T, error)) (answer T, err error) {
	err = in(ctx, func(tx *store.Tx) error {
		now, err := n.moment(tx)
		if err != nil {
			return err
		}
		now.change, now.releases = n.changeBy(now), &releases{newID: n.newID}
		if answer, err = do(tx, now); err != nil {
			return err
		}
		if err := now.releases.write(tx); err != nil {
			return err
		}
		return keepChange(tx, now.change)
	})
	if errors.Is(err, store.ErrStale) {
		err = errStale
	}
	return answer, err
}

// dayOr is the day asked for, or today.
func (m *moment) dayOr(day models.Date) models.Date {
	if day.IsZero() {
		return m.today
	}
	return day
}

var errStale = models.Errorf(models.Stale, "stale", "it was changed meanwhile: read it again, then edit")

// guard holds the version an edit was made for against the one that is there.
func guard(what string, want, has int) error {
	if want == has {
		return nil
	}
	return models.Errorf(models.Stale, "stale", "%s was changed meanwhile and is at version %d, not %d: read it again, then edit", what, has, want)
}

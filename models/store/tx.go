package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
	"gorm.io/gorm"

	"withybed/models"
)

// ErrNested is a transaction begun inside another one. It would wait for the
// first, which waits for it.
var ErrNested = errors.New("a transaction is already open")

// rerunsAtMost is how often a write that lost against another runs again.
const rerunsAtMost = 3

var (
	writing   = &sql.TxOptions{Isolation: sql.LevelReadCommitted}
	surveying = &sql.TxOptions{Isolation: sql.LevelRepeatableRead}
	reading   = &sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true}
)

// Tx is one transaction. It lives as long as the function it was handed to.
type Tx struct {
	db      *gorm.DB
	dialect string
	writes  bool
	known   time.Time // for what was known at an instant; zero for what is known
}

type insideTx struct{}

// Context is the context to hand on inside a transaction. Write and Read refuse
// it with ErrNested; a Write given the outer context instead waits for its turn
// in vain and is told that the database is busy.
func (tx *Tx) Context() context.Context { return tx.db.Statement.Context }

// Write runs do in one transaction that may change things (READ COMMITTED on
// PostgreSQL; alone on SQLite) and commits unless do fails, panics or ctx ends.
//
// do runs again, at most three times, when the database broke a deadlock or a
// serialization conflict at its cost, or when another came first with the same
// idempotency key, run of a job, reminder or handle of a token; so it must have no effects but those on tx. Its
// errors come back as they are, those of the database as explained in this
// package. If ctx ended, the error wraps the context's.
func (s *Store) Write(ctx context.Context, do func(tx *Tx) error) error {
	return s.write(ctx, writing, do)
}

func (s *Store) write(ctx context.Context, opts *sql.TxOptions, do func(tx *Tx) error) error {
	ctx, err := enter(ctx)
	if err != nil {
		return fmt.Errorf("write: %w", err)
	}
	for rerun := 0; ; rerun++ {
		err = s.writeOnce(ctx, opts, do)
		if rerun == rerunsAtMost || ctx.Err() != nil || !lostRace(err) {
			return err
		}
	}
}

// WriteSnapshot is Write for what reads much without holding it: all that do
// reads is of a single snapshot. One that meets another's writing runs again.
func (s *Store) WriteSnapshot(ctx context.Context, do func(tx *Tx) error) error {
	return s.write(ctx, surveying, do)
}

// Read runs do in one transaction that sees a single snapshot and can change
// nothing.
func (s *Store) Read(ctx context.Context, do func(tx *Tx) error) error {
	ctx, err := enter(ctx)
	if err != nil {
		return fmt.Errorf("read: %w", err)
	}
	return s.run(ctx, "read", s.reader, reading, do)
}

// enter marks a context as being inside a transaction.
func enter(ctx context.Context) (context.Context, error) {
	if ctx.Value(insideTx{}) != nil {
		return nil, ErrNested
	}
	return context.WithValue(ctx, insideTx{}, true), nil
}

func (s *Store) writeOnce(ctx context.Context, opts *sql.TxOptions, do func(tx *Tx) error) error {
	if err := s.takeTurn(ctx); err != nil {
		return fmt.Errorf("write: %w", err)
	}
	defer s.leaveTurn()
	if err := s.inPlace(); err != nil {
		return err
	}
	return s.run(ctx, "write", s.writer, opts, do)
}

func (s *Store) run(ctx context.Context, op string, db *gorm.DB, opts *sql.TxOptions, do func(tx *Tx) error) error {
	var said error
	err := db.WithContext(ctx).Transaction(func(g *gorm.DB) error {
		said = do(&Tx{db: g, dialect: s.dialect, writes: !opts.ReadOnly})
		return said
	}, opts)
	switch {
	case err == nil:
		return nil
	case ctx.Err() != nil && models.AsError(said) == nil:
		return fmt.Errorf("%s: %w (%w)", op, context.Cause(ctx), err)
	case said != nil:
		return said
	}
	return explain(op, err)
}

// takeTurn waits until no other goroutine writes to SQLite, first come, first served.
func (s *Store) takeTurn(ctx context.Context) error {
	if s.turn == nil {
		return nil
	}
	patience := time.NewTimer(lockWait)
	defer patience.Stop()
	select {
	case s.turn <- struct{}{}:
		return nil
	case <-ctx.Done():
		return context.Cause(ctx)
	case <-patience.C:
		return busy(errors.New("no turn to write within " + lockWait.String()))
	}
}

func (s *Store) leaveTurn() {
	if s.turn != nil {
		<-s.turn
	}
}

// lostRace tells whether a write failed only because another came first.
func lostRace(err error) bool {
	var pg *pgconn.PgError
	if errors.As(err, &pg) && (pg.Code == serializationFailure || pg.Code == deadlockDetected) {
		return true
	}
	for _, mark := range []string{"idempotency_keys_pkey", "job_runs_pkey", "reminders_week", "nursery_pkey", "tokens_handle_key"} {
		if IsDuplicate(err, mark) {
			return true
		}
	}
	return false
}

// Package migrations holds the schema of both databases as SQL files that are
// only ever added to, and brings a database up to date with them. The files of
// one number say the same thing in two dialects.
package migrations

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"time"

	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
	"github.com/rogpeppe/go-internal/lockedfile"
)

//go:embed postgres/*.sql sqlite/*.sql
var files embed.FS

// lockTries is how many seconds to wait for another server that is migrating.
const lockTries = 300

// Migration is one step of the schema.
type Migration struct {
	Version   int64
	Name      string    // of its file
	AppliedAt time.Time // in UTC; zero while pending
	Pending   bool
}

// VersionError is a schema that this program cannot work with.
type VersionError struct {
	Database int64 // the version of the database; 0 is an empty one
	Program  int64 // the version this program knows
}

// Error says which is behind, and what to do.
func (e *VersionError) Error() string {
	if e.Newer() {
		return fmt.Sprintf("the database is at version %d and this program knows only %d: use a newer withy", e.Database, e.Program)
	}
	return fmt.Sprintf("the database is at version %d and this program needs %d: run withy migrate up, or serve --migrate", e.Database, e.Program)
}

// Newer is true where the database is ahead of the program, which no migration mends.
func (e *VersionError) Newer() bool { return e.Database > e.Program }

// Up applies what is pending, in order, and returns it. The dialect is "sqlite"
// or "postgres". Two calls at once, in one process or in several, apply each
// step once: on PostgreSQL by an advisory lock, on SQLite by a lock on the file
// lockPath, which stays behind empty. A database newer than the program is left
// alone: *VersionError.
func Up(ctx context.Context, db *sql.DB, dialect, lockPath string) ([]Migration, error) {
	return up(ctx, files, db, dialect, lockPath)
}

func up(ctx context.Context, steps fs.FS, db *sql.DB, dialect, lockPath string) ([]Migration, error) {
	if lockPath != "" {
		release, err := lockFile(ctx, lockPath)
		if err != nil {
			return nil, fmt.Errorf("lock %s to migrate: %w", lockPath, err)
		}
		defer release()
	}
	var wrong *VersionError
	if err := check(ctx, steps, db, dialect); errors.As(err, &wrong) && wrong.Newer() {
		return nil, err
	} else if err != nil && wrong == nil {
		return nil, err
	}
	provider, err := newProvider(steps, db, dialect)
	if err != nil {
		return nil, err
	}
	results, err := provider.Up(ctx)
	if err != nil {
		return nil, fmt.Errorf("migrate: %w", err)
	}
	return applied(ctx, steps, db, dialect, results)
}

// applied are the steps that were just taken, as the database noted them.
func applied(ctx context.Context, steps fs.FS, db *sql.DB, dialect string, results []*goose.MigrationResult) ([]Migration, error) {
	taken := make(map[int64]bool, len(results))
	for _, r := range results {
		taken[r.Source.Version] = true
	}
	all, err := status(ctx, steps, db, dialect)
	if err != nil {
		return nil, err
	}
	var now []Migration
	for _, m := range all {
		if taken[m.Version] {
			now = append(now, m)
		}
	}
	return now, nil
}

// lockFile waits for the lock until ctx ends.
func lockFile(ctx context.Context, name string) (release func(), err error) {
	type result struct {
		release func()
		err     error
	}
	got := make(chan result, 1)
	go func() {
		release, err := lockedfile.MutexAt(name).Lock()
		got <- result{release, err}
	}()
	select {
	case r := <-got:
		return r.release, r.err
	case <-ctx.Done():
		go func() {
			if r := <-got; r.err == nil {
				r.release()
			}
		}()
		return nil, context.Cause(ctx)
	}
}

func newProvider(steps fs.FS, db *sql.DB, dialect string) (*goose.Provider, error) {
	folder, err := fs.Sub(steps, dialect)
	if err != nil {
		return nil, err
	}
	options := []goose.ProviderOption{goose.WithLogger(goose.NopLogger()), goose.WithDisableGlobalRegistry(true)}
	if dialect == "sqlite" {
		return goose.NewProvider(goose.DialectSQLite3, db, folder, options...)
	}
	locker, err := lock.NewPostgresSessionLocker(lock.WithLockTimeout(1, lockTries))
	if err != nil {
		return nil, err
	}
	return goose.NewProvider(goose.DialectPostgres, db, folder, append(options, goose.WithSessionLocker(locker))...)
}

// Status tells every step this program knows, and any newer one that the
// database has, in order. It changes nothing, not even in an empty database.
func Status(ctx context.Context, db *sql.DB, dialect string) ([]Migration, error) {
	return status(ctx, files, db, dialect)
}

func status(ctx context.Context, steps fs.FS, db *sql.DB, dialect string) ([]Migration, error) {
	provider, err := newProvider(steps, db, dialect)
	if err != nil {
		return nil, err
	}
	done, err := history(ctx, db, dialect)
	if err != nil {
		return nil, fmt.Errorf("read the schema's version: %w", err)
	}
	var all []Migration
	last := int64(0)
	for _, source := range provider.ListSources() {
		at, found := done[source.Version]
		all = append(all, Migration{source.Version, path.Base(source.Path), at, !found})
		last = source.Version
	}
	return append(all, unknown(done, last)...), nil
}

// Check is nil when the database has exactly the schema of this program, and a
// *VersionError when it is older or newer.
func Check(ctx context.Context, db *sql.DB, dialect string) error {
	return check(ctx, files, db, dialect)
}

func check(ctx context.Context, steps fs.FS, db *sql.DB, dialect string) error {
	database, program, err := versions(ctx, steps, db, dialect)
	if err != nil {
		return err
	}
	if database != program {
		return &VersionError{Database: database, Program: program}
	}
	return nil
}

// Version is the version of the schema of the database; 0 is an empty one.
func Version(ctx context.Context, db *sql.DB, dialect string) (int64, error) {
	database, _, err := versions(ctx, files, db, dialect)
	return database, err
}

func versions(ctx context.Context, steps fs.FS, db *sql.DB, dialect string) (database, program int64, err error) {
	all, err := status(ctx, steps, db, dialect)
	for _, m := range all {
		if !m.Pending {
			database = m.Version
		}
		if m.Name != "" {
			program = m.Version
		}
	}
	return database, program, err
}

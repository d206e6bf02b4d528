package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"strings"
	"syscall"

	"github.com/jackc/pgx/v5/pgconn"
	"gorm.io/gorm"
	sqlite "modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"withybed/models"
)

// ErrNoRow is a row that is not there.
var ErrNoRow = errors.New("no such row")

// Duplicate is a row refused because its key is taken. Constraint is the name
// of the primary key, unique constraint or unique index, and is the same on both
// databases: the schemas name them all.
type Duplicate struct {
	Constraint string
	cause      error
}

// Error names the constraint.
func (d *Duplicate) Error() string { return "already there (" + d.Constraint + ")" }

// Unwrap is the driver's error.
func (d *Duplicate) Unwrap() error { return d.cause }

// IsDuplicate tells whether err is a row refused by that constraint.
func IsDuplicate(err error, constraint string) bool {
	var d *Duplicate
	return errors.As(err, &d) && d.Constraint == constraint
}

// The codes of PostgreSQL that are looked for (appendix A of its manual).
const (
	uniqueViolation      = "23505"
	serializationFailure = "40001"
	deadlockDetected     = "40P01"
	lockNotAvailable     = "55P03"
	readOnlyTransaction  = "25006"
	diskFull             = "53100"
	tooManyConnections   = "53300"
	unknownDatabase      = "3D000"
	loginClass           = "28"
	connectionClass      = "08"
	shutdownClass        = "57P"
)

// explained is an error for people with the driver's error behind it.
type explained struct {
	error *models.Error
	cause error
}

func (e *explained) Error() string   { return e.error.Error() + ": " + e.cause.Error() }
func (e *explained) Unwrap() []error { return []error{e.error, e.cause} }

func unavailable(cause error, code, detail string) error {
	return &explained{models.Errorf(models.Unavailable, code, "%s", detail), cause}
}

func busy(cause error) error {
	return unavailable(cause, "database-busy", "the database is busy with other writes: try again in a moment")
}

func unreachable(cause error) error {
	return unavailable(cause, "database-unavailable", "the database cannot be reached: check that it runs and try again")
}

func unusable(cause error) error {
	return unavailable(cause, "database-unavailable", "the database file cannot be used: check that it is a file, that its folder is there, and the rights on both")
}

func full(cause error) error {
	return unavailable(cause, "disk-full", "the disk of the database is full: free some space and try again")
}

func readOnly(cause error) error {
	return unavailable(cause, "database-read-only", "the database can only be read: check the rights on it, or that this is not a standby")
}

// explain turns an error of gorm or of a driver into one that says what it
// means, wrapped with the operation: ErrNoRow, a Duplicate, or a models.Error of
// the kind Unavailable. What it does not know, a broken foreign key or check
// among it, is wrapped as it is. nil stays nil, and what was explained before is
// only wrapped.
func explain(op string, err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%s: %w", op, meaning(err))
}

func meaning(err error) error {
	var known *explained
	var duplicate *Duplicate
	var pg *pgconn.PgError
	var lite *sqlite.Error
	var path *fs.PathError
	switch {
	case errors.As(err, &known), errors.As(err, &duplicate), errors.Is(err, ErrNoRow):
		return err
	case errors.Is(err, gorm.ErrRecordNotFound), errors.Is(err, sql.ErrNoRows):
		return ErrNoRow
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return err
	case errors.As(err, &pg):
		return meaningOfPostgres(pg, err)
	case errors.As(err, &lite):
		return meaningOfSQLite(lite, err)
	case errors.Is(err, syscall.ENOSPC):
		return full(err)
	case errors.As(err, &path): // before a lost connection, whose look its cause has
		return unusable(err)
	case lostConnection(err):
		return unreachable(err)
	}
	return err
}

func meaningOfPostgres(pg *pgconn.PgError, err error) error {
	switch pg.Code {
	case uniqueViolation:
		return &Duplicate{Constraint: pg.ConstraintName, cause: err}
	case serializationFailure, deadlockDetected, lockNotAvailable:
		return busy(err)
	case readOnlyTransaction:
		return readOnly(err)
	case diskFull:
		return full(err)
	case tooManyConnections:
		return unreachable(err)
	case unknownDatabase:
		return unavailable(err, "database-unavailable", "the server has no database of that name: make it first, or check the name in its address")
	}
	if strings.HasPrefix(pg.Code, loginClass) {
		return unavailable(err, "database-unavailable", "the database does not let this user in: check the user and the password in its address")
	}
	var connecting *pgconn.ConnectError
	if strings.HasPrefix(pg.Code, connectionClass) || strings.HasPrefix(pg.Code, shutdownClass) || errors.As(err, &connecting) {
		return unreachable(err)
	}
	return err
}

func meaningOfSQLite(lite *sqlite.Error, err error) error {
	switch lite.Code() & 0xff { // the primary code, without its details
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return busy(err)
	case sqlite3.SQLITE_FULL:
		return full(err)
	case sqlite3.SQLITE_READONLY:
		return readOnly(err)
	case sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_IOERR:
		return unusable(err)
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		return unavailable(err, "database-unavailable", "the database file is damaged or is no database: put back a copy of it")
	}
	return err
}

// lostConnection tells whether the way to the database is gone. SafeToRetry is
// pgx's word for a connection found closed before anything was sent.
func lostConnection(err error) bool {
	var network net.Error
	var connecting *pgconn.ConnectError
	return errors.As(err, &network) || errors.As(err, &connecting) || pgconn.SafeToRetry(err) ||
		errors.Is(err, driver.ErrBadConn) || errors.Is(err, sql.ErrConnDone) ||
		errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF)
}

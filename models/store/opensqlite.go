package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	"github.com/libtnb/sqlite"
	"gorm.io/gorm"

	"withybed/models"
)

// openSQLite opens one connection that writes and a pool that reads. More
// writers would only wait for each other, and in no order.
func openSQLite(ctx context.Context, name string) (*Store, error) {
	path, err := makeFile(name)
	if err != nil {
		return nil, err
	}
	writing, err := sql.Open(sqlite.DriverName, dsn(path, "_txlock=immediate&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=secure_delete(1)"))
	if err != nil {
		return nil, err
	}
	limit(writing, 1)
	reading, err := sql.Open(sqlite.DriverName, dsn(path, "_query_only=1"))
	if err != nil {
		return nil, errors.Join(err, writing.Close())
	}
	limit(reading, poolOpen)
	names := &constraintNames{schema: reading}
	writer, err := wrap(ctx, writing, sqliteOn(writing, names)) // first: it makes the log the readers need
	if err != nil {
		return nil, errors.Join(err, reading.Close())
	}
	reader, err := wrap(ctx, reading, sqliteOn(reading, names))
	if err != nil {
		return nil, errors.Join(err, writing.Close())
	}
	file, err := os.Stat(path)
	if err != nil {
		return nil, errors.Join(err, reading.Close(), writing.Close())
	}
	return &Store{dialect: SQLite, path: path, file: file, writer: writer, reader: reader, turn: make(chan struct{}, 1)}, nil
}

// inPlace is an error where the file that was opened is no longer the one at its
// path: what is written to a file that was deleted is gone with this process.
func (s *Store) inPlace() error {
	if s.file == nil {
		return nil
	}
	if there, err := os.Stat(s.path); err == nil && os.SameFile(there, s.file) {
		return nil
	}
	return models.Errorf(models.Unavailable, "database-unavailable",
		"the database file %s was moved, deleted or replaced while it was open: put it back and start again", s.path)
}

func sqliteOn(pool *sql.DB, names *constraintNames) gorm.Dialector {
	return namingDialector{&sqlite.Dialector{Conn: pool}, names}
}

// makeFile gives the absolute path of a SQLite file, made if it is missing.
func makeFile(name string) (string, error) {
	switch {
	case name == "" || strings.HasPrefix(name, ":"):
		return "", fmt.Errorf("sqlite:%s names no file: write sqlite:PATH", name)
	case strings.HasPrefix(name, "//") && !strings.HasPrefix(name, "///"):
		return "", fmt.Errorf("sqlite:%s names a host: write sqlite:PATH", name)
	}
	path, err := filepath.Abs(name)
	if err != nil {
		return "", err
	}
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return "", fmt.Errorf("%s is a folder: name a file in it, as in sqlite:%s", path, filepath.Join(path, "withybed.db"))
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return "", err
	}
	// Made here and not by SQLite, which would let others read where rare plants grow.
	file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return "", err
	}
	return path, file.Close()
}

// dsn is the driver's name for a file. The path is escaped, since a bare ?, #
// or % in it would open another file. Instants are written in UTC with their
// offset, so that they sort as text.
func dsn(path, params string) string {
	slashed := filepath.ToSlash(path)
	if !strings.HasPrefix(slashed, "/") {
		slashed = "/" + slashed // a drive letter
	}
	return "file://" + (&url.URL{Path: slashed}).EscapedPath() +
		"?_pragma=busy_timeout(" + milliseconds(lockWait) + ")&_pragma=foreign_keys(1)" +
		"&_time_format=sqlite&_timezone=UTC&" + params
}

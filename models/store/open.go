// Package store keeps the nouns of the nursery in a database: an embedded
// SQLite file or PostgreSQL. It is SQL and nothing else, and the only room that
// knows gorm. Every query is a method of Tx, and a Tx exists only inside Write
// or Read.
//
// Instants are kept in UTC. On SQLite their columns are declared DATETIME, by
// which the driver knows to hand them back as instants; an aggregate such as
// max() loses that, so the latest one is found with ORDER BY and LIMIT.
package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/logger"
)

// The dialects, as Dialect says them.
const (
	SQLite   = "sqlite"
	Postgres = "postgres"
)

const (
	poolOpen   = 16 // connections to PostgreSQL, or readers of SQLite, at most
	poolIdle   = 8
	idleFor    = 5 * time.Minute
	lockWait   = 10 * time.Second // for a lock or for the writer's turn
	idleInside = 60 * time.Second // a transaction that does nothing for so long is ended
)

// Store is an open database. It is safe for use by many goroutines.
type Store struct {
	dialect        string
	path           string // of the SQLite file
	file           os.FileInfo
	writer, reader *gorm.DB
	turn           chan struct{} // holds one item while SQLite is being written; nil on PostgreSQL
}

// Open opens the database at url: postgres://… or postgresql://…, or
// sqlite:PATH, where PATH is a file name taken as it stands, with no query. A
// missing SQLite file is made, with its folder, for this user alone. The schema
// is not looked at: that is for the package migrations.
//
// A URL that cannot be read is an error naming what is wrong; it never repeats
// the password. A database that cannot be reached is Unavailable.
func Open(ctx context.Context, url string) (*Store, error) {
	s, err := open(ctx, url)
	if err != nil {
		return nil, explain("open the database", err)
	}
	return s, nil
}

func open(ctx context.Context, url string) (*Store, error) {
	scheme, rest, _ := strings.Cut(url, ":")
	switch scheme {
	case "postgres", "postgresql":
		return openPostgres(ctx, url)
	case "sqlite":
		return openSQLite(ctx, rest)
	}
	return nil, errors.New("the address must begin with postgres:// or with sqlite: and a path")
}

func milliseconds(d time.Duration) string { return fmt.Sprint(d.Milliseconds()) }

func limit(pool *sql.DB, open int) {
	pool.SetMaxOpenConns(open)
	pool.SetMaxIdleConns(min(open, poolIdle))
	if open > 1 {
		pool.SetConnMaxIdleTime(idleFor)
	}
}

// wrap puts gorm on a pool that answers, and closes one that does not.
// PrepareStmt stays off: pgx keeps prepared statements by itself, and on SQLite
// all is done in transactions, where a statement prepared outside is prepared
// once more.
func wrap(ctx context.Context, pool *sql.DB, dialector gorm.Dialector) (*gorm.DB, error) {
	err := pool.PingContext(ctx)
	if err != nil {
		return nil, errors.Join(err, pool.Close())
	}
	db, err := gorm.Open(dialector, &gorm.Config{
		Logger:                 watcher{logger.Discard},
		SkipDefaultTransaction: true,
		TranslateError:         true,
		DisableAutomaticPing:   true,
		QueryFields:            true, // names the columns, so that one that is added upsets no server that runs
	})
	if err != nil {
		return nil, errors.Join(err, pool.Close())
	}
	return db, nil
}

// Close ends every connection, after the transactions that are under way.
func (s *Store) Close() error {
	err := s.pool(s.reader).Close()
	if s.dialect == SQLite {
		// The last connection to close folds the write-ahead log into the file.
		err = errors.Join(err, s.SQL().Close())
	}
	return err
}

// Ping says whether the database answers, and is Unavailable if it does not.
func (s *Store) Ping(ctx context.Context) error {
	if err := s.inPlace(); err != nil {
		return err
	}
	return explain("reach the database", s.pool(s.reader).PingContext(ctx))
}

// FoldLog writes the write-ahead log of SQLite into its file and empties it, so
// that what was deleted stands in neither. Where others read meanwhile it is left
// to the next time. PostgreSQL sees to its log by itself.
func (s *Store) FoldLog(ctx context.Context) error {
	if s.dialect == Postgres {
		return nil
	}
	if err := s.takeTurn(ctx); err != nil {
		return fmt.Errorf("fold the log: %w", err)
	}
	defer s.leaveTurn()
	_, err := s.SQL().ExecContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)")
	return explain("fold the log", err)
}

// Dialect is "sqlite" or "postgres".
func (s *Store) Dialect() string { return s.dialect }

// SQL is the pool that writes, for the migrations alone.
func (s *Store) SQL() *sql.DB { return s.pool(s.writer) }

// Pools are the pools of connections by what they do, for those who watch how
// busy they are.
func (s *Store) Pools() map[string]*sql.DB {
	if s.writer == s.reader {
		return map[string]*sql.DB{"all": s.SQL()}
	}
	return map[string]*sql.DB{"writer": s.SQL(), "reader": s.pool(s.reader)}
}

// LockPath is the file that keeps two processes from migrating one SQLite file
// at once. It is empty on PostgreSQL, which has locks of its own.
func (s *Store) LockPath() string {
	if s.dialect == Postgres {
		return ""
	}
	return s.path + ".lock"
}

func (s *Store) pool(db *gorm.DB) *sql.DB {
	pool, _ := db.DB() // fails only for a pool that is not a *sql.DB, and open makes no other
	return pool
}

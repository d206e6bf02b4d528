package migrations

import (
	"context"
	"database/sql"
	"slices"
	"time"
)

// The table where goose notes what it did, asked for without making it. Its
// instants have no zone: PostgreSQL writes the session's, SQLite writes UTC.
const (
	hasHistoryPostgres = `SELECT to_regclass('goose_db_version') IS NOT NULL`
	hasHistorySQLite   = `SELECT count(*) > 0 FROM sqlite_master WHERE type = 'table' AND name = 'goose_db_version'`
	historyPostgres    = `SELECT version_id, is_applied, tstamp::timestamptz FROM goose_db_version WHERE version_id > 0 ORDER BY id`
	historySQLite      = `SELECT version_id, is_applied, tstamp FROM goose_db_version WHERE version_id > 0 ORDER BY id`
)

// history is when each version was applied.
func history(ctx context.Context, db *sql.DB, dialect string) (map[int64]time.Time, error) {
	has, list := hasHistoryPostgres, historyPostgres
	if dialect == "sqlite" {
		has, list = hasHistorySQLite, historySQLite
	}
	var exists bool
	if err := db.QueryRowContext(ctx, has).Scan(&exists); err != nil || !exists {
		return nil, err
	}
	rows, err := db.QueryContext(ctx, list)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	done := map[int64]time.Time{}
	for rows.Next() {
		var version int64
		var applied bool
		var at time.Time
		if err := rows.Scan(&version, &applied, &at); err != nil {
			return nil, err
		}
		delete(done, version)
		if applied {
			done[version] = at.UTC()
		}
	}
	return done, rows.Err()
}

// unknown are the versions of the database beyond the last one of this program.
func unknown(done map[int64]time.Time, last int64) []Migration {
	var newer []Migration
	for version, at := range done {
		if version > last {
			newer = append(newer, Migration{Version: version, AppliedAt: at})
		}
	}
	slices.SortFunc(newer, func(a, b Migration) int { return int(a.Version - b.Version) })
	return newer
}

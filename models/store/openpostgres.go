package store

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype"
	"github.com/jackc/pgx/v5/stdlib"
	"gorm.io/driver/postgres"
)

func openPostgres(ctx context.Context, url string) (*Store, error) {
	config, err := pgx.ParseConfig(url)
	if err != nil {
		return nil, err
	}
	setDefault(config.RuntimeParams, "application_name", "withy")
	setDefault(config.RuntimeParams, "lock_timeout", milliseconds(lockWait))
	setDefault(config.RuntimeParams, "idle_in_transaction_session_timeout", milliseconds(idleInside))
	pool := stdlib.OpenDB(*config, stdlib.OptionAfterConnect(readTimesAsUTC))
	limit(pool, poolOpen)
	db, err := wrap(ctx, pool, postgres.New(postgres.Config{Conn: pool}))
	if err != nil {
		return nil, err
	}
	return &Store{dialect: Postgres, writer: db, reader: db}, nil
}

func setDefault(params map[string]string, name, value string) {
	if _, given := params[name]; !given {
		params[name] = value
	}
}

// readTimesAsUTC makes instants come back in UTC, whatever the time zones of
// the server, the session and this machine.
func readTimesAsUTC(_ context.Context, conn *pgx.Conn) error {
	conn.TypeMap().RegisterType(&pgtype.Type{
		Name: "timestamptz", OID: pgtype.TimestamptzOID,
		Codec: &pgtype.TimestamptzCodec{ScanLocation: time.UTC},
	})
	return nil
}

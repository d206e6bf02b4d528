package store

import (
	"context"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/logger"
)

// Counting is the transaction with its statements counted.
func (tx *Tx) Counting(statements *int) *Tx {
	counted := *tx
	counted.db = tx.db.Session(&gorm.Session{Logger: counter{logger.Discard, statements}})
	return &counted
}

type counter struct {
	logger.Interface
	statements *int
}

func (c counter) Trace(context.Context, time.Time, func() (string, int64), error) { *c.statements++ }

// CursorOf is cursorOf.
func CursorOf(list string, keys ...string) string { return cursorOf(list, keys...) }

// ParseCursor is parseCursor.
func ParseCursor(list, cursor string, n int) ([]string, error) { return parseCursor(list, cursor, n) }

package store

import (
	"context"
	"time"

	"gorm.io/gorm/logger"
)

type watching struct{}

// Watch is a context under which see is told every statement that is run, with
// its values filled in: to count them, or to ask the database how it plans them.
func Watch(ctx context.Context, see func(statement string)) context.Context {
	return context.WithValue(ctx, watching{}, see)
}

// watcher is gorm's log. It says nothing but to those who watch.
type watcher struct{ logger.Interface }

// Trace is called by gorm after each statement.
func (watcher) Trace(ctx context.Context, _ time.Time, statement func() (string, int64), _ error) {
	if see, watched := ctx.Value(watching{}).(func(string)); watched {
		text, _ := statement()
		see(text)
	}
}

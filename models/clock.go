package models

import "time"

// Clock says what time it is. Only the command line makes a real one; every
// other room is handed one.
type Clock func() time.Time

// Now is the clock's instant in UTC, to the millisecond, as both databases keep it.
func (c Clock) Now() time.Time { return c().UTC().Truncate(time.Millisecond) }

// FixedClock always says the same instant.
func FixedClock(t time.Time) Clock { return func() time.Time { return t } }

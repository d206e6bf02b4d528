package models

import (
	"database/sql/driver"
	"fmt"
	"time"
)

// Date is a civil day in the nursery's time zone, without a time or an offset.
// The zero value is no day at all. Dates compare with == and sort by Compare.
type Date struct {
	n int32 // days since 0000-12-31, so that 0 is no day
}

// FirstYear and LastYear bound every date that is read: records older or later
// than these are slips of the pen.
const (
	FirstYear = 1900
	LastYear  = 2199
)

const dateLayout = time.DateOnly

var dayZero = time.Date(0, 12, 31, 0, 0, 0, 0, time.UTC)

const secondsPerDay = 24 * 60 * 60

// NewDate is the day y-m-d; days beyond the month's end run on into the next.
func NewDate(y int, m time.Month, d int) Date {
	return dateOf(time.Date(y, m, d, 0, 0, 0, 0, time.UTC))
}

func dateOf(t time.Time) Date {
	return Date{n: int32((t.Unix() - dayZero.Unix()) / secondsPerDay)}
}

// DateIn is the day an instant falls on in a place.
func DateIn(t time.Time, place *time.Location) Date {
	y, m, d := t.In(place).Date()
	return NewDate(y, m, d)
}

// ParseDate reads YYYY-MM-DD, years 1900 to 2199, and nothing else.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(dateLayout, s)
	if err != nil {
		return Date{}, fmt.Errorf("%q is not a date: write year-month-day, as in 2026-01-17", s)
	}
	if t.Year() < FirstYear || t.Year() > LastYear {
		return Date{}, fmt.Errorf("%q is not a likely date: years run from %d to %d", s, FirstYear, LastYear)
	}
	return dateOf(t), nil
}

// MustDate is ParseDate for days known to be right; it panics otherwise.
func MustDate(s string) Date {
	d, err := ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

func (d Date) time() time.Time { return dayZero.AddDate(0, 0, int(d.n)) }

// IsZero says that there is no day.
func (d Date) IsZero() bool { return d.n == 0 }

// String is YYYY-MM-DD, or empty for no day.
func (d Date) String() string {
	if d.IsZero() {
		return ""
	}
	return d.time().Format(dateLayout)
}

// Add is the day n days later, earlier if n is negative.
func (d Date) Add(n int) Date { return Date{n: d.n + int32(n)} }

// Sub is the number of days from o to d.
func (d Date) Sub(o Date) int { return int(d.n - o.n) }

// Before says that d comes before o.
func (d Date) Before(o Date) bool { return d.n < o.n }

// After says that d comes after o.
func (d Date) After(o Date) bool { return d.n > o.n }

// Compare is -1, 0 or 1 as d is before, on or after o.
func (d Date) Compare(o Date) int {
	switch {
	case d.n < o.n:
		return -1
	case d.n > o.n:
		return 1
	}
	return 0
}

// Later is the later of two days.
func Later(a, b Date) Date {
	if a.After(b) {
		return a
	}
	return b
}

// Year is the calendar year.
func (d Date) Year() int { return d.time().Year() }

// MonthDay is the month and the day of the month.
func (d Date) MonthDay() (time.Month, int) {
	_, m, day := d.time().Date()
	return m, day
}

// Weekday is the day of the week.
func (d Date) Weekday() time.Weekday { return d.time().Weekday() }

// At is the instant of a full hour of this day in a place. Where the clocks skip
// that hour, or even the day, it is the instant they do; an hour that comes twice
// is the first.
func (d Date) At(hour int, place *time.Location) time.Time {
	y, m, day := d.time().Date()
	at := time.Date(y, m, day, hour, 0, 0, 0, place)
	shown := DateIn(at, place)
	if shown == d && at.Hour() == hour {
		return at
	}
	before, after := at.ZoneBounds()
	if shown.Before(d) || shown == d && at.Hour() < hour {
		return after
	}
	return before
}

// Season is the growth year that holds the day, 1 July to 30 June, as 2026/27.
func (d Date) Season() string {
	y := d.Year()
	if m, _ := d.MonthDay(); m < time.July {
		y--
	}
	return fmt.Sprintf("%d/%02d", y, (y+1)%100)
}

// MarshalText writes YYYY-MM-DD.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads YYYY-MM-DD; empty text is no day.
func (d *Date) UnmarshalText(text []byte) error {
	if len(text) == 0 {
		*d = Date{}
		return nil
	}
	parsed, err := ParseDate(string(text))
	if err != nil {
		return err
	}
	*d = parsed
	return nil
}

// Value stores the day as text, and no day as NULL.
func (d Date) Value() (driver.Value, error) {
	if d.IsZero() {
		return nil, nil
	}
	return d.String(), nil
}

// Scan reads a day from a database of either dialect.
func (d *Date) Scan(src any) error {
	switch v := src.(type) {
	case nil:
		*d = Date{}
		return nil
	case time.Time:
		*d = NewDate(v.Date())
		return nil
	case string:
		return d.UnmarshalText([]byte(v))
	case []byte:
		return d.UnmarshalText(v)
	}
	return fmt.Errorf("cannot read a day from %T", src)
}

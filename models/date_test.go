package models

import (
	"encoding/json"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestParseDate(t *testing.T) {
	for text, good := range map[string]bool{
		"2026-01-17": true, "2028-02-29": true, "1900-01-01": true, "2199-12-31": true,
		"": false, "2026-02-29": false, "2026-13-01": false, "2026-00-10": false, "2026-1-17": false, "26-01-17": false,
		"2026/01/17": false, "17.01.2026": false, " 2026-01-17": false, "2026-01-17T00:00:00Z": false,
		"1899-12-31": false, "2200-01-01": false, "+2026-01-17": false, "2026-01-32": false, "20260117": false,
	} {
		day, err := ParseDate(text)
		if (err == nil) != good {
			t.Errorf("%q: %v", text, err)
		}
		if good && day.String() != text {
			t.Errorf("%q is read as %s", text, day)
		}
	}
}

func TestMustDatePanics(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("no panic")
		}
	}()
	MustDate("yesterday")
}

func TestDateIn(t *testing.T) {
	west, err := time.LoadLocation("America/Los_Angeles")
	if err != nil {
		t.Fatal(err)
	}
	instant := time.Date(2026, 3, 1, 7, 59, 59, 0, time.UTC)
	if got := DateIn(instant, west); got != MustDate("2026-02-28") {
		t.Errorf("a second before midnight in the west it is %s", got)
	}
	if got := DateIn(instant.Add(time.Second), west); got != MustDate("2026-03-01") {
		t.Errorf("at midnight in the west it is %s", got)
	}
}

func TestDatesAreCivilDays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		day, n := drawDate(t), rapid.IntRange(-40000, 40000).Draw(t, "days")
		plain := time.Date(day.Year(), 1, 1, 12, 0, 0, 0, time.UTC)
		m, d := day.MonthDay()
		plain = time.Date(plain.Year(), m, d, 12, 0, 0, 0, time.UTC)
		if got, want := day.Add(n).String(), plain.AddDate(0, 0, n).Format(time.DateOnly); got != want {
			t.Errorf("%s and %d days is %s, want %s", day, n, got, want)
		}
		if day.Weekday() != plain.Weekday() || day.Add(n).Sub(day) != n {
			t.Errorf("%s is a %s, and %d days off %s", day, day.Weekday(), day.Add(n).Sub(day), day.Add(n))
		}
		if day.Add(n).Before(day) != (n < 0) || day.Add(n).After(day) != (n > 0) || sign(day.Add(n).Compare(day)) != sign(n) {
			t.Errorf("%s and %s are out of order", day, day.Add(n))
		}
	})
}

func sign(n int) int { return min(1, max(-1, n)) }

func drawDate(t *rapid.T) Date {
	return MustDate("1900-01-01").Add(rapid.IntRange(0, 109572).Draw(t, "day"))
}

func TestDatesAreKeptAsText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		day := drawDate(t)
		text, err := json.Marshal(day)
		if err != nil {
			t.Fatal(err)
		}
		var read Date
		if err := json.Unmarshal(text, &read); err != nil || read != day {
			t.Errorf("%s is written %s and read %s, %v", day, text, read, err)
		}
		stored, err := day.Value()
		if err != nil {
			t.Fatal(err)
		}
		noon := time.Date(day.Year(), time.January, 1, 0, 0, 0, 0, time.FixedZone("", -8*60*60)).AddDate(0, 0, day.Sub(NewDate(day.Year(), 1, 1)))
		for _, src := range []any{stored, []byte(day.String()), noon} {
			if err := read.Scan(src); err != nil || read != day {
				t.Errorf("%v is scanned as %s, %v", src, read, err)
			}
		}
	})
}

func TestNoDay(t *testing.T) {
	var day Date
	if value, err := day.Value(); value != nil || err != nil || day.String() != "" || !day.IsZero() {
		t.Errorf("no day is %q, stored as %v", day, value)
	}
	set := MustDate("2026-01-17")
	if err := set.Scan(nil); err != nil || !set.IsZero() {
		t.Errorf("NULL is %s, %v", set, err)
	}
	set = MustDate("2026-01-17")
	if err := set.UnmarshalText(nil); err != nil || !set.IsZero() {
		t.Errorf("empty text is %s, %v", set, err)
	}
	if err := set.Scan(7); err == nil {
		t.Error("a number is read as a day")
	}
	if err := set.Scan("soon"); err == nil {
		t.Error("a word is read as a day")
	}
}

func TestHoursThatTheClocksSkipOrRepeat(t *testing.T) {
	west, err := time.LoadLocation("America/Los_Angeles")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		day  string
		hour int
		utc  string
	}{
		{"2026-01-17", 7, "2026-01-17T15:00:00Z"},
		{"2026-03-08", 2, "2026-03-08T10:00:00Z"}, // skipped: 3 in the morning
		{"2026-11-01", 1, "2026-11-01T08:00:00Z"}, // twice: the first
	} {
		if got := MustDate(c.day).At(c.hour, west).UTC().Format(time.RFC3339); got != c.utc {
			t.Errorf("%d o'clock of %s is %s, want %s", c.hour, c.day, got, c.utc)
		}
	}
}

func TestSeasons(t *testing.T) {
	for on, season := range map[string]string{
		"2026-06-30": "2025/26", "2026-07-01": "2026/27", "2026-12-31": "2026/27", "2027-01-01": "2026/27",
		"1999-07-01": "1999/00", "2099-12-01": "2099/00", "2000-06-30": "1999/00",
	} {
		if got := MustDate(on).Season(); got != season {
			t.Errorf("%s is of the season %s, want %s", on, got, season)
		}
	}
}

func FuzzParseDate(f *testing.F) {
	for _, seed := range []string{"2026-01-17", "2026-02-29", "", "0000-00-00", "9999-12-31", "2026-01-17 ", "２０２６-01-17"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		day, err := ParseDate(text)
		if err != nil {
			return
		}
		if day.String() != text || day.IsZero() || day.Year() < FirstYear || day.Year() > LastYear {
			t.Errorf("%q is read as %s", text, day)
		}
	})
}

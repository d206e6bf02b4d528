package cli

import (
	"testing"

	"withybed/models"
)

func TestDaysOfAPlan(t *testing.T) {
	today, err := models.ParseDate("2026-01-19")
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]string{
		"today": "2026-01-19", "yesterday": "2026-01-18", "10-days-ago": "2026-01-09",
		"tomorrow": "2026-01-20", "1-day-ahead": "2026-01-20", "10 days ahead": "2026-01-29",
	} {
		read, err := parseDayAhead(text)
		if err != nil {
			t.Fatal(err)
		}
		got, err := read.at(models.NurseryView{Today: today})
		if err != nil || got.String() != want {
			t.Errorf("%s is %s, %v, and not %s", text, got, err, want)
		}
	}
	for _, text := range []string{"soon", "-3-days-ahead", "99999-days-ahead", "ahead"} {
		if read, err := parseDayAhead(text); err == nil {
			t.Errorf("%s is read as %+v", text, read)
		}
	}
	if _, err := parseDay("tomorrow"); err == nil {
		t.Error("a day that was is to be tomorrow")
	}
}

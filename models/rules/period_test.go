package rules_test

import (
	"testing"

	"withybed/models"
	"withybed/models/rules"
)

func TestPeriod(t *testing.T) {
	day := func(text string) models.Date {
		if text == "" {
			return models.Date{}
		}
		return date(text)
	}
	for _, c := range []struct{ from, to, today, first, last string }{
		{"", "", "2026-01-17", "2025-07-01", "2026-06-30"},
		{"", "", "2026-06-30", "2025-07-01", "2026-06-30"},
		{"", "", "2026-07-01", "2026-07-01", "2027-06-30"},
		{"2024-03-01", "", "2026-01-17", "2024-03-01", "2026-06-30"},
		{"2026-08-01", "", "2026-01-17", "2026-08-01", "2027-06-30"},
		{"", "2025-03-01", "2026-01-17", "2024-07-01", "2025-03-01"},
		{"2026-01-17", "2026-01-17", "2026-01-17", "2026-01-17", "2026-01-17"},
	} {
		first, last, err := rules.Period(day(c.from), day(c.to), day(c.today))
		if err != nil || first != day(c.first) || last != day(c.last) {
			t.Errorf("%+v: %s to %s, %v", c, first, last, err)
		}
	}
	_, _, err := rules.Period(day("2026-01-18"), day("2026-01-17"), day("2026-01-17"))
	if e := models.AsError(err); e == nil || e.Code != "out-of-order" || e.Kind != models.Invalid {
		t.Errorf("turned round: %v", err)
	}
}

package rules_test

import (
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/rules"
)

func TestLeaveToCutIsNeverImplied(t *testing.T) {
	stand := standOf(counted("2026-01-01", "800"))
	plants := standOf(counted("2026-01-01", "800", 40))
	const ask = " Leave to cut is not on file: ask the land manager (Wrenlow Valley Parks)."
	for _, c := range []struct {
		stand   *models.StandRecord
		stems   int
		parents *int
		want    string
	}{
		{stand, 24, nil, "24 stems are within the count." + ask},
		{stand, 1, nil, "1 stem is within the count." + ask},
		{stand, 41, nil, "41 stems are not within the count: 0 of 40 stems are taken in the 350 days to 2026-01-17 (0.05 × 800, the lower bound of the census count of 2026-01-01); not before a new count." + ask},
		{plants, 5, nil, "5 stems are within the count, with the per-plant rule left out: say from how many plants they are cut." + ask},
		{plants, 5, ptr(10), "5 stems are within the count." + ask},
	} {
		if got := rules.Allowance(c.stand, rules.Cut{On: date("2026-01-17"), Stems: c.stems, Parents: c.parents}).Leave; got != c.want {
			t.Errorf("it says\n%s, want\n%s", got, c.want)
		}
	}
	stand.LandManager = ""
	if got := rules.Allowance(stand, rules.Cut{On: date("2026-01-17"), Stems: 1}).Leave; !strings.HasSuffix(got, "ask the land manager.") {
		t.Errorf("without a land manager it says %q", got)
	}
}

// What cannot be cut on any day comes with what would help, which is a new count
// only where counting again can change the answer.
func TestWhatWouldHelp(t *testing.T) {
	good := counted("2026-01-01", "800")
	always := shut(models.Closure{From: "01-01", To: "12-31", EveryYear: true, Kind: models.Closed})
	longer := shut(models.Closure{From: "2026-01-10", To: "2027-12-31", Kind: models.Closed})
	toJune := shut(models.Closure{From: "2026-01-10", To: "2026-06-30", Kind: models.Closed})
	for _, c := range []struct {
		name    string
		stand   *models.StandRecord
		stems   int
		parents *int
		want    string
	}{
		{"more than the count bears", standOf(good), 41, nil, "not before a new count"},
		{"no good count", standOf(counted("2024-01-01", "800")), 1, nil, "not before a new count"},
		{"a flood", standOf(good, disturbed("2026-01-10")), 1, nil, "not before a new count"},
		{"protected", standOf(good, protected), 1, nil, "not without an authority on file"},
		{"protected and out of date", standOf(counted("2024-01-01", "800"), protected), 1, nil, "not without an authority on file"},
		{"closed for good", standOf(good, always), 1, nil, "not while the stand is closed"},
		{"closed for two years", standOf(good, longer), 1, nil, "not while the stand is closed"},
		{"closed until the count is out of date", standOf(counted("2025-01-10", "800"), toJune), 1, nil, "not while the stand is closed, and not before a new count"},
		{"from too few plants", standOf(counted("2026-01-01", "800", 40)), 10, ptr(2), "not from so few plants: take them from more"},
		{"no permit", standOf(good, permitNeeded), 1, nil, "not without a permit that covers it"},
		{"more than the permit bears", standOf(good, permitNeeded, onFile(permit(drawn("90")))), 11, nil, "not without another permit, or more on this one"},
		{"more than permit and count bear", standOf(good, permitNeeded, onFile(permit(drawn("90")))), 41, nil, "not without another permit, or more on this one, and not before a new count"},
		{"more than all plants bear", standOf(counted("2026-01-01", "800", 40)), 41, ptr(2), "not before a new count"},
	} {
		t.Run(c.name, func(t *testing.T) {
			cut := rules.Cut{On: date("2026-01-17"), Stems: c.stems, Parents: c.parents}
			got := rules.Allowance(c.stand, cut)
			if got.PossibleFrom != nil || got.Instead != c.want || !strings.HasSuffix(got.Binding.Detail, "; "+c.want) {
				t.Errorf("from %v, %q, bound by %q, want %q", got.PossibleFrom, got.Instead, got.Binding.Detail, c.want)
			}
			if refusal := rules.JudgeCut(c.stand, cut); refusal == nil || !strings.HasSuffix(refusal.Detail, "; "+c.want) {
				t.Errorf("the refusal is %v, want it to end with %q", refusal, c.want)
			}
		})
	}
	if got := rules.Allowance(standOf(good), rules.Cut{On: date("2026-01-17"), Stems: 40}); got.Instead != "" {
		t.Errorf("what is possible is told that %q", got.Instead)
	}
}

func TestOneStemIsNotMany(t *testing.T) {
	stand := standOf(counted("2026-01-01", "20"), taken("2026-01-10", 1))
	refusal := rules.JudgeCut(stand, rules.Cut{On: date("2026-01-17"), Stems: 1})
	want := "1 stem of TB-01 on 2026-01-17 is refused: 1 of 1 stem is taken in the 350 days to 2026-01-17 (0.05 × 20"
	if refusal == nil || !strings.HasPrefix(refusal.Detail, want) {
		t.Errorf("%v, want %s", refusal, want)
	}
}

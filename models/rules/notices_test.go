package rules_test

import (
	"testing"

	"withybed/models"
	"withybed/models/rules"
)

// stand is one with a limit of 50 stems: 5 % of a census of 1000.
func stand(surveyed string, taken ...models.LedgerDay) *models.StandRecord {
	return &models.StandRecord{
		Stand: models.Stand{Code: "MB-03", Name: "Mallow Bend, upper bank"},
		Rules: []models.RuleVersion{{HarvestRule: rules.DefaultSettings().HarvestRule}},
		Surveys: []models.Survey{{
			SurveyedOn: day(surveyed), Method: models.Census, Estimate: 1000, LowerBound: models.DecimalOf(1000),
		}},
		Ledger: taken,
	}
}

func took(on string, stems int) models.LedgerDay {
	return models.LedgerDay{TakenOn: day(on), Stems: stems}
}

func TestLoadNotices(t *testing.T) {
	const before, on = "2026-01-12", "2026-01-19"
	cases := []struct {
		name    string
		stand   *models.StandRecord
		text    string
		crossed bool
	}{
		{"nothing taken", stand("2025-09-12"), "", false},
		{"under 80 %", stand("2025-09-12", took("2026-01-15", 39)), "", false},
		{"80 %, newly", stand("2025-09-12", took("2026-01-15", 40)),
			"40 of 50 stems are taken in the 350 days to 2026-01-19, 80 %: within the count 10 are left", true},
		{"80 %, since before", stand("2025-09-12", took("2026-01-12", 40)),
			"40 of 50 stems are taken in the 350 days to 2026-01-19, 80 %: within the count 10 are left", false},
		{"100 % after 80", stand("2025-09-12", took("2026-01-12", 40), took("2026-01-19", 10)),
			"50 of 50 stems are taken in the 350 days to 2026-01-19, 100 %: none is left", true},
		{"over", stand("2025-09-12", took("2026-01-12", 50), took("2026-01-19", 3)),
			"53 of 50 stems are taken in the 350 days to 2026-01-19: 3 over the limit, cut no more", true},
		{"fallen out of the window", stand("2024-09-12", took("2025-02-03", 50)), "", false},
		{"taken after that day", stand("2025-09-12", took("2026-01-20", 50)), "", false},
		{"a stand never counted", &models.StandRecord{Rules: []models.RuleVersion{{}}}, "", false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			wantNotice(t, rules.LoadNotices(c.stand, day(before), day(on), rules.DefaultSettings()), c.text, c.crossed)
		})
	}
}

func wantNotice(t *testing.T, got []models.StandNotice, text string, crossed bool) {
	t.Helper()
	if text == "" {
		if len(got) > 0 {
			t.Errorf("%+v, want none", got)
		}
		return
	}
	want := models.StandNotice{Stand: "MB-03", Name: "Mallow Bend, upper bank", Text: text, Crossed: crossed}
	if len(got) != 1 || got[0] != want {
		t.Errorf("%+v, want %+v", got, want)
	}
}

func TestNoticeShareIsASetting(t *testing.T) {
	set := rules.DefaultSettings()
	set.Thresholds.NoticeShare = models.MustDecimal("0.5")
	got := rules.LoadNotices(stand("2025-09-12", took("2026-01-15", 25)), day("2026-01-12"), day("2026-01-19"), set)
	if len(got) != 1 {
		t.Errorf("25 of 50 at a share of a half: %v", got)
	}
}

func TestSurveyNotices(t *testing.T) {
	flooded := stand("2025-09-12")
	flooded.Disturbances = []models.Disturbance{{HappenedOn: day("2026-01-15"), Kind: "flood"}}
	counted := stand("2024-01-01")
	counted.Surveys = append(counted.Surveys, models.Survey{SurveyedOn: day("2026-01-10"), Method: models.Census, LowerBound: models.DecimalOf(900)})
	cases := []struct {
		name       string
		stand      *models.StandRecord
		before, on string
		text       string
		crossed    bool
	}{
		{"61 days more", stand("2024-09-12"), "2025-11-18", "2025-11-25", "", false},
		{"60 days more", stand("2024-09-12"), "2025-11-19", "2025-11-26",
			"the survey of 2024-09-12 is good to 2026-01-25, 60 days more: count the stand before cutting after that", true},
		{"told last week", stand("2024-09-12"), "2025-11-26", "2025-12-03",
			"the survey of 2024-09-12 is good to 2026-01-25, 53 days more: count the stand before cutting after that", false},
		{"its last day", stand("2024-09-12"), "2026-01-18", "2026-01-25",
			"the survey of 2024-09-12 is good to 2026-01-25, 0 days more: count the stand before cutting after that", false},
		{"over", stand("2024-09-12"), "2026-01-25", "2026-01-26",
			"the survey of 2024-09-12 was good to 2026-01-25: nothing may be cut before a new count", true},
		{"ended by a flood", flooded, "2026-01-12", "2026-01-19",
			"the survey of 2025-09-12 has been no good since 2026-01-15 (flood): nothing may be cut before a new count", true},
		{"before the flood", flooded, "2026-01-05", "2026-01-14", "", false},
		{"counted again", counted, "2026-01-12", "2026-01-19", "", false},
		{"never counted", &models.StandRecord{Rules: []models.RuleVersion{{}}}, "2026-01-12", "2026-01-19", "", false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			wantNotice(t, rules.SurveyNotices(c.stand, day(c.before), day(c.on), rules.DefaultSettings()), c.text, c.crossed)
		})
	}
}

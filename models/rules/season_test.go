package rules_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"withybed/models"
	"withybed/models/rules"
)

func cutDay(on string, stems, batches int) models.CutDay {
	return models.CutDay{LedgerDay: models.LedgerDay{TakenOn: date(on), Stems: stems}, Batches: batches}
}

func TestTakenBySeason(t *testing.T) {
	stand := standOf(counted("2024-09-01", "400"), counted("2025-10-01", "800"), counted("2026-06-30", "1000"))
	got := rules.TakenBySeason(stand, []models.CutDay{
		cutDay("2024-06-30", 3, 1), // before the first survey
		cutDay("2025-06-30", 4, 1), cutDay("2025-07-01", 10, 1), cutDay("2025-11-05", 6, 2),
		cutDay("2026-06-30", 0, 1), // taken back
		cutDay("2026-07-01", 20, 1),
	})
	want := []models.SeasonTaken{
		{Season: "2026/27", Stems: 20, Batches: 1, SurveyedOn: date("2026-06-30"), LowerBound: ptr(models.DecimalOf(1000)), Fraction: ptr(0.02)},
		{Season: "2025/26", Stems: 16, Batches: 4, SurveyedOn: date("2025-10-01"), LowerBound: ptr(models.DecimalOf(800)), Fraction: ptr(0.02)},
		{Season: "2024/25", Stems: 4, Batches: 1, SurveyedOn: date("2024-09-01"), LowerBound: ptr(models.DecimalOf(400)), Fraction: ptr(0.01)},
		{Season: "2023/24", Stems: 3, Batches: 1},
	}
	if diff := cmp.Diff(want, got, cmp.Comparer(func(a, b models.Date) bool { return a == b })); diff != "" {
		t.Error(diff)
	}
	if none := rules.TakenBySeason(stand, nil); none == nil || len(none) > 0 {
		t.Errorf("without cuts the seasons are %v", none)
	}
}

func TestASeasonOfACensusWithoutStemsHasNoFraction(t *testing.T) {
	got := rules.TakenBySeason(standOf(counted("2026-01-01", "0")), []models.CutDay{cutDay("2026-01-10", 3, 1)})
	if len(got) != 1 || got[0].LowerBound == nil || got[0].Fraction != nil {
		t.Errorf("%+v", got)
	}
}

func TestCheckSeason(t *testing.T) {
	for text, ok := range map[string]bool{"": true, "2025/26": true, "1999/00": true, "2025/99": false, "2025": false, "2025/6": false, "x": false, "202é/26": false} {
		if err := rules.CheckSeason("season", text); (err == nil) != ok {
			t.Errorf("%q: %v", text, err)
		}
	}
}

package rules_test

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/rules"
)

func tally(on, tag string, stems, cuttings int, sex models.Sex) models.ParentTally {
	return models.ParentTally{TakenOn: date(on), TagKey: models.NameKey(tag), Parent: models.Parent{Tag: tag, Stems: stems, Cuttings: cuttings, Sex: sex}}
}

func TestTheParentsOfAStand(t *testing.T) {
	set := rules.DefaultSettings()
	willow := models.Taxon{ScientificName: "Salix scouleriana", Dioecious: true}
	got := rules.StandParents(&willow, []models.ParentTally{
		tally("2025-11-02", "D-1", 2, 6, models.NotDetermined),
		tally("2025-11-02", "D-2", 1, 3, models.Male),
		tally("2025-11-09", "d-1", 3, 9, models.Female),
		tally("2025-11-16", "D-3", 1, 3, models.Female),
		tally("2025-11-20", "D-3", 1, 3, models.Male),
	}, 20, &set.Thresholds)
	want := []models.PlantTaken{
		{Tag: "D-1", Stems: 5, Cuttings: 15, Batches: 2, LastOn: date("2025-11-09"), Sex: models.Female, Share: 0.25},
		{Tag: "D-3", Stems: 2, Cuttings: 6, Batches: 2, LastOn: date("2025-11-20"), Sex: models.Male, Share: 0.1},
		{Tag: "D-2", Stems: 1, Cuttings: 3, Batches: 1, LastOn: date("2025-11-02"), Sex: models.Male, Share: 0.05},
	}
	if !reflect.DeepEqual(got.Plants, want) || got.Stems != 20 || got.Untagged != 12 {
		t.Errorf("%+v", got)
	}
	if n := got.EffectiveParents; n == nil || math.Abs(*n-24.0*24/(15*15+6*6+3*3)) > 1e-12 {
		t.Errorf("effective: %v", n)
	}
	says := []string{"plant D-3 was told to be female, and later male", "cut from 3 plants", "plant D-1 gave 15 of the 24 cuttings"}
	if len(got.Warnings) != len(says) {
		t.Fatalf("%q", got.Warnings)
	}
	for i, word := range says {
		if !strings.Contains(got.Warnings[i], word) {
			t.Errorf("%q does not say %q", got.Warnings[i], word)
		}
	}
	none := rules.StandParents(&willow, nil, 9, &set.Thresholds)
	if none.Untagged != 9 || none.EffectiveParents != nil || len(none.Plants) != 0 || len(none.Warnings) != 0 {
		t.Errorf("of none: %+v", none)
	}
}

// Cuttings that are not told once are not told: stems stand in for all.
func TestEffectiveParentsOfAStandByStems(t *testing.T) {
	set := rules.DefaultSettings()
	got := rules.StandParents(&models.Taxon{}, []models.ParentTally{
		tally("2025-11-02", "D-1", 2, 60, models.NotDetermined), tally("2025-11-03", "D-1", 2, 0, models.NotDetermined), tally("2025-11-02", "D-2", 4, 12, models.NotDetermined),
	}, 8, &set.Thresholds)
	if n := got.EffectiveParents; n == nil || *n != 2 {
		t.Errorf("effective: %v", n)
	}
}

func TestParentDays(t *testing.T) {
	stand := standOf()
	for _, c := range []struct{ season, from, to string }{
		{"", "2025-02-02", "2026-01-17"}, {"2024/25", "2024-07-01", "2025-06-30"},
	} {
		from, to, err := rules.ParentDays(stand, c.season, date("2026-01-17"))
		if err != nil || from != date(c.from) || to != date(c.to) {
			t.Errorf("%+v: %s to %s, %v", c, from, to, err)
		}
	}
	if _, _, err := rules.ParentDays(stand, "2024/27", date("2026-01-17")); err == nil {
		t.Error("a season of three years was taken")
	}
}

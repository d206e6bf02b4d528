package models_test

import (
	"reflect"
	"strings"
	"testing"

	"withybed/models"
)

func TestParseParent(t *testing.T) {
	for text, want := range map[string]models.Parent{
		"D-07=2":                  {Tag: "D-07", Stems: 2},
		" D  07 = 2 / 6 ":         {Tag: "D 07", Stems: 2, Cuttings: 6},
		"D-07=2/6:female":         {Tag: "D-07", Stems: 2, Cuttings: 6, Sex: models.Female},
		"D-07=2:Not-Determined":   {Tag: "D-07", Stems: 2, Sex: models.NotDetermined},
		"row=3: post 1/2=12:male": {Tag: "row=3: post 1/2", Stems: 12, Sex: models.Male},
	} {
		if got, err := models.ParseParent(text); err != nil || got != want {
			t.Errorf("%q: %+v, %v", text, got, err)
		}
	}
	for text, says := range map[string]string{
		"": "lacks a tag or its stems", "D-07": "lacks a tag", "=2": "lacks a tag", "D-07=": `has "" stems`,
		"D-07=two": "whole number", "D-07=2/x": `has "x" cuttings`, "D-07=2:hermaphrodite": "female, male or not_determined", "D-07=2:": `the sex ""`,
	} {
		if _, err := models.ParseParent(text); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v, and not %q", text, err, says)
		}
	}
}

func TestADaySheetHasPlants(t *testing.T) {
	head := "stand,collected_on,stems_cut,cuttings,collected_by,parents\n"
	rows, err := models.ParseDay([]byte(head + "RS-1,2026-01-17,3,9,RQ,D-1=2/6:female; D-2=1;\nRS-1,2026-01-17,3,9,RQ,D-1=2; D-2\n"))
	if err != nil || len(rows) != 2 {
		t.Fatalf("%+v, %v", rows, err)
	}
	want := []models.Parent{{Tag: "D-1", Stems: 2, Cuttings: 6, Sex: models.Female}, {Tag: "D-2", Stems: 1}}
	if !reflect.DeepEqual(rows[0].Batch.Parents, want) || len(rows[0].Faults) != 0 {
		t.Errorf("%+v", rows[0])
	}
	if len(rows[1].Faults) != 1 || rows[1].Faults[0].Name != "parents" || !strings.Contains(rows[1].Faults[0].Detail, `names "D-2", which lacks`) {
		t.Errorf("%+v", rows[1].Faults)
	}
}

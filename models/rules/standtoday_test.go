package rules_test

import (
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/rules"
)

func told(stand *models.StandRecord, on string) models.StandView {
	view := models.StandView{}
	rules.TellToday(stand, date(on), &view)
	return view
}

func TestWhatIsToldOfAStandToday(t *testing.T) {
	nests := models.Closure{From: "02-01", To: "04-14", EveryYear: true, Kind: models.NestCheck, Reason: "owls"}
	stand := standOf(counted("2026-01-01", "800"), disturbed("2026-02-20"), placeShut("2026-01-01", nests), salvaged("2026-02-01", "2026-02-10"),
		atRest("2026-01-05", "2026-01-31"), atRest("2026-02-05", "2026-02-15"), atRest("2026-06-01", ""),
		lookedFor("2026-02-03", false), lookedFor("2026-03-01", true))

	first := told(stand, "2026-02-03")
	if first.ClosedToday || first.ClosedWhy != "" || len(first.PlaceClosures) != 1 || first.AtRest || first.CountAgain != "" {
		t.Errorf("%+v", first)
	}
	if first.Salvage == nil || first.NestCheck == nil || first.NestCheck.CheckedOn != date("2026-02-03") || len(first.Rests) != 2 {
		t.Errorf("%+v", first)
	}
	later := told(stand, "2026-02-14")
	if !later.ClosedToday || !strings.Contains(later.ClosedWhy, "owls") || !later.AtRest || later.Salvage != nil || later.NestCheck.NestsFound {
		t.Errorf("%+v", later)
	}
	last := told(stand, "2026-03-02")
	if !strings.Contains(last.ClosedWhy, "found on 2026-03-01") || !strings.Contains(last.CountAgain, "beaver on 2026-02-20 ended the survey of 2026-01-01") || len(last.Rests) != 1 {
		t.Errorf("%+v", last)
	}
	bare := told(standOf(), "2026-01-01")
	if bare.PlaceClosures == nil || bare.Rests == nil || bare.NestCheck != nil || bare.Salvage != nil || !strings.Contains(bare.CountAgain, "was not counted") {
		t.Errorf("%+v", bare)
	}
	// What is shown is its own: people are veiled in it.
	first.NestCheck.CheckedBy, first.Rests[0].SetBy, first.Salvage.SetBy = "x", "x", "x"
	if stand.NestChecks[0].CheckedBy == "x" || stand.Rests[1].SetBy == "x" || stand.Salvages[0].SetBy == "x" {
		t.Error("what is shown shares its people with the record")
	}
}

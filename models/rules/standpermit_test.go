package rules_test

import (
	"slices"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/rules"
)

func TestWhatAStandSaysOfPermits(t *testing.T) {
	enter := func(change func(*models.NewStand)) error {
		_, _, _, err := rules.EnterStand(newStand(change), rules.DefaultSettings().HarvestRule, standDay)
		return err
	}
	for _, c := range []struct {
		name   string
		change func(*models.NewStand)
		fields []string
	}{
		{"not stated", func(*models.NewStand) {}, nil},
		{"required", func(r *models.NewStand) { r.PermitRequired = models.PermitNeeded }, nil},
		{"none, with why", func(r *models.NewStand) { r.PermitRequired, r.PermitReason = models.PermitNotNeeded, "our hedge" }, nil},
		{"none, without why", func(r *models.NewStand) { r.PermitRequired, r.PermitReason = models.PermitNotNeeded, " " }, []string{"permit_reason"}},
		{"a why without a word", func(r *models.NewStand) { r.PermitReason = "our hedge" }, []string{"permit_reason"}},
		{"a why for needing one", func(r *models.NewStand) { r.PermitRequired, r.PermitReason = models.PermitNeeded, "listed" }, []string{"permit_reason"}},
		{"a word of its own", func(r *models.NewStand) { r.PermitRequired = "perhaps" }, []string{"permit_required"}},
		{"long texts", func(r *models.NewStand) {
			r.ProtectedPlace, r.GatheringPlaceOf = strings.Repeat("x", 81), strings.Repeat("x", 81)
		}, []string{"protected_place", "gathering_place_of"}},
	} {
		if err := enter(c.change); len(c.fields) > 0 || err != nil {
			wantFault(t, err, "invalid", c.fields...)
		}
	}
}

// The reason for needing no permit goes with the word it was given for.
func TestAStandThatNeedsAPermitAfterAll(t *testing.T) {
	stand := standOf(func(r *models.StandRecord) {
		r.PermitRequired, r.PermitReason, r.ProtectedPlace = models.PermitNotNeeded, "our hedge", "reserve"
	})
	after, _, _, err := rules.EditStand(stand, models.StandEdit{PermitRequired: models.SetTo(models.PermitNeeded)}, standDay)
	if err != nil || after.PermitRequired != models.PermitNeeded || after.PermitReason != "" || after.ProtectedPlace != "reserve" {
		t.Errorf("%+v, %v", after, err)
	}
	after, _, _, err = rules.EditStand(stand, models.StandEdit{PermitRequired: models.SetNull[models.PermitNeed](), ProtectedPlace: models.SetNull[string]()}, standDay)
	if err != nil || after.PermitRequired != models.PermitNotStated || after.PermitReason != "" || after.ProtectedPlace != "" {
		t.Errorf("%+v, %v", after, err)
	}
	_, _, _, err = rules.EditStand(stand, models.StandEdit{PermitReason: models.SetNull[string]()}, standDay)
	wantFault(t, err, "invalid", "permit_reason")
	after, _, _, err = rules.EditStand(stand, models.StandEdit{PermitReason: models.SetTo("agreed  in spring"), GatheringPlaceOf: models.SetTo(" the Heron people")}, standDay)
	if err != nil || after.PermitReason != "agreed in spring" || after.GatheringPlaceOf != "the Heron people" {
		t.Errorf("%+v, %v", after, err)
	}
}

func TestAGatheringPlaceIsKeptOffMaps(t *testing.T) {
	for _, c := range []struct {
		people string
		how    models.Sensitivity
		warns  bool
	}{
		{"", models.LowSensitivity, false},
		{"the Heron people", models.LowSensitivity, true},
		{"the Heron people", models.MediumSensitivity, true},
		{"the Heron people", models.HighSensitivity, false},
		{"the Heron people", models.ExtremeSensitivity, false},
	} {
		got := rules.GatheringWarnings(&models.Stand{Code: "TB-01", GatheringPlaceOf: c.people, Sensitivity: c.how})
		if c.warns != slices.ContainsFunc(got, func(w string) bool {
			return strings.HasPrefix(w, "TB-01 is a gathering place of the Heron people, and such places are kept off shared maps")
		}) {
			t.Errorf("%+v: %q", c, got)
		}
	}
}

package rules

import (
	"fmt"
	"regexp"

	"withybed/models"
)

var standCode = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]{0,23}$`)

// EnterStand makes the stand of a request with the first version of its rule,
// which follows the nursery's defaults where the request is silent, and of its
// closures. Identifiers, taxon and time of entry are left to the caller.
func EnterStand(req models.NewStand, defaults models.HarvestRule, today models.Date) (models.Stand, models.RuleVersion, models.ClosureVersion, error) {
	stand := models.Stand{
		Code: req.Code, CodeKey: models.NameKey(req.Code), Name: models.Clean(req.Name), Version: 1,
		Place: models.Clean(req.Place), Locality: models.Clean(req.Locality), LandManager: models.Clean(req.LandManager),
		Latitude: req.Latitude, Longitude: req.Longitude, CoordinateUncertaintyM: req.CoordinateUncertaintyM,
		Sensitivity: req.Sensitivity, PermitRequired: req.PermitRequired, PermitReason: models.Clean(req.PermitReason),
		ProtectedPlace: models.Clean(req.ProtectedPlace), GatheringPlaceOf: models.Clean(req.GatheringPlaceOf),
	}
	if stand.Sensitivity == "" {
		stand.Sensitivity = models.MediumSensitivity
	}
	rule, ruleErr := MergeRule(defaults, req.HarvestRule)
	var f models.Faults
	f.Join(ruleErr)
	if !standCode.MatchString(req.Code) {
		f.Add("invalid", "code", req.Code, "must be letters, digits, dots, dashes and underscores, at most 24, such as MB-03")
	}
	checkStand(&f, &stand)
	checkClosures(&f, req.Closures)
	if err := f.Err(); err != nil {
		return models.Stand{}, models.RuleVersion{}, models.ClosureVersion{}, err
	}
	ruleVersion := models.RuleVersion{HarvestRule: rule, InForceFrom: today, Why: "set when the stand was entered"}
	closures := models.ClosureVersion{Closures: closureList(req.Closures), InForceFrom: today, Why: ruleVersion.Why}
	return stand, ruleVersion, closures, nil
}

// EditStand is a stand after a merge patch, with the new versions of its rule and
// closures, each nil where the patch changes nothing of it.
func EditStand(stand *models.StandRecord, edit models.StandEdit, today models.Date) (models.Stand, *models.RuleVersion, *models.ClosureVersion, error) {
	after := stand.Stand
	after.Name = models.Clean(edit.Name.Or(after.Name))
	after.Place = models.Clean(edit.Place.Or(after.Place))
	after.Locality = models.Clean(edit.Locality.Or(after.Locality))
	after.LandManager = models.Clean(edit.LandManager.Or(after.LandManager))
	after.Sensitivity = edit.Sensitivity.Or(after.Sensitivity)
	after.Latitude = patched(edit.Latitude, after.Latitude)
	after.Longitude = patched(edit.Longitude, after.Longitude)
	after.CoordinateUncertaintyM = patched(edit.CoordinateUncertaintyM, after.CoordinateUncertaintyM)
	if after.Sensitivity == "" {
		after.Sensitivity = models.MediumSensitivity
	}
	editPermitNeed(&after, &edit)

	start := startOn(edit.InForceFrom, today)
	var f models.Faults
	rule := newRule(&f, stand, &edit, start)
	closures := newClosures(&f, stand, &edit, start)
	if edit.HarvestRule == nil && edit.Closures == nil {
		checkIdle(&f, &edit)
	} else {
		checkText(&f, "why", edit.Why, models.MaxNote)
		checkText(&f, "by", edit.By, models.MaxName)
	}
	checkStand(&f, &after)
	return after, rule, closures, f.Err()
}

// editPermitNeed changes what a stand says of permits. A reason for needing none goes
// with the word it was given for.
func editPermitNeed(after *models.Stand, edit *models.StandEdit) {
	after.PermitRequired = edit.PermitRequired.Or(after.PermitRequired)
	after.PermitReason = models.Clean(edit.PermitReason.Or(after.PermitReason))
	if after.PermitRequired != models.PermitNotNeeded && !edit.PermitReason.IsSet() {
		after.PermitReason = ""
	}
	after.ProtectedPlace = models.Clean(edit.ProtectedPlace.Or(after.ProtectedPlace))
	after.GatheringPlaceOf = models.Clean(edit.GatheringPlaceOf.Or(after.GatheringPlaceOf))
}

// checkIdle refuses what is said of a new version where there is none.
func checkIdle(f *models.Faults, edit *models.StandEdit) {
	const idle = "goes with a new harvest rule or new closures, and there is neither"
	if !edit.InForceFrom.IsZero() {
		f.Add("invalid", "in_force_from", edit.InForceFrom, idle)
	}
	if edit.Why != "" {
		f.Add("invalid", "why", edit.Why, idle)
	}
	if edit.By != "" {
		f.Add("invalid", "by", edit.By, idle)
	}
}

func newRule(f *models.Faults, stand *models.StandRecord, edit *models.StandEdit, start models.Date) *models.RuleVersion {
	inForce := RuleOn(stand.Rules, start).HarvestRule
	merged, err := MergeRule(inForce, edit.HarvestRule)
	f.Join(err)
	if err != nil || merged == inForce {
		return nil
	}
	return &models.RuleVersion{HarvestRule: merged, InForceFrom: start, Why: models.Clean(edit.Why), SetBy: models.Clean(edit.By)}
}

// EditWarnings say what an edit of a stand leaves unsaid, what it does not do, and
// which closures it drops.
func EditWarnings(stand *models.StandRecord, edit *models.StandEdit, rule *models.RuleVersion, closures *models.ClosureVersion) []string {
	warnings := dropped(stand, closures)
	if edit.HarvestRule != nil && rule == nil {
		warnings = append(warnings, "the harvest rule is as it was, so no new version of it was started")
	}
	if edit.Closures != nil && closures == nil {
		warnings = append(warnings, "the closures are as they were, so no new version of them was started")
	}
	if rule != nil && (rule.Why == "" || rule.SetBy == "") {
		warnings = append(warnings, "the new harvest rule does not say why it was set and by whom: give why and by")
	}
	if closures != nil && (closures.Why == "" || closures.SetBy == "") {
		warnings = append(warnings, "the new closures do not say why they were set and by whom: give why and by")
	}
	return warnings
}

func patched[T any](p models.Patch[T], old *T) *T {
	switch {
	case !p.IsSet():
		return old
	case p.IsNull():
		return nil
	}
	return &p.Value
}

func checkStand(f *models.Faults, s *models.Stand) {
	needText(f, "name", s.Name, models.MaxName)
	checkText(f, "place", s.Place, models.MaxName)
	checkText(f, "land_manager", s.LandManager, models.MaxName)
	checkText(f, "locality", s.Locality, models.MaxNote)
	checkKnown(f, "sensitivity", s.Sensitivity, models.Sensitivities)
	checkPermitNeed(f, s)
	checkMeasure(f, "latitude", s.Latitude, -90, 90)
	checkMeasure(f, "longitude", s.Longitude, -180, 180)
	checkMeasure(f, "coordinate_uncertainty_m", s.CoordinateUncertaintyM, 0.01, 100_000)
	if (s.Latitude == nil) != (s.Longitude == nil) {
		f.Add("invalid", "longitude", nil, "goes with latitude: give both or neither")
	}
	if s.CoordinateUncertaintyM != nil && s.Latitude == nil && s.Longitude == nil {
		f.Add("invalid", "coordinate_uncertainty_m", *s.CoordinateUncertaintyM, "goes with latitude and longitude, and there are none")
	}
}

func checkPermitNeed(f *models.Faults, s *models.Stand) {
	checkKnown(f, "permit_required", s.PermitRequired, models.PermitNeeds)
	checkText(f, "permit_reason", s.PermitReason, models.MaxNote)
	checkText(f, "protected_place", s.ProtectedPlace, models.MaxName)
	checkText(f, "gathering_place_of", s.GatheringPlaceOf, models.MaxName)
	switch needless := s.PermitRequired == models.PermitNotNeeded; {
	case needless && s.PermitReason == "":
		f.Add("invalid", "permit_reason", nil, "is missing: say why no permit is required")
	case !needless && s.PermitReason != "":
		f.Add("invalid", "permit_reason", nil, "goes with permit_required no: it says why none is required")
	}
}

// GatheringWarnings say where the place of a gathering place is shown more finely than
// such places should be.
func GatheringWarnings(s *models.Stand) []string {
	if s.GatheringPlaceOf == "" || s.Sensitivity == models.HighSensitivity || s.Sensitivity == models.ExtremeSensitivity {
		return nil
	}
	return []string{fmt.Sprintf("%s is a gathering place of %s, and such places are kept off shared maps: its sensitivity is %s; think of high or extreme, and ask them", s.Code, s.GatheringPlaceOf, s.Sensitivity)}
}

package rules

import (
	"maps"
	"slices"
	"time"

	"withybed/models"
)

// The defaults of a new nursery, and how far they may be moved.
const (
	usualName         = "The nursery"
	usualZone         = "UTC"
	usualReminderDay  = "monday"
	usualReminderHour = 7

	confidenceName  = "confidence"
	confidenceBasis = "one survey in ten may promise too many stems; nominal, since stands are patchier than the formula assumes"

	capBasis = "cautious defaults: a university extension gives a twentieth of a donor's branches, " +
		"a riparian manual at most a third of one plant's; the window lets a yearly cutting day fall a little earlier, " +
		"and a count lasts two cutting seasons. Local rules, the land manager and the permit come first"
)

var (
	usualConfidence = models.MustDecimal("0.9")
	leastConfidence = models.MustDecimal("0.5")
	mostConfidence  = models.MustDecimal("0.999")
)

const (
	longestWindow   = 3650 // days; ten years
	longestValidity = 3650
	lastHour        = 23
)

// DefaultSettings are the settings of a new nursery, each number with its basis
// in words. Its days are counted in UTC until a time zone is set.
func DefaultSettings() models.Settings {
	s := models.Settings{
		Name: usualName, TimeZone: usualZone,
		ReminderDay: usualReminderDay, ReminderHour: usualReminderHour,
		HarvestRule: models.HarvestRule{
			StandCap: models.MustDecimal("0.05"), PerPlantCap: models.MustDecimal("0.1"),
			WindowDays: 350, SurveyValidDays: 500, Basis: capBasis,
		},
		Confidence: usualConfidence,
		Bases:      map[string]string{confidenceName: confidenceBasis, warmFrom: warmFromBasis},
	}
	s.Thresholds.WarmFrom = warmFromUsual
	for _, t := range wholeThresholds {
		*t.at(&s.Thresholds), s.Bases[t.name] = t.usual, t.basis
	}
	for _, t := range shareThresholds {
		*t.at(&s.Thresholds), s.Bases[t.name] = t.usual, t.basis
	}
	return s
}

// FillSettings gives thresholds that came into being after a nursery was made their
// defaults: they are zero there, and nobody has given them a basis.
func FillSettings(s *models.Settings) {
	bases := maps.Clone(s.Bases)
	if bases == nil {
		bases = map[string]string{}
	}
	for _, t := range wholeThresholds {
		if at := t.at(&s.Thresholds); *at == 0 && bases[t.name] == "" {
			*at, bases[t.name] = t.usual, t.basis
		}
	}
	for _, t := range shareThresholds {
		if at := t.at(&s.Thresholds); *at == 0 && bases[t.name] == "" {
			*at, bases[t.name] = t.usual, t.basis
		}
	}
	s.Bases = bases
}

// SeedSettings are the settings a nursery is made with: the defaults, with a name
// and a time zone where they are given. A zone that cannot be is a models.Error,
// kind Invalid.
func SeedSettings(name, zone string) (models.Settings, error) {
	settings := DefaultSettings()
	var f models.Faults
	if name = models.Clean(name); name != "" {
		settings.Name = name
		checkText(&f, "name", name, models.MaxName)
	}
	if zone != "" {
		settings.TimeZone = zone
		checkZone(&f, zone)
	}
	return settings, f.Err()
}

// EditSettings is the nursery's settings after a merge patch; current stays as
// it is. Null puts the default back, except for the name and the time zone,
// which cannot be taken away. A number that changes loses the basis of the old
// one, unless the patch gives a new basis.
//
// It fails with a models.Error: Unknown, code unknown-setting, with near names
// where thresholds or bases name a number there is not; Invalid with every field
// at fault otherwise.
func EditSettings(current models.Settings, edit models.NurseryEdit) (models.Settings, error) {
	if err := unknownSetting(edit); err != nil {
		return models.Settings{}, err
	}
	after := current
	after.Bases = map[string]string{}
	maps.Copy(after.Bases, current.Bases)
	var f models.Faults
	editIdentity(&f, &after, edit)
	editReminder(&f, &after, edit)
	editConfidence(&f, &after, edit)
	rule, err := MergeRule(after.HarvestRule, edit.HarvestRule)
	after.HarvestRule = rule
	f.Join(err)
	for _, name := range slices.Sorted(maps.Keys(edit.Thresholds)) {
		setThreshold(&f, &after, name, edit.Thresholds[name])
	}
	editBases(&f, &after, edit.Bases)
	if err := f.Err(); err != nil {
		return models.Settings{}, err
	}
	return after, nil
}

// unknownSetting refuses names of numbers that there are not, all at once.
func unknownSetting(edit models.NurseryEdit) error {
	thresholds := thresholdNames()
	bases := append(slices.Clone(thresholds), confidenceName)
	err := models.Errorf(models.Unknown, "unknown-setting", "the nursery has no such setting")
	seek := func(path, name string, among []string) {
		if slices.Contains(among, name) {
			return
		}
		err.Fields = append(err.Fields, models.Field{Name: path + "." + name, Detail: "is not one of them"})
		err.Suggestions = append(err.Suggestions, Near(name, among)...)
	}
	for _, name := range slices.Sorted(maps.Keys(edit.Thresholds)) {
		seek("thresholds", name, thresholds)
	}
	for _, name := range slices.Sorted(maps.Keys(edit.Bases)) {
		seek("bases", name, bases)
	}
	if len(err.Fields) == 0 {
		return nil
	}
	return err
}

func editIdentity(f *models.Faults, s *models.Settings, edit models.NurseryEdit) {
	if edit.Name.IsSet() {
		s.Name = models.Clean(edit.Name.Value)
		needText(f, "name", s.Name, models.MaxName)
	}
	if edit.TimeZone.IsSet() {
		s.TimeZone = edit.TimeZone.Value
		checkZone(f, s.TimeZone)
	}
}

// checkZone refuses what is no time zone. Local is none: it would be another one
// on another computer.
func checkZone(f *models.Faults, zone string) {
	if _, err := time.LoadLocation(zone); err != nil || zone == "" || zone == "Local" {
		f.Add("invalid", "time_zone", zone, "is %q, and must be the IANA name of a time zone, as in America/Los_Angeles", zone)
	}
}

func editReminder(f *models.Faults, s *models.Settings, edit models.NurseryEdit) {
	if edit.ReminderDay.IsSet() {
		s.ReminderDay = models.NameKey(edit.ReminderDay.Value)
	}
	if edit.ReminderDay.IsNull() {
		s.ReminderDay = usualReminderDay
	}
	if _, ok := weekdays[s.ReminderDay]; !ok {
		f.Add("invalid", "reminder_day", edit.ReminderDay.Value, "is %q, and must be a day of the week, as in monday", edit.ReminderDay.Value)
	}
	s.ReminderHour = edit.ReminderHour.Or(s.ReminderHour)
	if edit.ReminderHour.IsNull() {
		s.ReminderHour = usualReminderHour
	}
	if s.ReminderHour < 0 || s.ReminderHour > lastHour {
		f.Add("out-of-range", "reminder_hour", s.ReminderHour, "is %d, and must be from 0 to 23", s.ReminderHour)
	}
}

func editConfidence(f *models.Faults, s *models.Settings, edit models.NurseryEdit) {
	if !edit.Confidence.IsSet() {
		return
	}
	confidence := edit.Confidence.Value
	if edit.Confidence.IsNull() {
		confidence = usualConfidence
	}
	if confidence < leastConfidence || confidence > mostConfidence {
		f.Add("out-of-range", confidenceName, confidence, "is %s, and must be from %s to %s", confidence, leastConfidence, mostConfidence)
		return
	}
	change(s, confidenceName, &s.Confidence, confidence, usualConfidence, confidenceBasis)
}

func editBases(f *models.Faults, s *models.Settings, bases map[string]*string) {
	for _, name := range slices.Sorted(maps.Keys(bases)) {
		basis := bases[name]
		if basis == nil || models.Clean(*basis) == "" {
			delete(s.Bases, name)
			continue
		}
		s.Bases[name] = models.Clean(*basis)
		checkText(f, "bases."+name, s.Bases[name], models.MaxNote)
	}
}

// MergeRule is a harvest rule with what a request changes of it; nil changes
// nothing. Caps are over 0 and up to 1, periods 1 to 3650 days. Where a number
// changes and no basis is given, the rule is marked as changed without one. It
// fails with a models.Error, kind Invalid, whose fields begin with harvest_rule.
func MergeRule(base models.HarvestRule, req *models.NewHarvestRule) (models.HarvestRule, error) {
	if req == nil {
		return base, nil
	}
	rule := base
	take(&rule.StandCap, req.StandCap)
	take(&rule.PerPlantCap, req.PerPlantCap)
	take(&rule.WindowDays, req.WindowDays)
	take(&rule.SurveyValidDays, req.SurveyValidDays)
	if rule != base {
		rule.Basis = noBasis
	}
	take(&rule.Basis, req.Basis)
	rule.Basis = models.Clean(rule.Basis)
	if err := checkRule(rule); err != nil {
		return base, err
	}
	return rule, nil
}

func take[T any](at, given *T) {
	if given != nil {
		*at = *given
	}
}

func checkRule(rule models.HarvestRule) error {
	var f models.Faults
	checkCap(&f, "harvest_rule.stand_cap", rule.StandCap)
	checkCap(&f, "harvest_rule.per_plant_cap", rule.PerPlantCap)
	checkPeriod(&f, "harvest_rule.window_days", rule.WindowDays, longestWindow)
	checkPeriod(&f, "harvest_rule.survey_valid_days", rule.SurveyValidDays, longestValidity)
	checkText(&f, "harvest_rule.basis", rule.Basis, models.MaxNote)
	return f.Err()
}

func checkCap(f *models.Faults, field string, share models.Decimal) {
	if !properShare(share) {
		f.Add("out-of-range", field, share, "is %s, and must be over 0 and up to 1", share)
	}
}

func checkPeriod(f *models.Faults, field string, days, most int) {
	if days < 1 || days > most {
		f.Add("out-of-range", field, days, "is %d, and must be from 1 to %d days", days, most)
	}
}

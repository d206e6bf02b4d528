package rules

import (
	"fmt"
	"slices"

	"withybed/models"
)

// CorrectSurvey makes the survey that stands in the place of one that was entered
// wrongly, at the confidence of that one; none where it never was. By is what
// corrected it before, or nil. Identifier, stand and time of entry are left to the
// caller.
func CorrectSurvey(was *models.Survey, by *models.Correction, req models.NewSurveyCorrection, today models.Date) (*models.Survey, []string, error) {
	if err := checkCorrection(req.Why, req.By); err != nil {
		return nil, nil, err
	}
	switch given := req.Survey != nil; {
	case by != nil:
		return nil, nil, correctedAlready("survey of "+was.SurveyedOn.String(), by)
	case given && req.Void:
		return nil, nil, models.InvalidField("contradiction", "void", true, "goes without a survey in its place")
	case !given && !req.Void:
		return nil, nil, models.InvalidField("missing", "survey", nil, "is missing: give the whole survey as it should have been entered, or void")
	case req.Void:
		return nil, nil, nil
	}
	survey, warnings, err := EnterSurvey(*req.Survey, was.Confidence, today)
	if err != nil {
		return nil, nil, within("survey.", err)
	}
	return &survey, warnings, nil
}

// WithoutSurvey is surveys without one.
func WithoutSurvey(surveys []models.Survey, id string) []models.Survey {
	return slices.DeleteFunc(slices.Clone(surveys), func(s models.Survey) bool { return s.ID == id })
}

// SurveyChange is what the correction of a survey changes of what it said; without one
// in its place, all it said.
func SurveyChange(was, is *models.Survey) (before, after map[string]any, err error) {
	if before, err = models.Said(surveySaid(*was)); err != nil || is == nil {
		return before, map[string]any{}, err
	}
	if after, err = models.Said(surveySaid(*is)); err != nil {
		return nil, nil, err
	}
	before, after = models.Differences(before, after)
	if len(before)+len(after) == 0 {
		return nil, nil, models.InvalidField("nothing-changes", "survey", nil, "changes nothing: all of it is recorded so already")
	}
	return before, after, nil
}

// surveySaid is a survey without what makes it a record.
func surveySaid(s models.Survey) any {
	said := struct {
		models.Survey
		ID        bool `json:"id,omitempty"`
		EnteredAt bool `json:"entered_at,omitempty"`
	}{Survey: s}
	return said
}

// CheckStandCorrection looks at a request that voids a record of a stand.
func CheckStandCorrection(req models.NewStandCorrection) error {
	var f models.Faults
	f.Join(checkCorrection(req.Why, req.By))
	needWord(&f, "subject", req.Subject, models.KeptSubjects)
	needText(&f, "subject_id", req.SubjectID, models.MaxName)
	return f.Err()
}

// TakeKept takes a record out of a stand, and answers what it said; nil where the stand
// has none of that identifier that stands. Cuts of others are on the ledger
// alone, and cleanings of tools are no part of it.
func TakeKept(stand *models.StandRecord, subject models.Subject, id string) any {
	switch subject {
	case models.OfSurvey:
		return pick(&stand.Surveys, func(s *models.Survey) bool { return s.ID == id })
	case models.OfDisturbance:
		return pick(&stand.Disturbances, func(d *models.Disturbance) bool { return d.ID == id })
	case models.OfRest:
		return pick(&stand.Rests, func(r *models.Rest) bool { return r.ID == id })
	case models.OfSalvage:
		return pick(&stand.Salvages, func(s *models.SalvagePeriod) bool { return s.ID == id })
	case models.OfNestCheck:
		return pick(&stand.NestChecks, func(l *models.NestLook) bool { return l.ID == id })
	}
	return nil
}

// pick takes the first item that is meant out of a list. It is nil, and no pointer to
// nothing, where there is none.
func pick[T any](list *[]T, is func(*T) bool) any {
	for i := range *list {
		if is(&(*list)[i]) {
			found := (*list)[i]
			*list = slices.Delete(slices.Clone(*list), i, i+1)
			return found
		}
	}
	return nil
}

// VoidOthersCut is the entry of a ledger by which a cut of others never was. Identifier
// and time of entry are left to the caller.
func VoidOthersCut(cut *models.OthersCut) models.LedgerEntry {
	return models.LedgerEntry{
		StandID: cut.StandID, Kind: models.Voided, TakenOn: cut.CutTo, Stems: -cut.High, Corrects: &cut.LedgerID,
	}
}

// AlreadyCorrected is the error for a record of a stand that was corrected before.
func AlreadyCorrected(subject models.Subject, by *models.Correction) error {
	return correctedAlready(subject.Words(), by)
}

// within is an error with the fields where they stand in the request.
func within(prefix string, err error) error {
	e := models.AsError(err)
	if e == nil {
		return err
	}
	told := *e
	told.Fields = slices.Clone(e.Fields)
	for i := range told.Fields {
		told.Fields[i].Name = prefix + told.Fields[i].Name
	}
	return &told
}

// SameDaySurvey warns where another survey of a corrected one's day stands: the one
// entered later counts, and that is the corrected one now.
func SameDaySurvey(standing []models.Survey, is *models.Survey) []string {
	for _, s := range standing {
		if s.SurveyedOn == is.SurveyedOn {
			return []string{fmt.Sprintf("another survey of %s stands, %s: of two on one day the later entered counts, and that is this one", is.SurveyedOn, s.ID)}
		}
	}
	return nil
}

package store

import "withybed/models"

// placedSurvey is a survey with the placement of its plots in a column of its
// own: the caps depend on it, and not on the count of each plot and clump, of
// which there may be thousands.
type placedSurvey struct {
	models.Survey
	Placement *models.Placement // nil without plots
}

// AddSurvey writes a survey.
func (tx *Tx) AddSurvey(s models.Survey) error {
	row := placedSurvey{Survey: s}
	if s.Plots != nil {
		row.Placement = &s.Plots.Placement
	}
	return tx.add("add survey "+s.ID, "surveys", &row)
}

// brief is the survey without its counts, its plots with nothing but their placement.
func (s *placedSurvey) brief() models.Survey {
	if s.Placement != nil {
		s.Plots = &models.Plots{Placement: *s.Placement}
	}
	return s.Survey
}

// AddDisturbance writes a disturbance.
func (tx *Tx) AddDisturbance(d models.Disturbance) error {
	return tx.add("add disturbance "+d.ID, "disturbances", &d)
}

// Surveys lists the surveys of a stand, the newest first.
func (tx *Tx) Surveys(standID string, page models.Page) (models.List[models.Survey], error) {
	day, id, going, err := dayAndID("surveys", page)
	if err != nil {
		return models.List[models.Survey]{}, err
	}
	query := tx.db.Table("surveys").Where("stand_id = ?", standID).
		Order("surveyed_on DESC, id DESC").Limit(page.Size() + 1)
	if going {
		query = query.Where("(surveyed_on, id) < (?, ?)", day, id)
	}
	rows, err := find[models.Survey]("list the surveys of stand "+standID, query)
	return pageOf(rows, page, func(s models.Survey) string {
		return cursorOf("surveys", s.SurveyedOn.String(), s.ID)
	}), err
}

// Disturbances are all the disturbances of a stand, in order of day.
func (tx *Tx) Disturbances(standID string) ([]models.Disturbance, error) {
	return find[models.Disturbance]("read the disturbances of stand "+standID,
		tx.db.Table("disturbances").Where("stand_id = ?", standID).Order("happened_on, id"))
}

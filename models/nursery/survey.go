package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// AddSurvey enters a survey of a stand. One that shows a past cut was too much is
// entered all the same, and says so.
func (n *Nursery) AddSurvey(ctx context.Context, o Once, code string, req models.NewSurvey) (models.SurveyView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.SurveyView, error) {
		none := models.SurveyView{}
		record, err := findStand(tx, now, code, rules.ExceededSince(now.today))
		if err != nil {
			return none, err
		}
		unlisted, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		survey, warnings, err := rules.EnterSurvey(req, now.Confidence, now.today)
		if err != nil {
			return none, err
		}
		survey.ID, survey.StandID, survey.EnteredAt = n.newID(), record.ID, now.at
		before := now.watch(record)
		record.Surveys = rules.WithSurvey(record.Surveys, survey)
		if err := n.post(tx, now, before.occasions(now, record, survey.ID)...); err != nil {
			return none, err
		}
		now.change.made(survey.ID)
		if err := tx.AddSurvey(survey); err != nil {
			return none, err
		}
		warnings = append(warnings, before.warnings(now, record)...)
		err = now.veil(survey.PersonFields())
		return surveyView(record.Code, survey, append(warnings, unlisted...)), err
	})
}

func surveyView(stand string, survey models.Survey, warnings []string) models.SurveyView {
	return models.SurveyView{Stand: stand, Survey: survey, Warnings: listed(warnings)}
}

// listed is a list that is written as [] when it is empty.
func listed[T any](items []T) []T {
	if items == nil {
		return []T{}
	}
	return items
}

// Surveys lists the surveys of a stand, the latest first.
func (n *Nursery) Surveys(ctx context.Context, code string, page models.Page) (models.List[models.SurveyView], error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (list models.List[models.SurveyView], err error) {
		stand, err := findStandAlone(tx, now, code)
		if err != nil {
			return list, err
		}
		surveys, err := tx.Surveys(stand.ID, page)
		if err != nil {
			return list, err
		}
		if err := veilAll(surveys.Items, now.veil); err != nil {
			return list, err
		}
		by, err := amended(tx, surveys.Items, func(s models.Survey) string { return s.ID })
		return listOf(surveys, func(s models.Survey) models.SurveyView {
			view := surveyView(stand.Code, s, nil)
			view.Amended = by[s.ID]
			return view
		}), err
	})
}

// AddDisturbance enters a disturbance, which ends the surveys of a stand.
func (n *Nursery) AddDisturbance(ctx context.Context, o Once, code string, req models.NewDisturbance) (models.DisturbanceView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.DisturbanceView, error) {
		none := models.DisturbanceView{}
		record, err := findStand(tx, now, code, rules.ExceededSince(now.today))
		if err != nil {
			return none, err
		}
		unlisted, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		event, err := rules.EnterDisturbance(req, now.today)
		if err != nil {
			return none, err
		}
		event.ID, event.StandID, event.EnteredAt = n.newID(), record.ID, now.at
		before := now.watch(record)
		record.Disturbances = rules.WithDisturbance(record.Disturbances, event)
		if err := n.post(tx, now, before.occasions(now, record, event.ID)...); err != nil {
			return none, err
		}
		now.change.made(event.ID)
		if err := tx.AddDisturbance(event); err != nil {
			return none, err
		}
		warnings := before.warnings(now, record)
		err = now.veil(event.PersonFields())
		return models.DisturbanceView{Disturbance: event, Warnings: listed(append(warnings, unlisted...))}, err
	})
}

// Disturbances lists the disturbances of a stand, in order of day.
func (n *Nursery) Disturbances(ctx context.Context, code string) ([]models.DisturbanceView, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) ([]models.DisturbanceView, error) {
		stand, err := findStandAlone(tx, now, code)
		if err != nil {
			return nil, err
		}
		events, err := tx.Disturbances(stand.ID)
		if err != nil {
			return nil, err
		}
		if err := veilAll(events, now.veil); err != nil {
			return nil, err
		}
		by, err := amended(tx, events, func(d models.Disturbance) string { return d.ID })
		views := make([]models.DisturbanceView, len(events))
		for i, d := range events {
			views[i] = models.DisturbanceView{Disturbance: d, Amended: by[d.ID], Warnings: []string{}}
		}
		return views, err
	})
}

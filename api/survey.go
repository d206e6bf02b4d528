package api

import (
	"context"

	"withybed/models"
)

func (h handlers) listSurveys(ctx context.Context, in *standPageInput) (*answered[Page[models.SurveyView]], error) {
	list, err := h.nursery.Surveys(ctx, in.Stand, in.page())
	return listed(&in.Paged, list, err)
}

type addSurveyInput struct {
	StandPath
	Keyed
	Body models.NewSurvey
}

func (h handlers) addSurvey(ctx context.Context, in *addSurveyInput) (*answered[models.SurveyView], error) {
	return answer(h.nursery.AddSurvey(ctx, in.once("stands", in.Stand, "surveys"), in.Stand, in.Body))
}

func (h handlers) listDisturbances(ctx context.Context, in *StandPath) (*answered[Page[models.DisturbanceView]], error) {
	return whole(h.nursery.Disturbances(ctx, in.Stand))
}

type addDisturbanceInput struct {
	StandPath
	Keyed
	Body models.NewDisturbance
}

func (h handlers) addDisturbance(ctx context.Context, in *addDisturbanceInput) (*answered[models.DisturbanceView], error) {
	return answer(h.nursery.AddDisturbance(ctx, in.once("stands", in.Stand, "disturbances"), in.Stand, in.Body))
}

// AddSurvey enters a survey of a stand.
func (c *Client) AddSurvey(ctx context.Context, stand string, req models.NewSurvey) (models.SurveyView, error) {
	view, _, err := post[models.SurveyView](ctx, c, pathOf("stands", stand, "surveys"), req)
	return view, err
}

// Surveys lists the surveys of a stand, the latest first.
func (c *Client) Surveys(ctx context.Context, stand string) All[models.SurveyView] {
	return pages[models.SurveyView](ctx, c, pathOf("stands", stand, "surveys"), largePages())
}

// AddDisturbance enters what ends the surveys of a stand.
func (c *Client) AddDisturbance(ctx context.Context, stand string, req models.NewDisturbance) (models.DisturbanceView, error) {
	event, _, err := post[models.DisturbanceView](ctx, c, pathOf("stands", stand, "disturbances"), req)
	return event, err
}

// Disturbances lists the disturbances of a stand, in order of day.
func (c *Client) Disturbances(ctx context.Context, stand string) ([]models.DisturbanceView, error) {
	page, _, err := get[Page[models.DisturbanceView]](ctx, c, pathOf("stands", stand, "disturbances"), nil)
	return page.Items, err
}

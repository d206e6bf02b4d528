package api

import (
	"context"

	"withybed/models"
	"withybed/models/nursery"
)

type dueInput struct {
	On    models.Date `query:"on" doc:"The day asked about; today by default. A day to come is answered as if nothing more were entered" example:"2026-02-16"`
	Bench string      `query:"bench" maxLength:"80" doc:"Only what stands on this bench, compared without case" example:"B2"`
	Flag  models.Flag `query:"flag" enum:"stick,soak,store,check,pot_up,decide" doc:"Only this flag" example:"pot_up"`
}

func (h handlers) due(ctx context.Context, in *dueInput) (*answered[models.DueList], error) {
	return answer(h.nursery.Due(ctx, nursery.DueQuery{On: in.On, Bench: in.Bench, Flag: in.Flag}))
}

// Due answers what is due on a day, the most urgent first.
func (c *Client) Due(ctx context.Context, q nursery.DueQuery) (models.DueList, error) {
	query := asking("on", q.On.String(), "bench", q.Bench, "flag", string(q.Flag))
	list, _, err := get[models.DueList](ctx, c, pathOf("due"), query)
	return list, err
}

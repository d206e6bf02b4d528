package api

import (
	"context"

	"withybed/models"
	"withybed/models/nursery"
)

type parentsInput struct {
	StandPath
	On     models.Date `query:"on" doc:"Last day of the window looked at; today by default" example:"2026-01-17"`
	Season string      `query:"season" maxLength:"7" doc:"Growth year to look at, in place of a window" example:"2025/26"`
	Known
}

func (h handlers) standParents(ctx context.Context, in *parentsInput) (*answered[models.StandParents], error) {
	return answer(h.nursery.StandParents(ctx, in.Stand, nursery.ParentsQuery{On: in.On, Season: in.Season, KnownOn: in.KnownOn}))
}

// StandParents answers which plants of a stand were cut from.
func (c *Client) StandParents(ctx context.Context, stand string, q nursery.ParentsQuery) (models.StandParents, error) {
	view, _, err := get[models.StandParents](ctx, c, pathOf("stands", stand, "parents"), asking("on", q.On.String(), "season", q.Season, "known_on", q.KnownOn.String()))
	return view, err
}

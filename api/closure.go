package api

import (
	"context"

	"withybed/models"
)

type addClosuresInput struct {
	StandPath
	Keyed
	Body models.NewClosures
}

func (h handlers) addClosures(ctx context.Context, in *addClosuresInput) (*made[models.StandView], error) {
	view, err := h.nursery.AddClosures(ctx, in.once("stands", in.Stand, "closures"), in.Stand, in.Body)
	return making(view, view.Version, err, "stands", view.Code)
}

// AddClosures adds closures to those in force on a stand.
func (c *Client) AddClosures(ctx context.Context, stand string, req models.NewClosures) (models.StandView, error) {
	view, _, err := post[models.StandView](ctx, c, pathOf("stands", stand, "closures"), req)
	return view, err
}

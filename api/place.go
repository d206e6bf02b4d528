package api

import (
	"context"

	"withybed/models"
)

func (h handlers) placeClosures(ctx context.Context, in *PlacePath) (*answered[models.PlaceView], error) {
	return answer(h.nursery.PlaceClosures(ctx, in.Place))
}

type closePlaceInput struct {
	PlacePath
	Keyed
	Body models.NewPlaceClosures
}

func (h handlers) closePlace(ctx context.Context, in *closePlaceInput) (*answered[models.PlaceView], error) {
	return answer(h.nursery.ClosePlace(ctx, in.once("places", in.Place, "closures"), in.Place, in.Body))
}

// ClosePlace adds closures to those in force on a whole place, or gives the whole list
// anew.
func (c *Client) ClosePlace(ctx context.Context, place string, req models.NewPlaceClosures) (models.PlaceView, error) {
	view, _, err := post[models.PlaceView](ctx, c, pathOf("places", place, "closures"), req)
	return view, err
}

// PlaceClosures shows the closures of a whole place.
func (c *Client) PlaceClosures(ctx context.Context, place string) (models.PlaceView, error) {
	view, _, err := get[models.PlaceView](ctx, c, pathOf("places", place, "closures"), nil)
	return view, err
}

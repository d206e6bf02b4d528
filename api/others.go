package api

import (
	"context"

	"withybed/models"
)

func (h handlers) listOthersCuts(ctx context.Context, in *standPageInput) (*answered[Page[models.OthersCutView]], error) {
	list, err := h.nursery.OthersCuts(ctx, in.Stand, in.page())
	return listed(&in.Paged, list, err)
}

type addOthersCutInput struct {
	StandPath
	Keyed
	Body models.NewOthersCut
}

func (h handlers) addOthersCut(ctx context.Context, in *addOthersCutInput) (*answered[models.OthersCutView], error) {
	return answer(h.nursery.AddOthersCut(ctx, in.once("stands", in.Stand, "others-cuts"), in.Stand, in.Body))
}

// AddOthersCut enters stems that others cut from a stand.
func (c *Client) AddOthersCut(ctx context.Context, stand string, req models.NewOthersCut) (models.OthersCutView, error) {
	view, _, err := post[models.OthersCutView](ctx, c, pathOf("stands", stand, "others-cuts"), req)
	return view, err
}

// OthersCuts lists the cuts of others from a stand, the latest entered first.
func (c *Client) OthersCuts(ctx context.Context, stand string) All[models.OthersCutView] {
	return pages[models.OthersCutView](ctx, c, pathOf("stands", stand, "others-cuts"), largePages())
}

package api

import (
	"context"

	"withybed/models"
)

func (h handlers) listNestChecks(ctx context.Context, in *standPageInput) (*answered[Page[models.NestCheckView]], error) {
	list, err := h.nursery.NestChecks(ctx, in.Stand, in.page())
	return listed(&in.Paged, list, err)
}

type addNestCheckInput struct {
	StandPath
	Keyed
	Body models.NewNestCheck
}

func (h handlers) addNestCheck(ctx context.Context, in *addNestCheckInput) (*answered[models.NestCheckView], error) {
	return answer(h.nursery.AddNestCheck(ctx, in.once("stands", in.Stand, "nest-checks"), in.Stand, in.Body))
}

type checkPlaceInput struct {
	PlacePath
	Keyed
	Body models.NewNestCheck
}

func (h handlers) checkPlace(ctx context.Context, in *checkPlaceInput) (*answered[models.NestCheckView], error) {
	return answer(h.nursery.CheckPlaceForNests(ctx, in.once("places", in.Place, "nest-checks"), in.Place, in.Body))
}

// AddNestCheck enters a look for nests at a stand.
func (c *Client) AddNestCheck(ctx context.Context, stand string, req models.NewNestCheck) (models.NestCheckView, error) {
	view, _, err := post[models.NestCheckView](ctx, c, pathOf("stands", stand, "nest-checks"), req)
	return view, err
}

// CheckPlaceForNests enters a look for nests at a whole place.
func (c *Client) CheckPlaceForNests(ctx context.Context, place string, req models.NewNestCheck) (models.NestCheckView, error) {
	view, _, err := post[models.NestCheckView](ctx, c, pathOf("places", place, "nest-checks"), req)
	return view, err
}

// NestChecks lists the looks for nests at a stand and over its whole place, the latest
// entered first.
func (c *Client) NestChecks(ctx context.Context, stand string) All[models.NestCheckView] {
	return pages[models.NestCheckView](ctx, c, pathOf("stands", stand, "nest-checks"), largePages())
}

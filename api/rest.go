package api

import (
	"context"

	"withybed/models"
)

func (h handlers) listRests(ctx context.Context, in *standPageInput) (*answered[Page[models.RestView]], error) {
	list, err := h.nursery.Rests(ctx, in.Stand, in.page())
	return listed(&in.Paged, list, err)
}

type addRestInput struct {
	StandPath
	Keyed
	Body models.NewRest
}

func (h handlers) addRest(ctx context.Context, in *addRestInput) (*answered[models.RestView], error) {
	return answer(h.nursery.AddRest(ctx, in.once("stands", in.Stand, "rests"), in.Stand, in.Body))
}

type endRestInput struct {
	StandPath
	Rest string `path:"rest" minLength:"1" maxLength:"80" doc:"Identifier of the rest" example:"0197b2f4-5c1a-7d20-9f3e-2b1c4d5e6f70"`
	Keyed
	Body models.NewRestEnd
}

func (h handlers) endRest(ctx context.Context, in *endRestInput) (*answered[models.RestView], error) {
	return answer(h.nursery.EndRest(ctx, in.once("stands", in.Stand, "rests", in.Rest, "ends"), in.Stand, in.Rest, in.Body))
}

// AddRest sets a stand at rest.
func (c *Client) AddRest(ctx context.Context, stand string, req models.NewRest) (models.RestView, error) {
	view, _, err := post[models.RestView](ctx, c, pathOf("stands", stand, "rests"), req)
	return view, err
}

// EndRest gives a rest its end, or an earlier one.
func (c *Client) EndRest(ctx context.Context, stand, rest string, req models.NewRestEnd) (models.RestView, error) {
	view, _, err := post[models.RestView](ctx, c, pathOf("stands", stand, "rests", rest, "ends"), req)
	return view, err
}

// Rests lists the rests of a stand, the latest entered first.
func (c *Client) Rests(ctx context.Context, stand string) All[models.RestView] {
	return pages[models.RestView](ctx, c, pathOf("stands", stand, "rests"), largePages())
}

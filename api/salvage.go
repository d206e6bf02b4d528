package api

import (
	"context"

	"withybed/models"
)

func (h handlers) listSalvages(ctx context.Context, in *standPageInput) (*answered[Page[models.SalvageView]], error) {
	list, err := h.nursery.Salvages(ctx, in.Stand, in.page())
	return listed(&in.Paged, list, err)
}

type addSalvageInput struct {
	StandPath
	Keyed
	Body models.NewSalvage
}

func (h handlers) addSalvage(ctx context.Context, in *addSalvageInput) (*answered[models.SalvageView], error) {
	return answer(h.nursery.AddSalvage(ctx, in.once("stands", in.Stand, "salvages"), in.Stand, in.Body))
}

// AddSalvage enters days on which a stand may be cut free of caps.
func (c *Client) AddSalvage(ctx context.Context, stand string, req models.NewSalvage) (models.SalvageView, error) {
	view, _, err := post[models.SalvageView](ctx, c, pathOf("stands", stand, "salvages"), req)
	return view, err
}

// Salvages lists the salvages of a stand, the latest entered first.
func (c *Client) Salvages(ctx context.Context, stand string) All[models.SalvageView] {
	return pages[models.SalvageView](ctx, c, pathOf("stands", stand, "salvages"), largePages())
}

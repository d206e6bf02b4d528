package api

import (
	"context"

	"withybed/models"
)

func (h handlers) listShares(ctx context.Context, in *standPageInput) (*answered[Page[models.ShareView]], error) {
	list, err := h.nursery.Shares(ctx, in.Stand, in.page())
	return listed(&in.Paged, list, err)
}

type heldSharesInput struct{ Paged }

func (h handlers) listHeldShares(ctx context.Context, in *heldSharesInput) (*answered[Page[models.ShareView]], error) {
	list, err := h.nursery.HeldShares(ctx, in.page())
	return listed(&in.Paged, list, err)
}

type addShareInput struct {
	StandPath
	Keyed
	Body models.NewShare
}

func (h handlers) addShare(ctx context.Context, in *addShareInput) (*answered[models.ShareView], error) {
	return answer(h.nursery.AddShare(ctx, in.once("stands", in.Stand, "shares"), in.Stand, in.Body))
}

type returnShareInput struct {
	SharePath
	Keyed
	Body models.NewShareReturn
}

func (h handlers) returnShare(ctx context.Context, in *returnShareInput) (*answered[models.ShareView], error) {
	return answer(h.nursery.ReturnShare(ctx, in.once("stands", in.Stand, "shares", in.Share, "returns"), in.Stand, in.Share, in.Body))
}

// AddShare sets stems of a stand aside for a crew.
func (c *Client) AddShare(ctx context.Context, stand string, req models.NewShare) (models.ShareView, error) {
	view, _, err := post[models.ShareView](ctx, c, pathOf("stands", stand, "shares"), req)
	return view, err
}

// ReturnShare returns all that is left of a crew share, named by its identifier or its
// crew.
func (c *Client) ReturnShare(ctx context.Context, stand, share string, req models.NewShareReturn) (models.ShareView, error) {
	view, _, err := post[models.ShareView](ctx, c, pathOf("stands", stand, "shares", share, "returns"), req)
	return view, err
}

// Shares lists the crew shares of a stand, ended ones too, the latest entered first.
func (c *Client) Shares(ctx context.Context, stand string) All[models.ShareView] {
	return pages[models.ShareView](ctx, c, pathOf("stands", stand, "shares"), largePages())
}

// HeldShares lists what is set aside at all stands, the shares that end first at the
// top.
func (c *Client) HeldShares(ctx context.Context) All[models.ShareView] {
	return pages[models.ShareView](ctx, c, pathOf("shares"), largePages())
}

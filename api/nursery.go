package api

import (
	"context"

	"withybed/models"
)

func (h handlers) showNursery(ctx context.Context, _ *struct{}) (*shown[models.NurseryView], error) {
	view, err := h.nursery.See(ctx)
	return showing(view, view.Version, err)
}

type editNurseryInput struct {
	Guarded
	Body models.NurseryEdit
}

func (h handlers) editNursery(ctx context.Context, in *editNurseryInput) (*shown[models.NurseryView], error) {
	version, err := in.Version()
	if err != nil {
		return nil, err
	}
	view, err := h.nursery.Edit(ctx, version, in.Body)
	return showing(view, view.Version, err)
}

// Nursery shows the nursery and its settings.
func (c *Client) Nursery(ctx context.Context) (models.NurseryView, error) {
	view, _, err := get[models.NurseryView](ctx, c, pathOf("nursery"), nil)
	return view, err
}

// EditNursery changes the settings by a merge patch of the version they were read at.
func (c *Client) EditNursery(ctx context.Context, version int, edit models.NurseryEdit) (models.NurseryView, error) {
	view, _, err := patch[models.NurseryView](ctx, c, pathOf("nursery"), ETag(version), edit)
	return view, err
}

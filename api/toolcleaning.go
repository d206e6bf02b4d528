package api

import (
	"context"

	"withybed/models"
)

func (h handlers) listToolCleanings(ctx context.Context, in *standPageInput) (*answered[Page[models.ToolCleaningView]], error) {
	list, err := h.nursery.ToolCleanings(ctx, in.Stand, in.page())
	return listed(&in.Paged, list, err)
}

type logToolCleaningInput struct {
	StandPath
	Keyed
	Body models.NewToolCleaning
}

func (h handlers) logToolCleaning(ctx context.Context, in *logToolCleaningInput) (*answered[models.ToolCleaningView], error) {
	return answer(h.nursery.LogToolCleaning(ctx, in.once("stands", in.Stand, "tool-cleanings"), in.Stand, in.Body))
}

// LogToolCleaning logs tools and boots cleaned before a stand is entered.
func (c *Client) LogToolCleaning(ctx context.Context, stand string, req models.NewToolCleaning) (models.ToolCleaningView, error) {
	view, _, err := post[models.ToolCleaningView](ctx, c, pathOf("stands", stand, "tool-cleanings"), req)
	return view, err
}

// ToolCleanings lists the cleanings at a stand, the latest entered first.
func (c *Client) ToolCleanings(ctx context.Context, stand string) All[models.ToolCleaningView] {
	return pages[models.ToolCleaningView](ctx, c, pathOf("stands", stand, "tool-cleanings"), largePages())
}

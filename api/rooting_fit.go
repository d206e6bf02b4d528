package api

import (
	"context"
	"strings"

	"withybed/models"
	"withybed/models/nursery"
)

type fitInput struct {
	GroupedBatches
	WatchedBatches
}

func (h handlers) rootingFit(ctx context.Context, in *fitInput) (*answered[models.FitReport], error) {
	return answer(h.nursery.RootingFit(ctx, in.pick(), in.By))
}

// RootingFit answers which model the days to root follow.
func (c *Client) RootingFit(ctx context.Context, pick nursery.RootingPick, by []string) (models.FitReport, error) {
	return rooting[models.FitReport](ctx, c, "fit", pick, "by", strings.Join(by, ","))
}

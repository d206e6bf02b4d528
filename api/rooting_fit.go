package api

import (
	"context"
	"strings"

	"withybed/models"
	"withybed/models/documents"
	"withybed/models/nursery"
	"withybed/models/stats"
)

type fitInput struct {
	GroupedBatches
	WatchedBatches
	Accepting
}

func (h handlers) rootingFit(ctx context.Context, in *fitInput) (*inType, error) {
	if in.accept != jsonType {
		return h.fitPicture(ctx, in)
	}
	report, err := h.nursery.RootingFit(ctx, in.pick(), in.By)
	if err != nil {
		return nil, err
	}
	return answerIn(in.Accepting, report, nil)
}

// fitPicture draws models over the curve of their pool, with limits as the curve
// has them unless asked otherwise.
func (h handlers) fitPicture(ctx context.Context, in *fitInput) (*inType, error) {
	fit, curve, err := h.nursery.RootingFitOver(ctx, in.pick(), in.By, stats.Drawing{Replicates: 1000, Seed: 1})
	if err != nil {
		return nil, err
	}
	return orDrawn(in.Accepting, fit, func(f documents.Format) ([]byte, error) { return documents.FitPicture(curve, fit, f) })
}

// RootingFit answers which model the days to root follow.
func (c *Client) RootingFit(ctx context.Context, pick nursery.RootingPick, by []string) (models.FitReport, error) {
	return rooting[models.FitReport](ctx, c, "fit", pick, "by", strings.Join(by, ","))
}

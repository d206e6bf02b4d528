package api

import (
	"context"

	"withybed/models"
	"withybed/models/documents"
	"withybed/models/nursery"
)

type curveInput struct {
	RootingQuestion
	Accepting
}

func (h handlers) rootingCurve(ctx context.Context, in *curveInput) (*inType, error) {
	report, err := h.nursery.RootingCurve(ctx, in.asked())
	if err != nil {
		return nil, err
	}
	return orDrawn(in.Accepting, report, func(f documents.Format) ([]byte, error) { return documents.CurvePicture(report, f) })
}

// RootingCurve answers how fast what rooted, by group.
func (c *Client) RootingCurve(ctx context.Context, q nursery.RootingQuery) (models.CurveReport, error) {
	return rooting[models.CurveReport](ctx, c, "curve", q.RootingPick, grouped(q)...)
}

package api

import (
	"context"

	"github.com/danielgtaylor/huma/v2"

	"withybed/models"
	"withybed/models/documents"
	"withybed/models/nursery"
)

const (
	svgType = "image/svg+xml"
	pngType = "image/png"
)

// givesCurve is an operation that answers with curves: as JSON, or drawn.
func givesCurve(s *Surface, op huma.Operation) huma.Operation {
	return givesAlso[models.CurveReport](s, op, map[string]*huma.Schema{svgType: asText, pngType: asBinary})
}

type curveInput struct {
	RootingQuestion
	Accepting
}

func (h handlers) rootingCurve(ctx context.Context, in *curveInput) (*inType, error) {
	report, err := h.nursery.RootingCurve(ctx, in.asked())
	if err != nil {
		return nil, err
	}
	return answerIn(in.Accepting, report, map[string]func() ([]byte, error){
		svgType: func() ([]byte, error) { return documents.CurvePicture(report, documents.SVG) },
		pngType: func() ([]byte, error) { return documents.CurvePicture(report, documents.PNG) },
	})
}

// RootingCurve answers how fast what rooted, by group.
func (c *Client) RootingCurve(ctx context.Context, q nursery.RootingQuery) (models.CurveReport, error) {
	return rooting[models.CurveReport](ctx, c, "curve", q.RootingPick, grouped(q)...)
}

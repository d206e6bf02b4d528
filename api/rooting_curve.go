package api

import (
	"bytes"
	"context"
	"reflect"
	"strconv"

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
	op.Responses[strconv.Itoa(op.DefaultStatus)].Content = map[string]*huma.MediaType{
		jsonType: {Schema: s.api.OpenAPI().Components.Schemas.Schema(reflect.TypeFor[models.CurveReport](), true, "")},
		svgType:  {Schema: &huma.Schema{Type: huma.TypeString}},
		pngType:  {Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}},
	}
	return op
}

type curveInput struct {
	RootingQuestion

	accept string
}

// Resolve keeps the type of the answer, which was settled by what the request
// accepts.
func (in *curveInput) Resolve(ctx huma.Context) []error {
	in.accept = ctx.Header("Accept")
	return nil
}

type curveOutput struct {
	ContentType string `header:"Content-Type" hidden:"true"`
	Vary        string `header:"Vary" doc:"That the answer depends on Accept" example:"Accept"`
	Body        []byte
}

func (h handlers) rootingCurve(ctx context.Context, in *curveInput) (*curveOutput, error) {
	report, err := h.nursery.RootingCurve(ctx, in.asked())
	if err != nil {
		return nil, err
	}
	out := &curveOutput{ContentType: in.accept, Vary: "Accept"}
	switch in.accept {
	case svgType:
		out.Body, err = documents.CurvePicture(report, documents.SVG)
	case pngType:
		out.Body, err = documents.CurvePicture(report, documents.PNG)
	default:
		var body bytes.Buffer
		err = strictJSON.Marshal(&body, report)
		out.Body = body.Bytes()
	}
	return out, err
}

// RootingCurve answers how fast what rooted, by group.
func (c *Client) RootingCurve(ctx context.Context, q nursery.RootingQuery) (models.CurveReport, error) {
	return rooting[models.CurveReport](ctx, c, "curve", q.RootingPick, grouped(q)...)
}

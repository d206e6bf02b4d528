package api

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"reflect"
	"strconv"

	"github.com/danielgtaylor/huma/v2"

	"withybed/models"
	"withybed/models/documents"
	"withybed/models/nursery"
)

const (
	textType = "text/plain"
	pdfType  = "application/pdf"
)

// givesSheet is an operation that answers with a field sheet: as JSON, as text or
// as a PDF.
func givesSheet(s *Surface, op huma.Operation) huma.Operation {
	text := &huma.Schema{Type: huma.TypeString}
	op.Responses[strconv.Itoa(op.DefaultStatus)].Content = map[string]*huma.MediaType{
		jsonType: {Schema: s.api.OpenAPI().Components.Schemas.Schema(reflect.TypeFor[models.Sheet](), true, "")},
		textType: {Schema: text},
		pdfType:  {Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}},
	}
	return op
}

type sheetInput struct {
	StandPath
	On    models.Date  `query:"on" doc:"Day of the cut; today by default" example:"2026-01-17"`
	Stems int          `query:"stems" required:"true" minimum:"1" maximum:"5000" doc:"Stems the crew would like to cut" example:"24"`
	Crew  string       `query:"crew" required:"true" minLength:"1" maxLength:"24" doc:"What the crew is called; the numbers of its tags begin with it" example:"C"`
	Paper models.Paper `query:"paper" enum:"a4,letter" default:"a4" doc:"Size of the paper, for a PDF" example:"a4"`

	accept string
}

// Resolve keeps the type of the answer, which was settled by what the request
// accepts.
func (in *sheetInput) Resolve(ctx huma.Context) []error {
	in.accept = ctx.Header("Accept")
	return nil
}

type sheetOutput struct {
	ContentType string `header:"Content-Type" hidden:"true"`
	Vary        string `header:"Vary" doc:"That the answer depends on Accept" example:"Accept"`
	Body        []byte
}

func (h handlers) sheet(ctx context.Context, in *sheetInput) (*sheetOutput, error) {
	sheet, err := h.nursery.Sheet(ctx, in.Stand, nursery.SheetQuery{On: in.On, Stems: in.Stems, Crew: in.Crew})
	if err != nil {
		return nil, err
	}
	out := &sheetOutput{ContentType: in.accept, Vary: "Accept"}
	switch in.accept {
	case textType:
		out.ContentType, out.Body = textType+"; charset=utf-8", []byte(documents.SheetText(&sheet))
	case pdfType:
		out.Body, err = documents.SheetPDF(&sheet, in.Paper)
	default:
		var body bytes.Buffer
		err = strictJSON.Marshal(&body, sheet)
		out.Body = body.Bytes()
	}
	return out, err
}

// Sheet makes a field sheet for a stand.
func (c *Client) Sheet(ctx context.Context, stand string, q nursery.SheetQuery) (models.Sheet, error) {
	sheet, _, err := send[models.Sheet](ctx, c, sheetCall(stand, q, jsonType, ""))
	return sheet, err
}

// SheetText makes a field sheet as text.
func (c *Client) SheetText(ctx context.Context, stand string, q nursery.SheetQuery) (string, error) {
	text, err := c.fetch(ctx, sheetCall(stand, q, textType, ""))
	return string(text), err
}

// SheetPDF makes a field sheet as a PDF; on A4 if paper is empty.
func (c *Client) SheetPDF(ctx context.Context, stand string, q nursery.SheetQuery, paper models.Paper) ([]byte, error) {
	return c.fetch(ctx, sheetCall(stand, q, pdfType, paper))
}

func sheetCall(stand string, q nursery.SheetQuery, accept string, paper models.Paper) call {
	return call{
		method: http.MethodGet, path: pathOf("stands", stand, "sheet"), tries: lostTries, header: http.Header{"Accept": {accept}},
		query: asking("on", q.On.String(), "stems", strconv.Itoa(q.Stems), "crew", q.Crew, "paper", string(paper)),
	}
}

// fetch is the body of an answer as it comes.
func (c *Client) fetch(ctx context.Context, call call) ([]byte, error) {
	answer, err := c.do(ctx, call)
	if err != nil {
		return nil, err
	}
	defer answer.Body.Close()
	if answer.StatusCode >= 300 {
		return nil, c.readProblem(answer)
	}
	body, err := io.ReadAll(answer.Body)
	if err != nil {
		return nil, c.lost(ctx, fmt.Errorf("read the answer: %w", err))
	}
	return body, nil
}

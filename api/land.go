package api

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"withybed/models"
	"withybed/models/documents"
	"withybed/models/nursery"
)

const htmlType = "text/html"

// givesPage is an operation that answers T as JSON, or as a page to be read: as text,
// HTML or PDF.
func givesPage[T any](s *Surface, op huma.Operation) huma.Operation {
	return givesAlso[T](s, op, map[string]*huma.Schema{textType: asText, htmlType: asText, pdfType: asBinary})
}

type landInput struct {
	LandManager string       `query:"land_manager" maxLength:"80" doc:"Whose land the page is about, compared without case; a land manager's token needs not say" example:"Wrenlow Valley Parks"`
	Place       string       `query:"place" maxLength:"80" doc:"The place it is about, compared without case" example:"Mallow Bend"`
	From        models.Date  `query:"from" doc:"First day of the period; the first of this growth year by default" example:"2025-07-01"`
	To          models.Date  `query:"to" doc:"Last day of the period; the last of this growth year by default" example:"2026-06-30"`
	Paper       models.Paper `query:"paper" enum:"a4,letter" default:"a4" doc:"Size of the paper, for a PDF" example:"a4"`
	Known
	Accepting
}

// pageInType is an answer in the type that was settled, with what a browser may do with
// it as a page.
type pageInType struct {
	ContentType string `header:"Content-Type" hidden:"true"`
	Policy      string `header:"Content-Security-Policy" hidden:"true"`
	Vary        string `header:"Vary" doc:"That the answer depends on Accept" example:"Accept"`
	Body        []byte
}

func (h handlers) land(ctx context.Context, in *landInput) (*pageInType, error) {
	land, err := h.nursery.Land(ctx, nursery.LandQuery{LandManager: in.LandManager, Place: in.Place, From: in.From, To: in.To, KnownOn: in.KnownOn})
	if err != nil {
		return nil, err
	}
	out, err := answerIn(in.Accepting, land, map[string]func() ([]byte, error){
		textType: func() ([]byte, error) { return []byte(documents.LandText(&land)), nil },
		htmlType: func() ([]byte, error) { return documents.LandHTML(&land) },
		pdfType:  func() ([]byte, error) { return documents.LandPDF(&land, in.Paper) },
	})
	if err != nil {
		return nil, err
	}
	page := &pageInType{ContentType: out.ContentType, Policy: contentPolicy(""), Vary: out.Vary, Body: out.Body}
	if in.accept == htmlType {
		page.Policy = contentPolicy("'unsafe-inline'") // pictures have their styles within; there are no scripts
	}
	return page, nil
}

// Land makes the page of a land manager.
func (c *Client) Land(ctx context.Context, q nursery.LandQuery) (models.Land, error) {
	land, _, err := send[models.Land](ctx, c, landCall(q, jsonType, ""))
	return land, err
}

// LandText makes the page as text.
func (c *Client) LandText(ctx context.Context, q nursery.LandQuery) (string, error) {
	text, err := c.fetch(ctx, landCall(q, textType, ""))
	return string(text), err
}

// LandHTML makes the page as HTML.
func (c *Client) LandHTML(ctx context.Context, q nursery.LandQuery) ([]byte, error) {
	return c.fetch(ctx, landCall(q, htmlType, ""))
}

// LandPDF makes the page as a PDF; on A4 if paper is empty.
func (c *Client) LandPDF(ctx context.Context, q nursery.LandQuery, paper models.Paper) ([]byte, error) {
	return c.fetch(ctx, landCall(q, pdfType, paper))
}

func landCall(q nursery.LandQuery, accept string, paper models.Paper) call {
	return call{
		method: http.MethodGet, path: pathOf("land"), tries: lostTries, header: http.Header{"Accept": {accept}},
		query: asking("land_manager", q.LandManager, "place", q.Place, "from", q.From.String(), "to", q.To.String(), "known_on", q.KnownOn.String(), "paper", string(paper)),
	}
}

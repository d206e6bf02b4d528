package api

import (
	"context"
	"fmt"
	"io"
	"net/http"
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
	return givesAlso[models.Sheet](s, op, map[string]*huma.Schema{textType: asText, pdfType: asBinary})
}

type sheetInput struct {
	StandPath
	On    models.Date  `query:"on" doc:"Day of the cut; today by default" example:"2026-01-17"`
	Stems int          `query:"stems" required:"true" minimum:"1" maximum:"5000" doc:"Stems the crew would like to cut" example:"24"`
	Crew  string       `query:"crew" required:"true" minLength:"1" maxLength:"24" doc:"What the crew is called; the numbers of its tags begin with it" example:"C"`
	Paper models.Paper `query:"paper" enum:"a4,letter" default:"a4" doc:"Size of the paper, for a PDF" example:"a4"`

	Accepting
}

func (h handlers) sheet(ctx context.Context, in *sheetInput) (*inType, error) {
	sheet, err := h.nursery.Sheet(ctx, in.Stand, nursery.SheetQuery{On: in.On, Stems: in.Stems, Crew: in.Crew})
	if err != nil {
		return nil, err
	}
	return answerIn(in.Accepting, sheet, map[string]func() ([]byte, error){
		textType: func() ([]byte, error) { return []byte(documents.SheetText(&sheet)), nil },
		pdfType:  func() ([]byte, error) { return documents.SheetPDF(&sheet, in.Paper) },
	})
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

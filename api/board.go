package api

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"withybed/models"
	"withybed/models/documents"
	"withybed/models/nursery"
)

// givesTable is an operation that answers T as JSON, or as CSV.
func givesTable[T any](s *Surface, op huma.Operation) huma.Operation {
	return givesAlso[T](s, op, map[string]*huma.Schema{csvType: asText})
}

type boardInput struct {
	On          models.Date `query:"on" doc:"The day it speaks of; today by default" example:"2026-01-17"`
	LandManager string      `query:"land_manager" maxLength:"80" doc:"Only stands on their land, compared without case" example:"Wrenlow Valley Parks"`
	Place       string      `query:"place" maxLength:"80" doc:"Only stands at this place, compared without case" example:"Mallow Bend"`
	Taxon       string      `query:"taxon" maxLength:"80" doc:"Only stands of this taxon, by scientific name" example:"Cornus sericea"`
	Known
	Accepting
}

func (h handlers) board(ctx context.Context, in *boardInput) (*inType, error) {
	board, err := h.nursery.Board(ctx, nursery.BoardQuery{On: in.On, KnownOn: in.KnownOn, Taxon: in.Taxon, Place: in.Place, LandManager: in.LandManager})
	if err != nil {
		return nil, err
	}
	return answerIn(in.Accepting, board, map[string]func() ([]byte, error){
		csvType: func() ([]byte, error) { return documents.BoardCSV(&board) },
	})
}

// Board shows every stand with what is left of it on a day.
func (c *Client) Board(ctx context.Context, q nursery.BoardQuery) (models.Board, error) {
	board, _, err := send[models.Board](ctx, c, boardCall(q, jsonType))
	return board, err
}

// BoardCSV is the board as CSV.
func (c *Client) BoardCSV(ctx context.Context, q nursery.BoardQuery) ([]byte, error) {
	return c.fetch(ctx, boardCall(q, csvType))
}

func boardCall(q nursery.BoardQuery, accept string) call {
	return call{
		method: http.MethodGet, path: pathOf("board"), tries: lostTries, header: http.Header{"Accept": {accept}},
		query: asking("on", q.On.String(), "known_on", q.KnownOn.String(), "land_manager", q.LandManager, "place", q.Place, "taxon", q.Taxon),
	}
}

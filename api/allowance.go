package api

import (
	"context"
	"strconv"

	"withybed/models"
	"withybed/models/nursery"
)

type allowanceInput struct {
	StandPath
	On      models.Date `query:"on" doc:"Day of the cut; today by default" example:"2026-01-17"`
	Stems   int         `query:"stems" minimum:"1" maximum:"10000000" default:"1" doc:"Stems for which possible_from is worked out" example:"24"`
	Parents int         `query:"parents" minimum:"1" maximum:"10000000" doc:"Plants or clumps to be cut from; without it the per-plant rule is left out of allowed" example:"12"`
}

func (h handlers) allowance(ctx context.Context, in *allowanceInput) (*answered[models.Allowance], error) {
	query := nursery.AllowanceQuery{On: in.On, Stems: in.Stems}
	if in.Parents > 0 {
		query.Parents = &in.Parents
	}
	return answer(h.nursery.Allowance(ctx, in.Stand, query))
}

type standPageInput struct {
	StandPath
	Paged
}

func (h handlers) ledger(ctx context.Context, in *standPageInput) (*answered[Page[models.LedgerLine]], error) {
	list, err := h.nursery.Ledger(ctx, in.Stand, in.page())
	return listed(&in.Paged, list, err)
}

func (h handlers) seasons(ctx context.Context, in *StandPath) (*answered[Page[models.SeasonTaken]], error) {
	return whole(h.nursery.Seasons(ctx, in.Stand))
}

// Allowance answers how many stems may be cut from a stand on a day.
func (c *Client) Allowance(ctx context.Context, stand string, q nursery.AllowanceQuery) (models.Allowance, error) {
	query := asking("on", q.On.String(), "stems", count(q.Stems))
	if q.Parents != nil {
		query.Set("parents", strconv.Itoa(*q.Parents))
	}
	allowance, _, err := get[models.Allowance](ctx, c, pathOf("stands", stand, "allowance"), query)
	return allowance, err
}

// Ledger lists the entries of a stand's ledger, the latest entered first.
func (c *Client) Ledger(ctx context.Context, stand string) All[models.LedgerLine] {
	return pages[models.LedgerLine](ctx, c, pathOf("stands", stand, "ledger"), largePages())
}

// Seasons sums a stand's ledger by growth year, the latest first.
func (c *Client) Seasons(ctx context.Context, stand string) ([]models.SeasonTaken, error) {
	page, _, err := get[Page[models.SeasonTaken]](ctx, c, pathOf("stands", stand, "seasons"), nil)
	return page.Items, err
}

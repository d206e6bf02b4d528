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
	KnownOn models.Date `query:"known_on" doc:"Answer by what was known at the end of that day; by what is known now by default" example:"2026-01-31"`
	Share   string      `query:"share" maxLength:"40" doc:"Crew whose share the stems are drawn on, or the identifier of the share: the answer is that for a batch drawn on it" example:"C"`
	Parents int         `query:"parents" minimum:"1" maximum:"10000000" doc:"Plants or clumps to be cut from; without it the per-plant rule is left out of allowed" example:"12"`
}

func (h handlers) allowance(ctx context.Context, in *allowanceInput) (*answered[models.Allowance], error) {
	query := nursery.AllowanceQuery{On: in.On, KnownOn: in.KnownOn, Stems: in.Stems, Share: in.Share}
	if in.Parents > 0 {
		query.Parents = &in.Parents
	}
	return answer(h.nursery.Allowance(ctx, in.Stand, query))
}

type standPageInput struct {
	StandPath
	Paged
}

type ledgerInput struct {
	StandPath
	Known
	Paged
}

// Known asks for a report as it was known on a day.
type Known struct {
	KnownOn models.Date `query:"known_on" doc:"As it was known at the end of that day; as it is known now by default" example:"2026-01-31"`
}

func (h handlers) ledger(ctx context.Context, in *ledgerInput) (*answered[Page[models.LedgerLine]], error) {
	list, err := h.nursery.Ledger(ctx, in.Stand, in.KnownOn, in.page())
	return listed(&in.Paged, list, err)
}

type seasonsInput struct {
	StandPath
	Known
}

func (h handlers) seasons(ctx context.Context, in *seasonsInput) (*answered[Page[models.SeasonTaken]], error) {
	return whole(h.nursery.Seasons(ctx, in.Stand, in.KnownOn))
}

// Allowance answers how many stems may be cut from a stand on a day.
func (c *Client) Allowance(ctx context.Context, stand string, q nursery.AllowanceQuery) (models.Allowance, error) {
	query := asking("on", q.On.String(), "known_on", q.KnownOn.String(), "stems", count(q.Stems), "share", q.Share)
	if q.Parents != nil {
		query.Set("parents", strconv.Itoa(*q.Parents))
	}
	allowance, _, err := get[models.Allowance](ctx, c, pathOf("stands", stand, "allowance"), query)
	return allowance, err
}

// Ledger lists the entries of a stand's ledger, the latest entered first, as they are
// or were known at the end of a day.
func (c *Client) Ledger(ctx context.Context, stand string, knownOn models.Date) All[models.LedgerLine] {
	return pages[models.LedgerLine](ctx, c, pathOf("stands", stand, "ledger"), inPages(asking("known_on", knownOn.String()), models.Page{}))
}

// Seasons sums a stand's ledger by growth year, the latest first, as it is or was
// known at the end of a day.
func (c *Client) Seasons(ctx context.Context, stand string, knownOn models.Date) ([]models.SeasonTaken, error) {
	page, _, err := get[Page[models.SeasonTaken]](ctx, c, pathOf("stands", stand, "seasons"), asking("known_on", knownOn.String()))
	return page.Items, err
}

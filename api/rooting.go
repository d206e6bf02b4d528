package api

import (
	"context"
	"strings"

	"withybed/models"
	"withybed/models/nursery"
)

type rootingInput struct {
	By    []string           `query:"by" maxItems:"10" doc:"What to group by, separated by commas: taxon, stand, kind, treatment, season, medium, container, bench, heated, mist or purpose. Taxon, treatment and heated by default" example:"[\"taxon\",\"treatment\"]"`
	On    models.Date        `query:"on" doc:"The day it is to speak of; today by default" example:"2026-04-30"`
	Stand string             `query:"stand" maxLength:"80" doc:"Only batches of this stand, by code" example:"MB-03"`
	Taxon string             `query:"taxon" maxLength:"80" doc:"Only batches of this taxon, by scientific name" example:"Cornus sericea"`
	Kind  models.CuttingKind `query:"kind" enum:"hardwood,semi_hardwood,softwood,root_cutting,live_stake,pole,whip,fascine" doc:"Only this kind of cutting" example:"hardwood"`
	From  models.Date        `query:"from" doc:"Collected on this day or later" example:"2025-07-01"`
	To    models.Date        `query:"to" doc:"Collected on this day or earlier" example:"2026-06-30"`
}

func (h handlers) rooting(ctx context.Context, in *rootingInput) (*answered[models.RootingReport], error) {
	return answer(h.nursery.Rooting(ctx, nursery.RootingQuery{
		By: in.By, On: in.On, Stand: in.Stand, Taxon: in.Taxon, Kind: in.Kind, From: in.From, To: in.To,
	}))
}

// Rooting answers what rooted and how fast, by group.
func (c *Client) Rooting(ctx context.Context, q nursery.RootingQuery) (models.RootingReport, error) {
	query := asking("by", strings.Join(q.By, ","), "on", q.On.String(), "stand", q.Stand, "taxon", q.Taxon,
		"kind", string(q.Kind), "from", q.From.String(), "to", q.To.String())
	report, _, err := get[models.RootingReport](ctx, c, pathOf("rooting", "rate"), query)
	return report, err
}

package api

import (
	"context"
	"strconv"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/rules"
)

type compareInput struct {
	WatchedBatches
	DrawnLimits
	By         string  `query:"by" maxLength:"80" default:"treatment" doc:"What arms are told apart by: treatment, medium, season, stand, kind, heated, bench, willow_water, soak_days or auxin_ppm; person, who stuck them, for leads and coordinators alone" example:"treatment"`
	Reference  string  `query:"reference" maxLength:"400" doc:"The arm that others are held against; the first by name by default" example:"none"`
	Difference float64 `query:"difference" minimum:"0" maximum:"1" doc:"A difference of rates that would matter, as a share: the answer says how many batches an arm it takes to find it" example:"0.15"`
}

func (h handlers) rootingCompare(ctx context.Context, in *compareInput) (*answered[models.Comparison], error) {
	ask := rules.CompareAsk{By: in.By, Reference: in.Reference, Difference: in.Difference, Draw: in.drawing()}
	return answer(h.nursery.RootingCompare(ctx, in.pick(), ask))
}

// RootingCompare answers whether arms differ.
func (c *Client) RootingCompare(ctx context.Context, pick nursery.RootingPick, ask rules.CompareAsk) (models.Comparison, error) {
	pairs := append(drawn(ask.Draw), "by", ask.By, "reference", ask.Reference)
	if ask.Difference != 0 {
		pairs = append(pairs, "difference", strconv.FormatFloat(ask.Difference, 'g', -1, 64))
	}
	return rooting[models.Comparison](ctx, c, "compare", pick, pairs...)
}

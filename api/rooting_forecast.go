package api

import (
	"context"
	"strconv"
	"strings"

	"withybed/models"
	"withybed/models/documents"
	"withybed/models/nursery"
)

type forecastInput struct {
	WatchedBatches
	Batch  []string `query:"batch" maxItems:"100" doc:"Only these batches, by code, separated by commas" example:"[\"MB-03-2026-7\"]"`
	Wanted int      `query:"wanted" minimum:"0" maximum:"10000000" doc:"Rooted cuttings wanted of each batch; four fifths of the expected final number without it" example:"40"`

	Accepting
}

func (h handlers) rootingForecast(ctx context.Context, in *forecastInput) (*inType, error) {
	report, err := h.nursery.RootingForecast(ctx, nursery.ForecastQuery{RootingPick: in.pick(), Batches: in.Batch, Wanted: in.Wanted})
	if err != nil {
		return nil, err
	}
	return orDrawn(in.Accepting, report, func(f documents.Format) ([]byte, error) { return documents.ForecastPicture(report, f) })
}

// RootingForecast answers what is expected of open batches.
func (c *Client) RootingForecast(ctx context.Context, q nursery.ForecastQuery) (models.ForecastReport, error) {
	pairs := []string{"batch", strings.Join(q.Batches, ",")}
	if q.Wanted > 0 {
		pairs = append(pairs, "wanted", strconv.Itoa(q.Wanted))
	}
	return rooting[models.ForecastReport](ctx, c, "forecast", q.RootingPick, pairs...)
}

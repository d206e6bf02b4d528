package api

import (
	"context"
	"strconv"
	"strings"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/stats"
)

// WatchedBatches is embedded in the input of every question about rooting: it
// picks the batches asked about.
type WatchedBatches struct {
	On        models.Date        `query:"on" doc:"The day it is to speak of; today by default" example:"2026-04-30"`
	Stand     string             `query:"stand" maxLength:"80" doc:"Only batches of this stand, by code" example:"MB-03"`
	Taxon     string             `query:"taxon" maxLength:"80" doc:"Only batches of this taxon, by scientific name" example:"Cornus sericea"`
	Kind      models.CuttingKind `query:"kind" enum:"hardwood,semi_hardwood,softwood,root_cutting,live_stake,pole,whip,fascine" doc:"Only this kind of cutting" example:"hardwood"`
	Treatment string             `query:"treatment" maxLength:"400" doc:"Only this treatment, in the words that name it; none for none" example:"willow water 100 g/L 24 h"`
	Medium    string             `query:"medium" maxLength:"80" doc:"Only this rooting medium" example:"perlite"`
	Heated    string             `query:"heated" enum:"yes,no" doc:"Only with bottom heat, or only without" example:"no"`
	Bench     string             `query:"bench" maxLength:"80" doc:"Only this bench" example:"B2"`
	Season    string             `query:"season" pattern:"^[0-9]{4}/[0-9]{2}$" patternDescription:"a season from 1 July, as in 2025/26" doc:"Only cut in this season, 1 July to 30 June" example:"2025/26"`
	From      models.Date        `query:"from" doc:"Collected on this day or later" example:"2025-07-01"`
	To        models.Date        `query:"to" doc:"Collected on this day or earlier" example:"2026-06-30"`
}

func (in *WatchedBatches) asked() nursery.RootingQuery {
	return nursery.RootingQuery{
		On: in.On, Stand: in.Stand, Taxon: in.Taxon, Kind: in.Kind, Treatment: in.Treatment, Medium: in.Medium,
		Heated: in.Heated, Bench: in.Bench, Season: in.Season, From: in.From, To: in.To,
	}
}

// GroupedBatches is embedded where batches are grouped.
type GroupedBatches struct {
	By []string `query:"by" maxItems:"10" doc:"What to group by, separated by commas: taxon, stand, kind, treatment, season, medium, container, bench, heated, mist or purpose" example:"[\"taxon\",\"treatment\"]"`
}

// DrawnLimits is embedded where limits are drawn: how limits are drawn from whole batches.
type DrawnLimits struct {
	Replicates int    `query:"replicates" minimum:"0" maximum:"10000" default:"1000" doc:"How often batches are drawn again for limits; 0 for no limits" example:"1000"`
	Seed       uint64 `query:"seed" default:"1" doc:"Seed of the draws: the same gives the same limits" example:"1"`
}

func (in *DrawnLimits) drawing() stats.Drawing {
	return stats.Drawing{Replicates: in.Replicates, Seed: in.Seed}
}

type rootingInput struct {
	GroupedBatches
	WatchedBatches
	DrawnLimits
}

func (in *rootingInput) asked() nursery.RootingQuery {
	q := in.WatchedBatches.asked()
	q.By, q.Drawing = in.By, in.drawing()
	return q
}

func (h handlers) rootingRate(ctx context.Context, in *rootingInput) (*answered[models.RateReport], error) {
	return answer(h.nursery.RootingRate(ctx, in.asked()))
}

func (h handlers) rootingCurve(ctx context.Context, in *rootingInput) (*answered[models.CurveReport], error) {
	return answer(h.nursery.RootingCurve(ctx, in.asked()))
}

func (h handlers) rootingDays(ctx context.Context, in *rootingInput) (*answered[models.DaysReport], error) {
	return answer(h.nursery.RootingDays(ctx, in.asked()))
}

// RootingRate answers what rooted, by group.
func (c *Client) RootingRate(ctx context.Context, q nursery.RootingQuery) (models.RateReport, error) {
	return rooting[models.RateReport](ctx, c, "rate", q)
}

// RootingCurve answers how fast what rooted, by group.
func (c *Client) RootingCurve(ctx context.Context, q nursery.RootingQuery) (models.CurveReport, error) {
	return rooting[models.CurveReport](ctx, c, "curve", q)
}

// RootingDays answers how many days to root, by group.
func (c *Client) RootingDays(ctx context.Context, q nursery.RootingQuery) (models.DaysReport, error) {
	return rooting[models.DaysReport](ctx, c, "days", q)
}

// rooting asks one of the questions about rooting. Pairs are what it asks beyond
// the query.
func rooting[T any](ctx context.Context, c *Client, question string, q nursery.RootingQuery, pairs ...string) (T, error) {
	report, _, err := get[T](ctx, c, pathOf("rooting", question), asking(append(pairs, rootingPairs(q)...)...))
	return report, err
}

func rootingPairs(q nursery.RootingQuery) []string {
	return []string{
		"by", strings.Join(q.By, ","), "on", q.On.String(), "stand", q.Stand, "taxon", q.Taxon, "kind", string(q.Kind),
		"treatment", q.Treatment, "medium", q.Medium, "heated", q.Heated, "bench", q.Bench, "season", q.Season,
		"from", q.From.String(), "to", q.To.String(),
		"replicates", strconv.Itoa(q.Replicates), "seed", strconv.FormatUint(q.Seed, 10),
	}
}

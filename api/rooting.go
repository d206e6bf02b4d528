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

func (in *WatchedBatches) pick() nursery.RootingPick {
	return nursery.RootingPick{
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

// RootingQuestion is the input of a question about groups of batches.
type RootingQuestion struct {
	GroupedBatches
	WatchedBatches
	DrawnLimits
}

func (in *RootingQuestion) asked() nursery.RootingQuery {
	return nursery.RootingQuery{RootingPick: in.pick(), By: in.By, Drawing: in.drawing()}
}

func (h handlers) rootingRate(ctx context.Context, in *RootingQuestion) (*answered[models.RateReport], error) {
	return answer(h.nursery.RootingRate(ctx, in.asked()))
}

func (h handlers) rootingDays(ctx context.Context, in *RootingQuestion) (*answered[models.DaysReport], error) {
	return answer(h.nursery.RootingDays(ctx, in.asked()))
}

// RootingRate answers what rooted, by group.
func (c *Client) RootingRate(ctx context.Context, q nursery.RootingQuery) (models.RateReport, error) {
	return rooting[models.RateReport](ctx, c, "rate", q.RootingPick, grouped(q)...)
}

// RootingDays answers how many days to root, by group.
func (c *Client) RootingDays(ctx context.Context, q nursery.RootingQuery) (models.DaysReport, error) {
	return rooting[models.DaysReport](ctx, c, "days", q.RootingPick, grouped(q)...)
}

// rooting asks one of the questions about rooting. Pairs are what it asks beyond
// the pick of batches.
func rooting[T any](ctx context.Context, c *Client, question string, pick nursery.RootingPick, pairs ...string) (T, error) {
	report, _, err := get[T](ctx, c, pathOf("rooting", question), asking(append(pairs, picked(pick)...)...))
	return report, err
}

func picked(p nursery.RootingPick) []string {
	return []string{
		"on", p.On.String(), "stand", p.Stand, "taxon", p.Taxon, "kind", string(p.Kind), "treatment", p.Treatment,
		"medium", p.Medium, "heated", p.Heated, "bench", p.Bench, "season", p.Season, "from", p.From.String(), "to", p.To.String(),
	}
}

func grouped(q nursery.RootingQuery) []string {
	return append(drawn(q.Drawing), "by", strings.Join(q.By, ","))
}

func drawn(d stats.Drawing) []string {
	return []string{"replicates", strconv.Itoa(d.Replicates), "seed", strconv.FormatUint(d.Seed, 10)}
}

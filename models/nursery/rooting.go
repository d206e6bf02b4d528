package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/stats"
	"withybed/models/store"
)

// RootingPick picks batches whose rooting is asked about, and the day they are
// judged on.
type RootingPick struct {
	On        models.Date // today by default
	Stand     string
	Taxon     string
	Kind      models.CuttingKind
	Treatment string // its label
	Medium    string
	Heated    string // yes or no
	Bench     string
	Season    string // as in 2025/26
	From      models.Date
	To        models.Date // of collection

	people bool // who stuck them matters, and is shown as codes alone
}

// RootingQuery picks batches, says how they are grouped, and how limits are drawn.
type RootingQuery struct {
	RootingPick
	By []string // some of rules.Groupings
	stats.Drawing
}

// RootingRate answers what rooted, by group; by rules.DefaultGrouping where none
// is asked for, since kinds of cutting, or what was treated or heated and what was
// not, are not pooled.
func (n *Nursery) RootingRate(ctx context.Context, q RootingQuery) (models.RateReport, error) {
	if len(q.By) == 0 {
		q.By = rules.DefaultGrouping
	}
	return grouped(ctx, n, q, rules.RateReport)
}

// RootingCurve answers how fast what rooted, by group.
func (n *Nursery) RootingCurve(ctx context.Context, q RootingQuery) (models.CurveReport, error) {
	return grouped(ctx, n, q, rules.CurveReport)
}

// RootingDays answers how many days to root, by group.
func (n *Nursery) RootingDays(ctx context.Context, q RootingQuery) (models.DaysReport, error) {
	return grouped(ctx, n, q, rules.DaysReport)
}

// grouped answers a question about groups of batches.
func grouped[G any](ctx context.Context, n *Nursery, q RootingQuery,
	report func(context.Context, []rules.Watched, []string, stats.Drawing) (models.GroupReport[G], error)) (models.GroupReport[G], error) {
	batches, on, err := n.watch(ctx, q.RootingPick)
	if err != nil {
		return models.GroupReport[G]{}, err
	}
	answer, err := report(ctx, batches, q.By, q.Drawing)
	answer.On = on
	return answer, err
}

// RootingFit answers which model the days to root follow: of all batches pooled,
// and by group where that is asked for.
func (n *Nursery) RootingFit(ctx context.Context, pick RootingPick, by []string) (models.FitReport, error) {
	batches, on, err := n.watch(ctx, pick)
	if err != nil {
		return models.FitReport{}, err
	}
	report, err := rules.FitReport(ctx, batches, by)
	report.On = on
	return report, err
}

// RootingFitOver is RootingFit with the curve of the pool, over which its models
// are drawn: both of what stood in the records at one moment.
func (n *Nursery) RootingFitOver(ctx context.Context, pick RootingPick, by []string, d stats.Drawing) (fit models.FitReport, curve models.CurveReport, err error) {
	batches, on, err := n.watch(ctx, pick)
	if err != nil {
		return fit, curve, err
	}
	if fit, err = rules.FitReport(ctx, batches, by); err != nil {
		return fit, curve, err
	}
	curve, err = rules.CurveReport(ctx, batches, nil, d)
	fit.On, curve.On = on, on
	return fit, curve, err
}

// watch reads the batches of a pick as their rooting is judged, with the day they
// are judged on. The transaction ends with the reading: replaying batches and all
// that is worked out from them holds nobody up.
func (n *Nursery) watch(ctx context.Context, pick RootingPick) ([]rules.Watched, models.Date, error) {
	var on models.Date
	var set models.Settings
	records, err := read(ctx, n, func(tx *store.Tx, now moment) ([]*models.BatchRecord, error) {
		on, set = now.dayOr(pick.On), now.Settings
		records, err := stuckBatches(tx, pick)
		if err != nil || !pick.people {
			return records, err
		}
		return records, now.veilStuckBy(records)
	})
	if err != nil {
		return nil, on, err
	}
	batches, err := watchAll(ctx, records, on, &set.Thresholds)
	return rules.Having(batches, pick.having()), on, err
}

// stuckBatches reads the batches of a pick that were stuck.
func stuckBatches(tx *store.Tx, pick RootingPick) ([]*models.BatchRecord, error) {
	if err := rules.CheckSeason("season", pick.Season); err != nil {
		return nil, err
	}
	filter, err := batchFilter(tx, BatchQuery{Stand: pick.Stand, Taxon: pick.Taxon, Kind: pick.Kind, Bench: pick.Bench, From: pick.From, To: pick.To})
	if err != nil {
		return nil, err
	}
	filter.Stuck = true
	return tx.EveryBatchRecord(filter)
}

func watchAll(ctx context.Context, records []*models.BatchRecord, on models.Date, t *models.Thresholds) ([]rules.Watched, error) {
	all := make([]rules.Watched, 0, len(records))
	for _, r := range records {
		w, ok, err := rules.Watch(r, on, t)
		switch {
		case err != nil:
			return nil, err
		case ctx.Err() != nil:
			return nil, ctx.Err()
		case ok:
			all = append(all, w)
		}
	}
	return all, nil
}

// having are the values asked for that a batch's entries tell.
func (q *RootingPick) having() map[string]string {
	values := map[string]string{}
	for name, value := range map[string]string{
		"treatment": q.Treatment, "medium": q.Medium, "heated": q.Heated, "season": q.Season,
	} {
		if value != "" {
			values[name] = value
		}
	}
	return values
}

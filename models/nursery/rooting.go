package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/stats"
	"withybed/models/store"
)

// RootingQuery picks batches whose rooting is asked about, says how they are
// grouped, and how limits are drawn.
type RootingQuery struct {
	By        []string    // some of rules.Groupings
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
	stats.Drawing
}

// RootingRate answers what rooted, by group; by rules.DefaultGrouping where none
// is asked for, since what was treated or heated is not pooled with what was not.
func (n *Nursery) RootingRate(ctx context.Context, q RootingQuery) (models.RateReport, error) {
	batches, on, err := n.watch(ctx, q)
	if err != nil {
		return models.RateReport{}, err
	}
	if len(q.By) == 0 {
		q.By = rules.DefaultGrouping
	}
	report, err := rules.RateReport(ctx, batches, q.By, q.Drawing)
	report.On = on
	return report, err
}

// RootingCurve answers how fast what rooted, by group.
func (n *Nursery) RootingCurve(ctx context.Context, q RootingQuery) (models.CurveReport, error) {
	batches, on, err := n.watch(ctx, q)
	if err != nil {
		return models.CurveReport{}, err
	}
	report, err := rules.CurveReport(ctx, batches, q.By, q.Drawing)
	report.On = on
	return report, err
}

// RootingDays answers how many days to root, by group.
func (n *Nursery) RootingDays(ctx context.Context, q RootingQuery) (models.DaysReport, error) {
	batches, on, err := n.watch(ctx, q)
	if err != nil {
		return models.DaysReport{}, err
	}
	report, err := rules.DaysReport(ctx, batches, q.By, q.Drawing)
	report.On = on
	return report, err
}

// watch reads the batches of a query as their rooting is judged, with the day they
// are judged on. What is then worked out needs the database no more.
func (n *Nursery) watch(ctx context.Context, q RootingQuery) (batches []rules.Watched, on models.Date, err error) {
	batches, err = read(ctx, n, func(tx *store.Tx, now moment) ([]rules.Watched, error) {
		on = now.dayOr(q.On)
		records, err := stuckBatches(tx, q)
		if err != nil {
			return nil, err
		}
		return watchAll(records, on, now.Settings)
	})
	return rules.Having(batches, q.having()), on, err
}

// stuckBatches reads the batches of a query that were stuck.
func stuckBatches(tx *store.Tx, q RootingQuery) ([]*models.BatchRecord, error) {
	filter, err := batchFilter(tx, BatchQuery{Stand: q.Stand, Taxon: q.Taxon, Kind: q.Kind, Bench: q.Bench, From: q.From, To: q.To})
	if err != nil {
		return nil, err
	}
	filter.Stuck = true
	return tx.EveryBatchRecord(filter)
}

func watchAll(records []*models.BatchRecord, on models.Date, set models.Settings) ([]rules.Watched, error) {
	all := make([]rules.Watched, 0, len(records))
	for _, r := range records {
		w, ok, err := rules.Watch(r, on, &set.Thresholds)
		if err != nil {
			return nil, err
		}
		if ok {
			all = append(all, w)
		}
	}
	return all, nil
}

// having are the values asked for that a batch's entries tell.
func (q *RootingQuery) having() map[string]string {
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

package nursery

import (
	"context"
	"time"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// ForecastQuery picks the batches whose forecast is asked for. What stands behind
// it are all batches of the nursery, whatever is picked.
type ForecastQuery struct {
	RootingPick
	Batches []string // codes; all of the pick without any
	Wanted  int      // rooted cuttings wanted of each batch; 0 is four fifths of the expected final number
}

// RootingForecast answers what is expected of open batches. It fails with a
// models.Error, kind NotFound, code no-such-batch, for a code that no batch has.
func (n *Nursery) RootingForecast(ctx context.Context, q ForecastQuery) (models.ForecastReport, error) {
	p, err := n.past(ctx, q.RootingPick, q.Batches)
	if err != nil {
		return models.ForecastReport{}, err
	}
	known, err := watchAll(ctx, p.records, p.on, &p.settings.Thresholds)
	if err != nil {
		return models.ForecastReport{}, err
	}
	return rules.ForecastReport(ctx, known, p.shown(known), rules.ForecastAsk{On: p.on, Wanted: q.Wanted})
}

// past is what is read for forecasts: all batches that were stuck, and which of
// them are asked about.
type past struct {
	on       models.Date
	settings models.Settings
	place    *time.Location
	pick     RootingPick
	records  []*models.BatchRecord
	asked    map[string]bool // by code
}

func (n *Nursery) past(ctx context.Context, pick RootingPick, codes []string) (past, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (past, error) {
		p := past{on: now.dayOr(pick.On), settings: now.Settings, place: now.place, pick: pick, asked: map[string]bool{}}
		picked, err := stuckBatches(tx, pick)
		if err != nil {
			return p, err
		}
		p.records = picked
		if pick != (RootingPick{On: pick.On}) {
			if p.records, err = stuckBatches(tx, RootingPick{}); err != nil {
				return p, err
			}
		}
		return p, p.ask(tx, picked, codes)
	})
}

// ask notes which batches are asked about: those named, or all that were picked.
func (p *past) ask(tx *store.Tx, picked []*models.BatchRecord, codes []string) error {
	named := map[string]bool{}
	for _, code := range codes {
		named[models.NameKey(code)] = true
	}
	for _, r := range picked {
		p.asked[r.Code] = len(codes) == 0 || named[r.CodeKey]
		delete(named, r.CodeKey)
	}
	for _, code := range codes {
		if named[models.NameKey(code)] { // not picked, not stuck, or not there at all
			if _, err := findBatch(tx, code); err != nil {
				return err
			}
		}
	}
	return nil
}

// shown says which of some batches are asked about.
func (p *past) shown(known []rules.Watched) func(*rules.Watched) bool {
	having := map[string]bool{}
	for _, w := range rules.Having(known, p.pick.having()) {
		having[w.Lot.ID] = true
	}
	return func(w *rules.Watched) bool { return p.asked[w.Lot.ID] && having[w.Lot.ID] }
}

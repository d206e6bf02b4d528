package rules

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"withybed/models"
	"withybed/models/stats"
)

// ModelPool is a pool of batches that a model of rooting is fitted to. What it
// does not tell apart is empty.
type ModelPool struct {
	TaxonID   string
	Kind      models.CuttingKind
	Treatment string // label, as compared
	Heated    string
}

// modelPools are the pools a batch belongs to, the narrowest first.
func modelPools(r *models.BatchRecord) []ModelPool {
	return []ModelPool{
		{r.TaxonID, r.Kind, models.NameKey(r.Sticking.TreatmentLabel()), cmp.Or(heatedWord(r), NotRecorded)},
		{TaxonID: r.TaxonID, Kind: r.Kind},
		{TaxonID: r.TaxonID},
	}
}

// RootingModels are models of rooting by pool.
type RootingModels map[ModelPool]models.RootingModel

// ModelsByPool gathers models.
func ModelsByPool(all []models.RootingModel) RootingModels {
	byPool := make(RootingModels, len(all))
	for _, m := range all {
		byPool[ModelPool{m.TaxonID, m.Kind, m.Treatment, m.Heated}] = m
	}
	return byPool
}

// Of is the model of the narrowest pool a batch belongs to that has one, or nil. A
// batch that is not stuck has none.
func (m RootingModels) Of(r *models.BatchRecord) *models.RootingModel {
	if r.Sticking == nil {
		return nil
	}
	for _, pool := range modelPools(r) {
		if found, ok := m[pool]; ok {
			return &found
		}
	}
	return nil
}

// FitModels fits a law of the days to root to every pool of the batches that was
// looked at often enough, in the order of pools. They are models of the day on,
// without an id. It fails where ctx ends.
func FitModels(ctx context.Context, records []*models.BatchRecord, on models.Date, t *models.Thresholds) ([]models.RootingModel, error) {
	pools, words := map[ModelPool][]stats.Lot{}, map[ModelPool]string{}
	for _, r := range records {
		w, ok, err := Watch(r, on, t)
		if err = cmp.Or(err, ctx.Err()); err != nil {
			return nil, err
		}
		if !ok || !w.Lot.Seen() {
			continue
		}
		for _, pool := range modelPools(r) {
			pools[pool] = append(pools[pool], w.Lot)
			words[pool] = poolWords(r, pool)
		}
	}
	var fitted []models.RootingModel
	for _, pool := range slices.SortedFunc(maps.Keys(pools), comparePools) {
		model, ok, err := fitModel(ctx, pools[pool])
		if err != nil {
			return nil, err
		}
		if ok {
			model.TaxonID, model.Kind, model.Treatment, model.Heated = pool.TaxonID, pool.Kind, pool.Treatment, pool.Heated
			model.Basis, model.FittedOn = words[pool], on
			fitted = append(fitted, model)
		}
	}
	return fitted, nil
}

func comparePools(a, b ModelPool) int {
	return cmp.Or(cmp.Compare(a.TaxonID, b.TaxonID), cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Treatment, b.Treatment), cmp.Compare(a.Heated, b.Heated))
}

// poolWords is a pool in words.
func poolWords(r *models.BatchRecord, pool ModelPool) string {
	parts := []string{r.Taxon.ScientificName}
	if pool.Kind != "" {
		parts = append(parts, strings.ReplaceAll(string(pool.Kind), "_", " "))
	}
	if pool.Treatment != "" {
		parts = append(parts, "treatment "+r.Sticking.TreatmentLabel(), "bottom heat "+pool.Heated)
	}
	return strings.Join(parts, ", ")
}

// fitModel is the law of the family that fits best.
func fitModel(ctx context.Context, lots []stats.Lot) (model models.RootingModel, ok bool, err error) {
	best, reason, err := bestFit(ctx, lots)
	law := best.Rooting
	return models.RootingModel{Family: string(law.Family), Mu: law.Mu, Sigma: law.Sigma, Batches: len(lots)}, reason == "", err
}

// sameModel is how far parameters may move before a model is written anew: less
// moves no day.
const sameModel = 1e-4

// NewModels are the fitted models that differ from those that stand, and the ids
// of those that stand and are to end: because another took their place, or because
// their pool has none any more.
func NewModels(fitted, standing []models.RootingModel) (added []models.RootingModel, ended []string) {
	now := ModelsByPool(fitted)
	keep := map[ModelPool]bool{}
	for _, s := range standing {
		pool := ModelPool{s.TaxonID, s.Kind, s.Treatment, s.Heated}
		f, there := now[pool]
		if there && f.Family == s.Family && f.Batches == s.Batches && math.Abs(f.Mu-s.Mu) < sameModel && math.Abs(f.Sigma-s.Sigma) < sameModel {
			keep[pool] = true
			continue
		}
		ended = append(ended, s.ID)
	}
	for _, f := range fitted {
		if !keep[ModelPool{f.TaxonID, f.Kind, f.Treatment, f.Heated}] {
			added = append(added, f)
		}
	}
	return added, ended
}

// earlier brings a look forward to the day by which half of what may still root
// should have, where the model of the batch's pool says so: once after each look.
// A prior that nobody's records stand behind brings nothing forward. Nor does
// anything in a tray that waits for warm days, since the time of a cold tray does
// not run as that of the trays the model was fitted to.
func (a *asker) earlier(usual ask, last models.Date) ask {
	m := a.record.RootingModel
	if m == nil || a.story.Tally.Unrooted == 0 || a.clock() != a.record.Sticking.StuckOn {
		return usual
	}
	stuck := a.record.Sticking.StuckOn
	law := stats.Law{Family: stats.Family(m.Family), Mu: m.Mu, Sigma: m.Sigma}
	half, ok := law.HalfAfter(last.Sub(stuck), longestWait)
	if !ok || !stuck.Add(half).Before(usual.since) {
		return usual
	}
	return a.check(stuck.Add(half), func(on models.Date) string {
		text := fmt.Sprintf("by %s half of those still to root should have done so, going by %d batches of %s: look before the usual day, %s",
			stuck.Add(half), m.Batches, m.Basis, usual.since)
		if on.Before(usual.since) {
			return text
		}
		return text + "; " + usual.tell(on).reason
	})
}

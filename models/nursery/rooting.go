package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// RootingQuery asks what rooted, grouped by some of taxon, stand, kind,
// treatment, season and the others rules.GroupRooting knows.
type RootingQuery struct {
	By    []string
	On    models.Date // today by default
	Stand string
	Taxon string
	Kind  models.CuttingKind
	From  models.Date // of collection
	To    models.Date
}

// Rooting answers what rooted and how fast, by group, as counts.
func (n *Nursery) Rooting(ctx context.Context, q RootingQuery) (models.RootingReport, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.RootingReport, error) {
		none := models.RootingReport{}
		filter, err := batchFilter(tx, BatchQuery{Stand: q.Stand, Taxon: q.Taxon, Kind: q.Kind, From: q.From, To: q.To})
		if err != nil {
			return none, err
		}
		filter.Stuck = true
		records, err := tx.EveryBatchRecord(filter)
		if err != nil {
			return none, err
		}
		on := now.dayOr(q.On)
		told, err := tell(records, on)
		if err != nil {
			return none, err
		}
		return rules.GroupRooting(told, q.By, now.Settings, on)
	})
}

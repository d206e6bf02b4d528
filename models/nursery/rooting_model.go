package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// modelJob is the name of the job that fits models of the days to root.
const modelJob = "rooting models"

// FitModels fits the laws of the days to root anew, once a day whatever the number
// of servers, so that looks can be asked for in time without going through all
// records each time. It says whether it was the one to do it. It reads, fits while
// nothing is held, and then writes: fitting many records takes its time.
func (n *Nursery) FitModels(ctx context.Context) (bool, error) { return n.refit(ctx) }

func (n *Nursery) refit(ctx context.Context) (bool, error) {
	today, fitted, err := n.freshModels(ctx)
	if err != nil || fitted == nil {
		return false, err
	}
	return writeIn(ctx, n, n.store.WriteSnapshot, func(tx *store.Tx, now moment) (bool, error) {
		done, err := tx.JobDone(modelJob, today.String())
		if err != nil || done {
			return false, err
		}
		now.change.forget() // nobody asked for it by name
		return true, n.keepModels(tx, now, today, fitted)
	})
}

// freshModels are the models of today, or nil if they are kept already.
func (n *Nursery) freshModels(ctx context.Context) (today models.Date, fitted []models.RootingModel, err error) {
	var records []*models.BatchRecord
	var set models.Settings
	done, err := read(ctx, n, func(tx *store.Tx, now moment) (bool, error) {
		today, set = now.today, now.Settings
		done, err := tx.JobMarked(modelJob, today.String())
		if err != nil || done {
			return done, err
		}
		records, err = tx.EveryBatchRecord(models.BatchFilter{Stuck: true})
		return false, err
	})
	if err != nil || done {
		return today, nil, err
	}
	fitted, err = rules.FitModels(ctx, records, today, &set.Thresholds)
	if fitted == nil {
		fitted = []models.RootingModel{}
	}
	return today, fitted, err
}

// keepModels writes the models that are new, ends those they take the place of, and
// marks that it was done.
func (n *Nursery) keepModels(tx *store.Tx, now moment, today models.Date, fitted []models.RootingModel) error {
	standing, err := tx.RootingModels(today)
	if err != nil {
		return err
	}
	added, ended := rules.NewModels(fitted, standing)
	for i := range added {
		added[i].ID, added[i].MadeAt = n.newID(), now.at
	}
	if err := tx.EndRootingModels(ended, today); err != nil {
		return err
	}
	if err := tx.AddRootingModels(added); err != nil {
		return err
	}
	return tx.MarkJob(modelJob, today.String(), now.at)
}

// lendModels gives every batch the model that stood on a day for batches like it.
func lendModels(tx *store.Tx, records []*models.BatchRecord, on models.Date) error {
	found, err := tx.RootingModels(on)
	byPool := rules.ModelsByPool(found)
	for _, r := range records {
		r.RootingModel = byPool.Of(r)
	}
	return err
}

// lendModel gives one batch its model.
func lendModel(tx *store.Tx, r *models.BatchRecord, on models.Date) error {
	found, err := tx.RootingModelsOf(r.TaxonID, on)
	r.RootingModel = rules.ModelsByPool(found).Of(r)
	return err
}

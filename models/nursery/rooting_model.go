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
// records each time. It says whether it was the one to do it.
func (n *Nursery) FitModels(ctx context.Context) (bool, error) {
	return writeIn(ctx, n, n.store.WriteSnapshot, func(tx *store.Tx, now moment) (bool, error) {
		return n.fitModels(tx, now)
	})
}

// fitModels fits them if nobody has done so today.
func (n *Nursery) fitModels(tx *store.Tx, now moment) (bool, error) {
	done, err := tx.JobDone(modelJob, now.today.String())
	if err != nil || done {
		return false, err
	}
	records, err := tx.EveryBatchRecord(models.BatchFilter{Stuck: true})
	if err != nil {
		return false, err
	}
	standing, err := tx.RootingModels(now.today)
	if err != nil {
		return false, err
	}
	fitted, err := rules.FitModels(records, now.today, &now.Settings.Thresholds)
	if err != nil {
		return false, err
	}
	added, ended := rules.NewModels(fitted, standing)
	for i := range added {
		added[i].ID, added[i].MadeAt = n.newID(), now.at
	}
	if err := tx.EndRootingModels(ended, now.today); err != nil {
		return false, err
	}
	if err := tx.AddRootingModels(added); err != nil {
		return false, err
	}
	return true, tx.MarkJob(modelJob, now.today.String(), now.at)
}

// lendModels gives every batch the model that stood on a day for batches like it.
func lendModels(tx *store.Tx, records []*models.BatchRecord, on models.Date) error {
	found, err := tx.RootingModels(on)
	if err != nil {
		return err
	}
	byPool := rules.ModelsByPool(found)
	for _, r := range records {
		r.RootingModel = byPool.Of(r)
	}
	return nil
}

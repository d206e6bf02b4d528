package nursery

import (
	"context"
	"errors"
	"fmt"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// BatchQuery asks for a list of batches.
type BatchQuery struct {
	Stand    string
	Taxon    string
	Bench    string
	Kind     models.CuttingKind
	From, To models.Date
	ToReview bool
	Active   bool
	Void     bool // the void ones alone; without it they are left out
	models.Page
}

// Batches lists batches, the latest collected first.
func (n *Nursery) Batches(ctx context.Context, q BatchQuery) (models.List[models.BatchSummary], error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (list models.List[models.BatchSummary], err error) {
		filter, err := batchFilter(tx, q)
		if err != nil {
			return list, err
		}
		records, err := tx.BatchRecords(filter, q.Page)
		if err != nil {
			return list, err
		}
		list = models.List[models.BatchSummary]{Items: []models.BatchSummary{}, Next: records.Next}
		for _, record := range records.Items {
			summary, err := batchSummary(record, now.today)
			if err != nil {
				return list, err
			}
			list.Items = append(list.Items, summary)
		}
		return list, nil
	})
}

func batchFilter(tx *store.Tx, q BatchQuery) (models.BatchFilter, error) {
	filter := models.BatchFilter{
		Kind: q.Kind, From: q.From, To: q.To, Bench: q.Bench, Active: q.Active, AwaitsReview: q.ToReview, Void: q.Void,
	}
	if q.Stand != "" {
		stand, err := namedStand(tx, q.Stand)
		if err != nil {
			return filter, err
		}
		filter.StandID = stand.ID
	}
	if q.Taxon != "" {
		taxon, err := namedTaxon(tx, q.Taxon)
		if err != nil {
			return filter, err
		}
		filter.TaxonID = taxon.ID
	}
	return filter, nil
}

// Batch shows a batch whole.
func (n *Nursery) Batch(ctx context.Context, code string) (models.BatchView, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.BatchView, error) {
		record, err := findBatch(tx, code)
		if err != nil {
			return models.BatchView{}, err
		}
		if err := lendModel(tx, record, now.today); err != nil {
			return models.BatchView{}, err
		}
		return batchView(record, now, nil)
	})
}

// findBatch reads a batch, and holds it in a write. If there is none, near codes
// are suggested.
func findBatch(tx *store.Tx, code string) (*models.BatchRecord, error) {
	record, err := tx.BatchRecord(models.NameKey(code))
	if errors.Is(err, store.ErrNoRow) {
		return nil, noBatch(tx, code)
	}
	if err != nil {
		return nil, err
	}
	record.FlagHistory, err = tx.FlagHistory(record.ID)
	return record, err
}

// findBatchOf is findBatch where its stand is held: it is stale if a correction moved
// the batch to another stand meanwhile.
func findBatchOf(tx *store.Tx, code, standID string) (*models.BatchRecord, error) {
	record, err := findBatch(tx, code)
	if err == nil && record.StandID != standID {
		return nil, fmt.Errorf("hold batch %s: %w", code, store.ErrStale)
	}
	return record, err
}

func noBatch(tx *store.Tx, code string) error {
	codes, err := tx.NearBatchCodes(standPart(code))
	if err != nil {
		return err
	}
	missing := models.Errorf(models.NotFound, "no-such-batch", "there is no batch %q", code)
	missing.Suggestions = rules.Near(code, codes)
	return missing
}

// standPart is what a batch code begins with, as far as a slip is unlikely.
func standPart(code string) string {
	key := []rune(models.NameKey(code))
	return string(key[:min(2, len(key))])
}

package nursery

import (
	"context"
	"errors"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// Review answers a batch that was cut against a rule, and may give the rest that the
// batch began its end.
func (n *Nursery) Review(ctx context.Context, o Once, code string, req models.NewReview) (models.BatchView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.BatchView, error) {
		none := models.BatchView{}
		stand, record, err := holdWithStand(tx, code)
		if err != nil {
			return none, err
		}
		if err := lendModel(tx, record, now.today); err != nil {
			return none, err
		}
		unlisted, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		review, err := rules.Review(record, req)
		if err != nil {
			return none, err
		}
		review.ID, review.BatchID, review.Entry, review.EnteredAt = n.newID(), record.ID, record.Version+1, now.at
		warnings, err := n.endRestOf(tx, now, stand, record, req)
		if err != nil {
			return none, err
		}
		record.AwaitsReview = !review.Accepted
		record.Reviews = append(record.Reviews, review)
		if err := tx.AddReview(review); err != nil {
			return none, err
		}
		return touch(tx, now, record, append(warnings, unlisted...))
	})
}

// holdWithStand holds the stand of a batch, then the batch, and reads both.
func holdWithStand(tx *store.Tx, code string) (*models.StandRecord, *models.BatchRecord, error) {
	standKey, err := tx.StandOfBatch(models.NameKey(code))
	if errors.Is(err, store.ErrNoRow) {
		return nil, nil, noBatch(tx, code)
	}
	if err != nil {
		return nil, nil, err
	}
	stand, err := tx.StandRecord(standKey, models.Date{})
	if err != nil {
		return nil, nil, err
	}
	record, err := findBatchOf(tx, code, stand.ID)
	return stand, record, err
}

// endRestOf gives the rest that a batch began the end that its review names. Where it
// names none and the rest goes on, it says so.
func (n *Nursery) endRestOf(tx *store.Tx, now moment, stand *models.StandRecord, record *models.BatchRecord, req models.NewReview) ([]string, error) {
	if req.RestUntil.IsZero() {
		return rules.OpenRest(stand, &record.Batch), nil
	}
	before, after, err := rules.EndRestInReview(stand, &record.Batch, req)
	if err != nil {
		return nil, err
	}
	_, err = n.replaceRest(tx, now, before, after, models.Clean(req.Reason), models.Clean(req.By))
	return nil, err
}

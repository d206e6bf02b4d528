package nursery

import (
	"context"
	"errors"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// Split splits sister batches off a batch, for what is stuck another day or for
// another arm of a trial. The stems stay on the first.
func (n *Nursery) Split(ctx context.Context, o Once, code string, req models.NewSplit) (models.SplitView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.SplitView, error) {
		none := models.SplitView{}
		family, err := n.holdFamily(tx, now, code)
		if err != nil {
			return none, err
		}
		unlisted, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		arms, warnings, err := rules.SplitArms(family.first, req, now.today)
		if err != nil {
			return none, err
		}
		var sisters []*models.BatchRecord
		for _, arm := range arms {
			sisters = append(sisters, family.sister(arm))
		}
		if err := n.postSoaks(tx, now, sisters...); err != nil {
			return none, err
		}
		if err := family.write(sisters); err != nil {
			return none, err
		}
		view := models.SplitView{}
		if view.Batch, err = touch(tx, now, family.first, append(warnings, unlisted...)); err != nil {
			return none, err
		}
		for _, sister := range sisters {
			shown, err := batchView(sister, now, nil)
			if err != nil {
				return none, err
			}
			view.Sisters = append(view.Sisters, shown)
		}
		return view, nil
	})
}

// Decide enters a decision about a batch. To restick lifts the unrooted out of
// the tray into a sister batch, which waits for its own sticking.
func (n *Nursery) Decide(ctx context.Context, o Once, code string, req models.NewDecision) (models.BatchView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.BatchView, error) {
		none := models.BatchView{}
		family, err := n.holdFamily(tx, now, code)
		if err != nil {
			return none, err
		}
		unlisted, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		record := family.first
		decision, lifted, warnings, err := rules.Decide(record, req, now.today)
		if err != nil {
			return none, err
		}
		decision.ID, decision.BatchID, decision.Entry, decision.EnteredAt = n.newID(), record.ID, record.Version+1, now.at
		record.Decisions = append(record.Decisions, decision)
		if err := tx.AddDecision(decision); err != nil {
			return none, err
		}
		if lifted != nil {
			if err := family.write([]*models.BatchRecord{family.sister(*lifted)}); err != nil {
				return none, err
			}
		}
		return touch(tx, now, record, append(warnings, unlisted...))
	})
}

// family is a batch held together with its stand, under which its sisters are
// numbered.
type family struct {
	n     *Nursery
	tx    *store.Tx
	now   moment
	first *models.BatchRecord
	stand models.Stand
	next  int // number of the next sister
}

// holdFamily holds the stand of a batch, then the batch.
func (n *Nursery) holdFamily(tx *store.Tx, now moment, code string) (*family, error) {
	standKey, err := tx.StandOfBatch(models.NameKey(code))
	if errors.Is(err, store.ErrNoRow) {
		return nil, noBatch(tx, code)
	}
	if err != nil {
		return nil, err
	}
	stand, err := tx.Stand(standKey)
	if err != nil {
		return nil, err
	}
	first, err := findBatchOf(tx, code, stand.ID)
	if err != nil {
		return nil, err
	}
	last, err := tx.LastBatchNumbers([]string{stand.ID}, []int{first.Year})
	next := last[store.StandYear{StandID: stand.ID, Year: first.Year}] + 1
	return &family{n: n, tx: tx, now: now, first: first, stand: stand, next: next}, err
}

// sister begins a sister batch with what its cuttings bring along, and notes the
// split on the first.
func (f *family) sister(plan rules.Sister) *models.BatchRecord {
	batch := f.first.Batch
	batch.ID, batch.Number = f.n.newID(), f.next
	batch.Code = batchCode(f.stand.Code, batch.Year, batch.Number)
	batch.CodeKey = models.NameKey(batch.Code)
	batch.StemsCut, batch.Cuttings, batch.ParentPlants, batch.RecordNumber = 0, plan.Split.Count, nil, nil
	batch.AlreadyCut, batch.Reason, batch.RefusedBy, batch.AwaitsReview = false, "", "", false
	batch.SurveyID, batch.HarvestFraction, batch.StandFraction = nil, nil, nil
	batch.PermitID, batch.PermitQuantity, batch.ShareID = nil, 0, nil // the first drew on them
	batch.SplitFromID, batch.WaitingFrom = &f.first.ID, plan.WaitingFrom
	batch.Active, batch.Version, batch.EnteredAt = true, 1, f.now.at
	f.next++

	split := plan.Split
	split.ID, split.BatchID, split.SisterID, split.Sister = f.n.newID(), f.first.ID, batch.ID, batch.Code
	split.Entry, split.EnteredAt = f.first.Version+1, f.now.at
	sister := &models.BatchRecord{Batch: batch, Stand: f.stand.Code, Taxon: f.first.Taxon, SplitFrom: f.first.Code}
	sister.HarvestAwaitsReview = f.first.AwaitsReview || f.first.HarvestAwaitsReview
	for _, move := range plan.Moves {
		move.ID, move.BatchID, move.Entry, move.EnteredAt = f.n.newID(), batch.ID, batch.Version, f.now.at
		sister.Moves = append(sister.Moves, move)
	}
	if plan.Sticking != nil {
		sticking := *plan.Sticking
		sticking.BatchID, sticking.Entry, sticking.EnteredAt = batch.ID, batch.Version, f.now.at
		sister.Sticking, split.Treatment = &sticking, sticking.TreatmentLabel()
	}
	f.first.Splits = append(f.first.Splits, split)
	return sister
}

// write stores sisters with what they begin with, and their splits.
func (f *family) write(sisters []*models.BatchRecord) error {
	splits := f.first.Splits[len(f.first.Splits)-len(sisters):]
	var codes []string
	for _, sister := range sisters {
		active, err := rules.Active(sister)
		if err != nil {
			return err
		}
		sister.Active = active
		codes = append(codes, sister.Code)
	}
	f.now.change.made(codes...)
	if err := f.tx.AddBatches(sisters); err != nil {
		return err
	}
	for _, split := range splits {
		if err := f.tx.AddSplit(split); err != nil {
			return err
		}
	}
	return nil
}

package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// enter runs the entry of something about one batch: the people whom the request
// names are settled, the batch is held and read, add decides and appends to the
// record, and the batch is counted up.
func (n *Nursery) enter(ctx context.Context, o Once, code string, req any, people []models.PersonField, add func(tx *store.Tx, now moment, r *models.BatchRecord) ([]string, error)) (models.BatchView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.BatchView, error) {
		record, err := findBatch(tx, code)
		if err != nil {
			return models.BatchView{}, err
		}
		if err := lendModel(tx, record, now.today); err != nil {
			return models.BatchView{}, err
		}
		unlisted, err := now.settle(people)
		if err != nil {
			return models.BatchView{}, err
		}
		warnings, err := add(tx, now, record)
		if err != nil {
			return models.BatchView{}, err
		}
		return touch(tx, now, record, append(warnings, unlisted...))
	})
}

// touch counts up a batch that something was entered about, and shows it.
func touch(tx *store.Tx, now moment, record *models.BatchRecord, warnings []string) (models.BatchView, error) {
	active, err := rules.Active(record)
	if err != nil {
		return models.BatchView{}, err
	}
	record.Active = active
	if err := tx.TouchBatch(record); err != nil {
		return models.BatchView{}, err
	}
	record.Version++
	return batchView(record, now, warnings)
}

// Stick sticks the cuttings of a batch.
func (n *Nursery) Stick(ctx context.Context, o Once, code string, req models.NewSticking) (models.BatchView, error) {
	return n.enter(ctx, o, code, req, req.PersonFields(), func(tx *store.Tx, now moment, r *models.BatchRecord) ([]string, error) {
		sticking, warnings, err := rules.Stick(r, req, now.today)
		if err != nil {
			return nil, err
		}
		sticking.BatchID, sticking.Entry, sticking.EnteredAt = r.ID, r.Version+1, now.at
		r.Sticking = &sticking
		return warnings, tx.AddSticking(sticking)
	})
}

// Move puts cuttings to soak or into a store, or records them as used or lost,
// before they are stuck.
func (n *Nursery) Move(ctx context.Context, o Once, code string, req models.NewMove) (models.BatchView, error) {
	return n.enter(ctx, o, code, req, nil, func(tx *store.Tx, now moment, r *models.BatchRecord) ([]string, error) {
		move, warnings, err := rules.MoveCuttings(r, req, now.today)
		if err != nil {
			return nil, err
		}
		move.ID, move.BatchID, move.Entry, move.EnteredAt = n.newID(), r.ID, r.Version+1, now.at
		r.Moves = append(r.Moves, move)
		if err := n.postSoaks(tx, now, r); err != nil {
			return nil, err
		}
		return warnings, tx.AddMove(move)
	})
}

// Check enters a look at a tray.
func (n *Nursery) Check(ctx context.Context, o Once, code string, req models.NewCheck) (models.BatchView, error) {
	return n.enter(ctx, o, code, req, req.PersonFields(), func(tx *store.Tx, now moment, r *models.BatchRecord) ([]string, error) {
		check, warnings, err := rules.Check(r, req, now.today)
		if err != nil {
			return nil, err
		}
		check.ID, check.BatchID, check.Entry, check.EnteredAt = n.newID(), r.ID, r.Version+1, now.at
		r.Checks = append(r.Checks, check)
		return warnings, tx.AddCheck(check)
	})
}

// Pot pots rooted cuttings up.
func (n *Nursery) Pot(ctx context.Context, o Once, code string, req models.NewPotting) (models.BatchView, error) {
	return n.enter(ctx, o, code, req, req.PersonFields(), func(tx *store.Tx, now moment, r *models.BatchRecord) ([]string, error) {
		potting, warnings, err := rules.Pot(r, req, now.today)
		if err != nil {
			return nil, err
		}
		potting.ID, potting.BatchID, potting.Entry, potting.EnteredAt = n.newID(), r.ID, r.Version+1, now.at
		r.Pottings = append(r.Pottings, potting)
		return warnings, tx.AddPotting(potting)
	})
}

package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// AddRest sets a stand at rest.
func (n *Nursery) AddRest(ctx context.Context, o Once, code string, req models.NewRest) (models.RestView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.RestView, error) {
		none := models.RestView{}
		record, err := findStand(tx, now, code, models.Date{})
		if err != nil {
			return none, err
		}
		unlisted, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		rest, warnings, err := rules.EnterRest(record, req, now.today)
		if err != nil {
			return none, err
		}
		rest.ID, rest.StandID, rest.SetAt, rest.EnteredAt = n.newID(), record.ID, now.at, now.at
		now.change.made(rest.ID)
		if err := tx.AddRests([]models.Rest{rest}); err != nil {
			return none, err
		}
		return restView(record.Code, rest, append(warnings, unlisted...)), nil
	})
}

// EndRest gives a rest its end, or an earlier one: by a new record in its place.
func (n *Nursery) EndRest(ctx context.Context, o Once, code, rest string, req models.NewRestEnd) (models.RestView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.RestView, error) {
		none := models.RestView{}
		record, err := findStand(tx, now, code, models.Date{})
		if err != nil {
			return none, err
		}
		unlisted, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		before, after, err := rules.EndRest(record, rest, req)
		if err != nil {
			return none, err
		}
		if after, err = n.replaceRest(tx, now, before, after, models.Clean(req.Why), models.Clean(req.By)); err != nil {
			return none, err
		}
		return restView(record.Code, after, unlisted), nil
	})
}

// replaceRest writes the rest that stands in for another, and the correction that
// says so. The stand is held.
func (n *Nursery) replaceRest(tx *store.Tx, now moment, before, after models.Rest, why, by string) (models.Rest, error) {
	after.ID, after.EnteredAt = n.newID(), now.at
	now.change.made(after.ID)
	if err := tx.AddRests([]models.Rest{after}); err != nil {
		return after, err
	}
	correction := models.Correction{
		ID: n.newID(), StandID: before.StandID, Subject: models.OfRest, SubjectID: before.ID, ReplacedBy: &after.ID,
		Why: why, CorrectedBy: by, EnteredAt: now.at,
	}
	correction.Before, correction.After = rules.EndOfRest(&before, &after)
	return after, tx.AddCorrection(correction)
}

// Rests lists the rests of a stand, the latest entered first.
func (n *Nursery) Rests(ctx context.Context, code string, page models.Page) (models.List[models.RestView], error) {
	return listKept(ctx, n, code, func(tx *store.Tx, stand *models.Stand) (models.List[models.Rest], error) {
		return tx.Rests(stand.ID, page)
	}, func(stand string, r models.Rest) models.RestView { return restView(stand, r, nil) })
}

func restView(stand string, rest models.Rest, warnings []string) models.RestView {
	return models.RestView{Stand: stand, Rest: rest, Warnings: listed(warnings)}
}

// listKept lists what is kept of one kind about a stand: read by list, its people
// veiled, and shown by show.
func listKept[T, V any, P naming[T]](ctx context.Context, n *Nursery, code string,
	list func(tx *store.Tx, stand *models.Stand) (models.List[T], error), show func(stand string, item T) V,
) (models.List[V], error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (none models.List[V], err error) {
		stand, err := findStandAlone(tx, now, code)
		if err != nil {
			return none, err
		}
		kept, err := list(tx, &stand)
		if err != nil {
			return none, err
		}
		if err := veilAll[T, P](kept.Items, now.veil); err != nil {
			return none, err
		}
		return listOf(kept, func(item T) V { return show(stand.Code, item) }), nil
	})
}

package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// AddRest sets a stand at rest, and tells of the crew shares that it does not stop.
func (n *Nursery) AddRest(ctx context.Context, o Once, code string, req models.NewRest) (models.RestView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.RestView, error) {
		none := models.RestView{}
		record, err := findStand(tx, now, code, rules.ExceededSince(now.today))
		if err != nil {
			return none, err
		}
		unlisted, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		rest, err := rules.EnterRest(req, now.today)
		if err != nil {
			return none, err
		}
		rest.ID, rest.StandID, rest.SetAt, rest.EnteredAt = n.newID(), record.ID, now.at, now.at
		warnings, err := n.restrict(tx, now, rest.ID, func(r *models.StandRecord) { r.Rests = append(r.Rests, rest) }, record)
		if err != nil {
			return none, err
		}
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

// restrict changes stands that are held, so that fewer days are open there, and tells of
// the crew shares that no longer fit by it. Entry names the record that does so.
func (n *Nursery) restrict(tx *store.Tx, now moment, entry string, change func(*models.StandRecord), stands ...*models.StandRecord) ([]string, error) {
	var warnings []string
	var notices []models.StandNotice
	for _, stand := range stands {
		before := now.watch(stand)
		change(stand)
		if notice, some := misfitNotice(stand, before.misfits, now.today); some {
			warnings, notices = append(warnings, notice.Text), append(notices, notice)
		}
	}
	if len(notices) == 0 {
		return nil, nil
	}
	return warnings, n.post(tx, now, misfitOccasion(now, notices, entry))
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
	}, func(r models.Rest) string { return r.ID }, func(stand string, r models.Rest, a models.Amended) models.RestView {
		view := restView(stand, r, nil)
		view.Amended = a
		return view
	})
}

func restView(stand string, rest models.Rest, warnings []string) models.RestView {
	return models.RestView{Stand: stand, Rest: rest, Warnings: listed(warnings)}
}

// listKept lists what is kept of one kind about a stand: read by list, its people
// veiled, and shown by show with what amended it.
func listKept[T, V any, P naming[T]](ctx context.Context, n *Nursery, code string,
	list func(tx *store.Tx, stand *models.Stand) (models.List[T], error), id func(T) string, show func(stand string, item T, by models.Amended) V,
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
		by, err := amended(tx, kept.Items, id)
		return listOf(kept, func(item T) V { return show(stand.Code, item, by[id(item)]) }), err
	})
}

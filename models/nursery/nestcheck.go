package nursery

import (
	"context"
	"slices"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// AddNestCheck enters a look for nests at a stand.
func (n *Nursery) AddNestCheck(ctx context.Context, o Once, code string, req models.NewNestCheck) (models.NestCheckView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.NestCheckView, error) {
		stand, err := findStand(tx, now, code, rules.ExceededSince(now.today))
		if err != nil {
			return models.NestCheckView{}, err
		}
		return n.keepNestCheck(tx, now, req, func(look *models.NestLook) { look.StandID = &stand.ID }, stand.Code, stand)
	})
}

// CheckPlaceForNests enters a look for nests at a whole place.
func (n *Nursery) CheckPlaceForNests(ctx context.Context, o Once, place string, req models.NewNestCheck) (models.NestCheckView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.NestCheckView, error) {
		found, err := wholePlace(tx, now, place)
		if err != nil {
			return models.NestCheckView{}, err
		}
		stands, err := found.records(tx, now)
		if err != nil {
			return models.NestCheckView{}, err
		}
		return n.keepNestCheck(tx, now, req, func(look *models.NestLook) { look.Place, look.PlaceKey = found.name, found.key }, "", stands...)
	})
}

// keepNestCheck writes a look for nests over stands, which are held.
func (n *Nursery) keepNestCheck(tx *store.Tx, now moment, req models.NewNestCheck, at func(*models.NestLook), stand string, over ...*models.StandRecord) (models.NestCheckView, error) {
	none := models.NestCheckView{}
	unlisted, err := now.settle(req.PersonFields())
	if err != nil {
		return none, err
	}
	look, warnings, err := rules.EnterNestCheck(req, now.today)
	if err != nil {
		return none, err
	}
	look.ID, look.EnteredAt = n.newID(), now.at
	at(&look)
	misfits, err := n.restrict(tx, now, look.ID, func(r *models.StandRecord) { r.NestChecks = append(r.NestChecks, look) }, over...)
	if err != nil {
		return none, err
	}
	now.change.made(look.ID)
	if err := tx.AddNestCheck(look); err != nil {
		return none, err
	}
	err = now.veil(look.PersonFields())
	return nestCheckView(stand, look, slices.Concat(warnings, misfits, unlisted)), err
}

// NestChecks lists the looks for nests at a stand and over its whole place, the latest
// entered first.
func (n *Nursery) NestChecks(ctx context.Context, code string, page models.Page) (models.List[models.NestCheckView], error) {
	return listKept(ctx, n, code, func(tx *store.Tx, stand *models.Stand) (models.List[models.NestLook], error) {
		return tx.NestChecks(stand.ID, models.NameKey(stand.Place), page)
	}, func(l models.NestLook) string { return l.ID }, func(stand string, look models.NestLook, a models.Amended) models.NestCheckView {
		if look.StandID == nil {
			stand = ""
		}
		view := nestCheckView(stand, look, nil)
		view.Amended = a
		return view
	})
}

func nestCheckView(stand string, look models.NestLook, warnings []string) models.NestCheckView {
	return models.NestCheckView{Stand: stand, NestLook: look, GoodTo: rules.GoodTo(&look), Warnings: listed(warnings)}
}

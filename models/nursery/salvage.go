package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// AddSalvage enters days on which a stand may be cut free of caps, since its ground is
// to be destroyed.
func (n *Nursery) AddSalvage(ctx context.Context, o Once, code string, req models.NewSalvage) (models.SalvageView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.SalvageView, error) {
		none := models.SalvageView{}
		stand, err := findStand(tx, now, code, models.Date{})
		if err != nil {
			return none, err
		}
		unlisted, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		salvage, warnings, err := rules.EnterSalvage(stand, req, now.today)
		if err != nil {
			return none, err
		}
		salvage.ID, salvage.StandID, salvage.EnteredAt = n.newID(), stand.ID, now.at
		now.change.made(salvage.ID)
		if err := tx.AddSalvage(salvage); err != nil {
			return none, err
		}
		return salvageView(stand.Code, salvage, append(warnings, unlisted...)), nil
	})
}

// Salvages lists the salvages of a stand, the latest entered first.
func (n *Nursery) Salvages(ctx context.Context, code string, page models.Page) (models.List[models.SalvageView], error) {
	return listKept(ctx, n, code, func(tx *store.Tx, stand *models.Stand) (models.List[models.SalvagePeriod], error) {
		return tx.Salvages(stand.ID, page)
	}, func(s models.SalvagePeriod) string { return s.ID }, func(stand string, s models.SalvagePeriod, a models.Amended) models.SalvageView {
		view := salvageView(stand, s, nil)
		view.Amended = a
		return view
	})
}

func salvageView(stand string, salvage models.SalvagePeriod, warnings []string) models.SalvageView {
	return models.SalvageView{Stand: stand, SalvagePeriod: salvage, Warnings: listed(warnings)}
}

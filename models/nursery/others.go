package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// AddOthersCut enters stems that others cut from a stand. No harvest rule refuses
// them; where the stand is over its limit with them, the answer says so.
func (n *Nursery) AddOthersCut(ctx context.Context, o Once, code string, req models.NewOthersCut) (models.OthersCutView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.OthersCutView, error) {
		none := models.OthersCutView{}
		record, err := findStand(tx, now, code, rules.ExceededSince(now.today))
		if err != nil {
			return none, err
		}
		warnings, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		cut, entry, err := rules.EnterOthersCut(req, now.today)
		if err != nil {
			return none, err
		}
		entry.ID, entry.StandID, entry.EnteredAt = n.newID(), record.ID, now.at
		cut.ID, cut.StandID, cut.LedgerID, cut.EnteredAt = n.newID(), record.ID, entry.ID, now.at
		before := now.watch(record)
		record.Ledger = rules.WithOthersCut(record.Ledger, entry)
		if err := n.post(tx, now, before.occasions(now, record, cut.ID)...); err != nil {
			return none, err
		}
		warnings = append(warnings, before.warnings(now, record)...)
		if err := tx.AddLedgerEntries([]models.LedgerEntry{entry}); err != nil {
			return none, err
		}
		now.change.made(cut.ID)
		return othersCutView(record.Code, cut, warnings), tx.AddOthersCut(cut)
	})
}

// OthersCuts lists the cuts of others from a stand, the latest entered first.
func (n *Nursery) OthersCuts(ctx context.Context, code string, page models.Page) (models.List[models.OthersCutView], error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (list models.List[models.OthersCutView], err error) {
		stand, err := findStandAlone(tx, now, code)
		if err != nil {
			return list, err
		}
		cuts, err := tx.OthersCuts(stand.ID, page)
		if err != nil {
			return list, err
		}
		if err := veilAll(cuts.Items, now.veil); err != nil {
			return list, err
		}
		by, err := amended(tx, cuts.Items, func(c models.OthersCut) string { return c.ID })
		return listOf(cuts, func(c models.OthersCut) models.OthersCutView {
			view := othersCutView(stand.Code, c, nil)
			view.Amended = by[c.ID]
			return view
		}), err
	})
}

func othersCutView(stand string, cut models.OthersCut, warnings []string) models.OthersCutView {
	return models.OthersCutView{Stand: stand, OthersCut: cut, Warnings: listed(warnings)}
}

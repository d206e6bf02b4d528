package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// AddClosures adds closures to those of a stand, as a new version of the list: what
// others have closed stays closed.
func (n *Nursery) AddClosures(ctx context.Context, o Once, code string, req models.NewClosures) (models.StandView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.StandView, error) {
		none := models.StandView{}
		record, err := findStand(tx, now, code, rules.ExceededSince(now.today))
		if err != nil {
			return none, err
		}
		warnings, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		if err := now.change.tell(req); err != nil {
			return none, err
		}
		edit, err := rules.AddClosures(record, &req, now.today)
		if err != nil {
			return none, err
		}
		return n.changeStand(tx, now, record, edit, append(rules.OpenLater(record, &req, now.today), warnings...))
	})
}

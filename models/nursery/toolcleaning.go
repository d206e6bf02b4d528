package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// LogToolCleaning logs tools and boots cleaned before a stand is entered.
func (n *Nursery) LogToolCleaning(ctx context.Context, o Once, code string, req models.NewToolCleaning) (models.ToolCleaningView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.ToolCleaningView, error) {
		none := models.ToolCleaningView{}
		stand, err := findStandAlone(tx, now, code)
		if err != nil {
			return none, err
		}
		unlisted, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		cleaning, err := rules.EnterToolCleaning(req, now.today)
		if err != nil {
			return none, err
		}
		cleaning.ID, cleaning.StandID, cleaning.EnteredAt = n.newID(), stand.ID, now.at
		now.change.made(cleaning.ID)
		if err := tx.AddToolCleaning(cleaning); err != nil {
			return none, err
		}
		err = now.veil(cleaning.PersonFields())
		return toolCleaningView(stand.Code, cleaning, models.Amended{}, unlisted), err
	})
}

// ToolCleanings lists the cleanings at a stand, the latest entered first.
func (n *Nursery) ToolCleanings(ctx context.Context, code string, page models.Page) (models.List[models.ToolCleaningView], error) {
	return listKept(ctx, n, code, func(tx *store.Tx, stand *models.Stand) (models.List[models.ToolCleaning], error) {
		return tx.ToolCleanings(stand.ID, page)
	}, func(c models.ToolCleaning) string { return c.ID }, func(stand string, c models.ToolCleaning, amended models.Amended) models.ToolCleaningView {
		return toolCleaningView(stand, c, amended, nil)
	})
}

func toolCleaningView(stand string, cleaning models.ToolCleaning, amended models.Amended, warnings []string) models.ToolCleaningView {
	return models.ToolCleaningView{Stand: stand, ToolCleaning: cleaning, Amended: amended, Warnings: listed(warnings)}
}

// showCleanings puts the latest cleaning of tools into each stand as it is shown.
func showCleanings(tx *store.Tx, now moment, records []*models.StandRecord, views []models.StandView) error {
	ids := make([]string, len(records))
	for i, r := range records {
		ids[i] = r.ID
	}
	last, err := tx.LastToolCleaning(ids, now.today)
	for i, id := range ids {
		views[i].ToolCleaning = cleaningOf(last, id)
	}
	return err
}

// cleaningOf is the latest cleaning at a stand, or nil.
func cleaningOf(last map[string]models.ToolCleaning, standID string) *models.ToolCleaning {
	cleaning, known := last[standID]
	if !known {
		return nil
	}
	return &cleaning
}

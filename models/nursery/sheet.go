package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// SheetQuery asks for a field sheet.
type SheetQuery struct {
	On    models.Date // today by default
	Stems int         // 1 to models.MaxSheetStems
	Crew  string
}

// Sheet makes the page a crew takes to a stand on a day. It keeps nothing.
func (n *Nursery) Sheet(ctx context.Context, code string, q SheetQuery) (models.Sheet, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.Sheet, error) {
		on := now.dayOr(q.On)
		record, err := findStand(tx, now, code, on)
		if err != nil {
			return models.Sheet{}, err
		}
		if err := now.veilFromAll(record.PersonFields()); err != nil {
			return models.Sheet{}, err
		}
		sheet, err := rules.FieldSheet(record, rules.SheetAsked{On: on, Stems: q.Stems, Crew: q.Crew}, now.today)
		sheet.Nursery = now.Name
		return sheet, err
	})
}

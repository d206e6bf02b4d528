package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// ParentsQuery asks which plants of a stand were cut from.
type ParentsQuery struct {
	On      models.Date // the last day of the window looked at; today by default
	Season  string      // a growth year to look at in its place, as in 2025/26
	KnownOn models.Date // by what was known at the end of that day; by what is known now by default
}

// StandParents answers what batches took of the tagged plants of a stand, in the window
// that ends on a day or in a growth year.
func (n *Nursery) StandParents(ctx context.Context, code string, q ParentsQuery) (models.StandParents, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.StandParents, error) {
		none := models.StandParents{}
		if q.Season != "" && !q.On.IsZero() {
			return none, models.InvalidQuestion("invalid", "season", q.Season, "does not go with on: ask for a growth year, or for the window that ends on a day")
		}
		tx, now, err := asKnown(tx, now, q.KnownOn)
		if err != nil {
			return none, err
		}
		record, err := findStand(tx, now, code, models.Date{})
		if err != nil {
			return none, err
		}
		from, to, err := rules.ParentDays(record, q.Season, now.dayOr(q.On))
		if err != nil {
			return none, err
		}
		tallies, err := tx.ParentTallies(record.ID, from, to)
		if err != nil {
			return none, err
		}
		stems, err := tx.BatchStems(record.ID, from, to)
		if err != nil {
			return none, err
		}
		answer := rules.StandParents(&record.Taxon, tallies, stems, &now.Thresholds)
		answer.Stand, answer.From, answer.To = record.Code, from, to
		return answer, nil
	})
}

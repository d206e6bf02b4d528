package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// DueQuery asks what is due.
type DueQuery struct {
	On    models.Date // today by default
	Bench string      // only of this bench, compared without case
	Flag  models.Flag // only this flag
}

// Due answers what is due on a day, the most urgent first, by bench. A day to
// come is answered as if nothing more were entered until then.
func (n *Nursery) Due(ctx context.Context, q DueQuery) (models.DueList, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.DueList, error) {
		on := now.dayOr(q.On)
		list := models.DueList{On: on, Items: []models.DueItem{}}
		stories, err := storiesOn(tx, on, now.today)
		if err != nil {
			return list, err
		}
		for _, s := range stories {
			for _, item := range rules.Flags(s.Record, s.Story, now.Settings) {
				if q.asksFor(&item) {
					list.Items = append(list.Items, item)
				}
			}
		}
		rules.SortDue(list.Items)
		return list, nil
	})
}

func (q *DueQuery) asksFor(item *models.DueItem) bool {
	return (q.Flag == "" || item.Flag == q.Flag) &&
		(q.Bench == "" || models.NameKey(item.Bench) == models.NameKey(q.Bench))
}

// storiesOn are the batches that can ask for something on a day. Those that have
// come to an end are read only for a day that is past, since they may have asked
// for something then.
func storiesOn(tx *store.Tx, on, today models.Date) ([]rules.Told, error) {
	records, err := batchesOn(tx, on, today)
	if err != nil {
		return nil, err
	}
	if err := lendModels(tx, records, on); err != nil {
		return nil, err
	}
	return tell(records, on)
}

func batchesOn(tx *store.Tx, on, today models.Date) ([]*models.BatchRecord, error) {
	if on.Before(today) {
		return tx.BatchRecordsOn(on)
	}
	return tx.EveryBatchRecord(models.BatchFilter{Active: true})
}

// tell replays records to a day.
func tell(records []*models.BatchRecord, on models.Date) ([]rules.Told, error) {
	told := make([]rules.Told, 0, len(records))
	for _, record := range records {
		story, err := rules.Replay(record, on)
		if err != nil {
			return nil, err
		}
		told = append(told, rules.Told{Record: record, Story: story})
	}
	return told, nil
}

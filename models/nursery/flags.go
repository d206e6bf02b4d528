package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// WriteFlags writes today's flags into their history: those that stand newly, and
// the end of those that are gone. It does so once a day, whatever the number of
// servers, and says whether it was the one to do it.
func (n *Nursery) WriteFlags(ctx context.Context) (bool, error) {
	return writeIn(ctx, n, n.store.WriteSnapshot, func(tx *store.Tx, now moment) (bool, error) {
		done, err := tx.JobDone("flags", now.today.String())
		if err != nil || done {
			return false, err
		}
		stories, err := storiesOn(tx, now.today, now.today)
		if err != nil {
			return false, err
		}
		standing, err := tx.StandingFlags()
		if err != nil {
			return false, err
		}
		raised, cleared := n.compare(stories, standing, now)
		if err := n.post(tx, now, soakOccasions(now, stories)...); err != nil {
			return false, err
		}
		if err := tx.ClearFlags(cleared, now.today); err != nil {
			return false, err
		}
		if err := tx.RaiseFlags(raised); err != nil {
			return false, err
		}
		return true, tx.MarkJob("flags", now.today.String(), now.at)
	})
}

// compare holds the flags that batches ask for now against those that stand in
// the history.
func (n *Nursery) compare(stories []rules.Told, standing []models.FlagSpan, now moment) (raised []models.FlagSpan, cleared []string) {
	type asked struct {
		batch string
		flag  models.Flag
	}
	known := map[asked]string{}
	for _, span := range standing {
		known[asked{span.BatchID, span.Flag}] = span.ID
	}
	for _, s := range stories {
		for _, item := range rules.Flags(s.Record, s.Story, now.Settings) {
			key := asked{s.Record.ID, item.Flag}
			if _, stands := known[key]; stands {
				delete(known, key)
				continue
			}
			raised = append(raised, models.FlagSpan{
				ID: n.newID(), BatchID: key.batch, Flag: key.flag, RaisedOn: now.today, Reason: item.Reason,
			})
		}
	}
	for _, span := range standing {
		if _, gone := known[asked{span.BatchID, span.Flag}]; gone {
			cleared = append(cleared, span.ID)
		}
	}
	return raised, cleared
}

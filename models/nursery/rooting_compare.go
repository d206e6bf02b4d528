package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
)

// RootingCompare answers whether arms differ. Who stuck them is compared for leads,
// coordinators and the nursery itself alone, and by codes: where there is a list of
// people, one who is not on it is in no arm.
func (n *Nursery) RootingCompare(ctx context.Context, pick RootingPick, ask rules.CompareAsk) (models.Comparison, error) {
	if pick.people = ask.By == rules.ByPerson; pick.people {
		if err := rules.MayComparePeople(CallerIn(ctx)); err != nil {
			return models.Comparison{}, err
		}
	}
	batches, on, err := n.watch(ctx, pick)
	if err != nil {
		return models.Comparison{}, err
	}
	report, err := rules.Compare(ctx, batches, ask)
	report.On = on
	return report, err
}

// veilStuckBy leaves codes alone of those who stuck batches.
func (m *moment) veilStuckBy(records []*models.BatchRecord) error {
	people, err := m.people()
	if err != nil {
		return err
	}
	for _, r := range records {
		if r.Sticking == nil {
			continue // it was stuck once, and that never was
		}
		tray := &r.Sticking.Tray
		if people.Veil(tray.PersonFields()); tray.StuckBy == models.NotListed {
			tray.StuckBy = ""
		}
	}
	return nil
}

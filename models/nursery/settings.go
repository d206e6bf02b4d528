package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// See shows the nursery and its settings.
func (n *Nursery) See(ctx context.Context) (models.NurseryView, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.NurseryView, error) {
		return now.view(), nil
	})
}

// Edit changes the settings by a merge patch of the version it was read at.
func (n *Nursery) Edit(ctx context.Context, version int, edit models.NurseryEdit) (models.NurseryView, error) {
	return write(ctx, n, func(tx *store.Tx, now moment) (models.NurseryView, error) {
		if err := guard("the nursery", version, now.Version); err != nil {
			return models.NurseryView{}, err
		}
		if err := now.change.tell(edit); err != nil {
			return models.NurseryView{}, err
		}
		settings, err := rules.EditSettings(now.Settings, edit)
		if err != nil {
			return models.NurseryView{}, err
		}
		now.Settings = settings
		if err := tx.EditNursery(now.Nursery); err != nil {
			return models.NurseryView{}, err
		}
		now.Version++
		if err := now.relocate(); err != nil {
			return models.NurseryView{}, err
		}
		return now.view(), nil
	})
}

func (m *moment) view() models.NurseryView {
	return models.NurseryView{Nursery: m.Nursery, Today: m.today, Warnings: []string{}}
}

package nursery

import (
	"context"
	"slices"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// LandQuery asks for the page of a land manager, or of a place. A land manager's own
// token needs to say neither.
type LandQuery struct {
	LandManager string
	Place       string
	From, To    models.Date // this growth year by default
	KnownOn     models.Date // by what was known at the end of that day; by what is known now by default
}

// Land makes the page of a land manager: per stand what its ledger holds in a period,
// and what is left and what holds today. It leaves the house, and names people by their
// codes alone.
func (n *Nursery) Land(ctx context.Context, q LandQuery) (models.Land, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.Land, error) {
		land := models.Land{Nursery: now.Name, Place: models.Clean(q.Place), MadeOn: now.today, Stands: []models.LandStand{}}
		tx, now, err := asKnown(tx, now, q.KnownOn)
		if err != nil {
			return land, err
		}
		if !now.known.IsZero() {
			land.KnownOn = now.today
		}
		manager, err := now.land(q.LandManager)
		if err != nil {
			return land, err
		}
		if land.LandManager = models.Clean(manager); land.LandManager == "" && land.Place == "" {
			return land, models.InvalidQuestion("invalid", "land_manager", nil, "is missing: say whose land the page is about, or with place which place")
		}
		if land.From, land.To, err = rules.Period(q.From, q.To, now.today); err != nil {
			return land, err
		}
		records, err := landRecords(tx, now, &land)
		if err != nil {
			return land, err
		}
		spellAsStands(&land, records)
		for _, r := range records {
			land.Stands = append(land.Stands, rules.LandStand(r, land.From, land.To, now.today, now.place))
		}
		land.Totals = rules.LandTotals(land.Stands)
		return land, now.veilFromAll(land.PersonFields())
	})
}

// spellAsStands spells whose land and which place a page is about as its stands do.
func spellAsStands(land *models.Land, records []*models.LandRecord) {
	if len(records) == 0 {
		return
	}
	if land.LandManager != "" {
		land.LandManager = records[0].LandManager
	}
	if land.Place != "" {
		land.Place = records[0].Place
	}
}

// landRecords reads the stands of a page, with all that it tells of them.
func landRecords(tx *store.Tx, now moment, land *models.Land) ([]*models.LandRecord, error) {
	since := rules.ExceededSince(now.today)
	if land.From.Before(since) {
		since = land.From
	}
	var stands []*models.StandRecord
	for stand, err := range tx.EachStandRecord(models.StandFilter{LandManager: land.LandManager, Place: land.Place}, since) {
		if err != nil {
			return nil, err
		}
		stands = append(stands, stand)
	}
	if len(stands) == 0 {
		return nil, noLand(tx, now, land)
	}
	records, err := tx.LandRecords(stands, rules.LandSince(stands, land.From), land.To, now.today)
	now.release(stands...)
	return records, err
}

// noLand is the error for a page without a stand, with near names; a land manager whose
// land has none gets an empty page.
func noLand(tx *store.Tx, now moment, land *models.Land) error {
	if now.caller.Is(models.Manager) {
		return nil
	}
	managers, err := tx.LandManagers()
	if err != nil {
		return err
	}
	named := func(name string) bool { return models.NameKey(name) == models.NameKey(land.LandManager) }
	if land.LandManager != "" && !slices.ContainsFunc(managers, named) {
		return models.UnknownName("unknown-land-manager", "land_manager", "land manager of any stand called", land.LandManager, rules.Near(land.LandManager, managers))
	}
	places, err := tx.Places()
	if err != nil {
		return err
	}
	there := func(name string) bool { return models.NameKey(name) == models.NameKey(land.Place) }
	if !now.known.IsZero() && (land.Place == "" || slices.ContainsFunc(places, there)) {
		return models.InvalidQuestion("not-known-then", "known_on", now.today, "is %s, and no such stand had been entered: nothing was known of any before", now.today)
	}
	return models.UnknownName("unknown-place", "place", "such stand at a place called", land.Place, rules.Near(land.Place, places))
}

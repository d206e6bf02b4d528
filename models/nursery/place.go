package nursery

import (
	"context"
	"slices"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// place is a place with the stands there that the caller may know of.
type place struct {
	name   string // as its first stand spells it
	key    string
	stands []models.Stand
	others bool // there are stands that the caller may not know of
}

// findPlace reads the stands at a place, and holds them in a write. If there is none,
// near names are suggested.
func findPlace(tx *store.Tx, now moment, name string) (place, error) {
	stands, err := tx.StandsAt(name)
	if err != nil {
		return place{}, err
	}
	found := place{key: models.NameKey(name)}
	for i := range stands {
		if now.caller.Sees(&stands[i]) {
			found.stands = append(found.stands, stands[i])
		} else {
			found.others = true
		}
	}
	if len(found.stands) == 0 {
		return found, noPlace(tx, now, name)
	}
	found.name = models.Clean(found.stands[0].Place)
	return found, nil
}

// noPlace is the error for a place that no stand names, or none that the caller may
// know of. To a land manager no near names are told.
func noPlace(tx *store.Tx, now moment, name string) error {
	if now.caller.Is(models.Manager) {
		return models.Errorf(models.NotFound, "no-such-place", "there is no stand at a place %q on the land of %s", name, now.caller.LandManager)
	}
	names, err := tx.Places()
	if err != nil {
		return err
	}
	missing := models.Errorf(models.NotFound, "no-such-place", "there is no stand at a place %q", name)
	missing.Suggestions = rules.Near(name, spelledOnce(names))
	return missing
}

// spelledOnce are names, of each the first spelling.
func spelledOnce(names []string) []string {
	known := map[string]bool{}
	return slices.DeleteFunc(names, func(name string) bool {
		key := models.NameKey(name)
		again := known[key]
		known[key] = true
		return again
	})
}

// wholePlace is findPlace for what goes for every stand there: a land manager does
// that where all of it is their own land.
func wholePlace(tx *store.Tx, now moment, name string) (place, error) {
	found, err := findPlace(tx, now, name)
	if err == nil && found.others {
		return found, models.Errorf(models.Forbidden, "place-of-others",
			"%s is not the land of %s alone: enter it for your own stands one by one, or ask the coordinator", found.name, now.caller.LandManager)
	}
	return found, err
}

// records are the stands of a place with all that their rules read.
func (p *place) records(tx *store.Tx, now moment) ([]*models.StandRecord, error) {
	keys := make([]string, len(p.stands))
	for i := range p.stands {
		keys[i] = p.stands[i].CodeKey
	}
	records, err := tx.StandRecords(keys, rules.ExceededSince(now.today))
	now.release(records...)
	return records, err
}

// ClosePlace adds closures to those of a whole place, or gives the whole list anew, as
// a new version of the list. All stands of the place are held, since their rules read
// it.
func (n *Nursery) ClosePlace(ctx context.Context, o Once, name string, req models.NewPlaceClosures) (models.PlaceView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.PlaceView, error) {
		none := models.PlaceView{}
		if req.WholeList && now.caller.Is(models.Manager) {
			return none, models.Errorf(models.Forbidden, "not-for-role",
				"the whole list of closures is given by a coordinator, and this token is a %s's: leave whole_list out to add to the list, or ask the coordinator", now.caller.Role)
		}
		found, err := wholePlace(tx, now, name)
		if err != nil {
			return none, err
		}
		unlisted, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		versions, err := tx.PlaceClosures(found.key)
		if err != nil {
			return none, err
		}
		if err := now.change.tell(req); err != nil {
			return none, err
		}
		version, warnings, err := rules.EnterPlaceClosures(versions, &req, now.today)
		if err != nil {
			return none, err
		}
		if version == nil {
			now.change.forget()
			return placeView(found, versions, now, append(warnings, unlisted...))
		}
		version.ID, version.Place, version.PlaceKey, version.EnteredAt = n.newID(), found.name, found.key, now.at
		stands, err := found.records(tx, now)
		if err != nil {
			return none, err
		}
		misfits, err := n.restrict(tx, now, version.ID, func(r *models.StandRecord) { r.PlaceClosures = append(r.PlaceClosures, *version) }, stands...)
		if err != nil {
			return none, err
		}
		if err := tx.AddPlaceClosures(*version); err != nil {
			return none, err
		}
		return placeView(found, append(versions, *version), now, slices.Concat(warnings, misfits, unlisted))
	})
}

// PlaceClosures shows the closures of a whole place.
func (n *Nursery) PlaceClosures(ctx context.Context, name string) (models.PlaceView, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.PlaceView, error) {
		found, err := findPlace(tx, now, name)
		if err != nil {
			return models.PlaceView{}, err
		}
		versions, err := tx.PlaceClosures(found.key)
		if err != nil {
			return models.PlaceView{}, err
		}
		return placeView(found, versions, now, nil)
	})
}

func placeView(p place, versions []models.PlaceClosureVersion, now moment, warnings []string) (models.PlaceView, error) {
	view := models.PlaceView{
		Place: p.name, Stands: []string{}, Closures: listed(rules.PlaceClosuresOn(versions, now.today).Closures),
		Versions: listed(versions), Warnings: listed(warnings),
	}
	for i := range p.stands {
		view.Stands = append(view.Stands, p.stands[i].Code)
	}
	return view, now.veil(view.PersonFields())
}

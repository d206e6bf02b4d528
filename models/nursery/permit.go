package nursery

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// AddPermit puts a permit, leave or consent on file for stands that are there. A
// number that is taken is a conflict.
func (n *Nursery) AddPermit(ctx context.Context, o Once, req models.NewPermit) (models.PermitView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.PermitView, error) {
		none := models.PermitView{}
		if err := tx.HoldStands(nil, keysOf(req.Stands)); err != nil {
			return none, err
		}
		stands, err := namedStands(tx, req.Stands)
		if err != nil {
			return none, err
		}
		if req.Taxa, err = namedTaxa(tx, req.Taxa); err != nil {
			return none, err
		}
		unlisted, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		permit, warnings, err := rules.EnterPermit(req, stands)
		if err != nil {
			return none, err
		}
		permit.ID, permit.EnteredAt = n.newID(), now.at
		now.change.made(permit.Number)
		err = tx.AddPermit(permit)
		if store.IsDuplicate(err, "permits_number_key") {
			return none, models.Errorf(models.Conflict, "taken", "the number %s is taken: change that permit, or see what the paper says", permit.Number)
		}
		if err != nil {
			return none, err
		}
		return permitView(now, &permit, stands, append(warnings, unlisted...))
	})
}

// PermitQuery asks for a list of permits.
type PermitQuery struct {
	Stand string
	On    models.Date // only those that hold on the day
	models.Page
}

// Permits lists permits by number. A land manager sees those that cover a stand on
// their own land.
func (n *Nursery) Permits(ctx context.Context, q PermitQuery) (models.List[models.PermitView], error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (list models.List[models.PermitView], err error) {
		filter := models.PermitFilter{On: q.On, LandManager: now.caller.LandManager}
		if q.Stand != "" {
			stand, err := seenStand(tx, now, q.Stand)
			if err != nil {
				return list, err
			}
			filter.StandID = stand.ID
		}
		permits, err := tx.Permits(filter, q.Page)
		if err != nil {
			return list, err
		}
		views, err := permitViews(tx, now, permits.Items)
		return models.List[models.PermitView]{Items: views, Next: permits.Next}, err
	})
}

// seenStand finds a stand that a question names and that the caller may know of.
func seenStand(tx *store.Tx, now moment, code string) (models.Stand, error) {
	stand, err := namedStand(tx, code)
	unseen := models.AsError(err) != nil || err == nil && !now.caller.Sees(&stand)
	if now.caller.Is(models.Manager) && unseen {
		return models.Stand{}, unknownStand(code, nil)
	}
	return stand, err
}

// Permit shows a permit by its number.
func (n *Nursery) Permit(ctx context.Context, number string) (models.PermitView, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.PermitView, error) {
		permit, err := findPermit(tx, now, number)
		if err != nil {
			return models.PermitView{}, err
		}
		views, err := permitViews(tx, now, []models.Permit{permit})
		if err != nil {
			return models.PermitView{}, err
		}
		if len(views[0].Stands) == 0 {
			return models.PermitView{}, noPermit(tx, now, number)
		}
		return views[0], nil
	})
}

// EditPermit changes a permit by a merge patch of the version it was read at. The
// stands that it covered and those that it will cover are held before it; crew shares
// there that no longer fit without what it said are told of.
func (n *Nursery) EditPermit(ctx context.Context, number string, version int, edit models.PermitEdit) (models.PermitView, error) {
	return write(ctx, n, func(tx *store.Tx, now moment) (models.PermitView, error) {
		none := models.PermitView{}
		before, crews, err := holdPermit(tx, now, number, edit.Stands.Value)
		if err != nil {
			return none, err
		}
		if err := guard("permit "+before.Number, version, before.Version); err != nil {
			return none, err
		}
		covered, stands, err := coveredBy(tx, &before, &edit)
		if err != nil {
			return none, err
		}
		if edit.Taxa.Value, err = namedTaxa(tx, edit.Taxa.Value); err != nil {
			return none, err
		}
		unlisted, err := now.settle(edit.PersonFields())
		if err != nil {
			return none, err
		}
		after, changed, warnings, err := rules.EditPermit(before, covered, stands, edit, now.at)
		if err != nil {
			return none, err
		}
		if !changed {
			now.change.forget()
			return permitView(now, &before, covered, warnings)
		}
		if err := now.change.tell(edit); err != nil {
			return none, err
		}
		entry := fmt.Sprintf("%s version-%d", before.ID, before.Version+1)
		misfits, err := n.restrict(tx, now, entry, func(r *models.StandRecord) { r.Permits = rules.WithPermit(r.Permits, after) }, crews...)
		if err != nil {
			return none, err
		}
		if err := tx.EditPermit(after, before.StandIDs, now.at); err != nil {
			return none, err
		}
		after.Version++
		return permitView(now, &after, stands, slices.Concat(warnings, misfits, unlisted))
	})
}

// holdPermit holds the stands that a permit covers, with those named by more codes,
// then the permit, and reads it, with those of the stands that have crew shares. One that
// was changed while they were waited for may cover others by now, and is stale.
func holdPermit(tx *store.Tx, now moment, number string, more []string) (held models.Permit, crews []*models.StandRecord, err error) {
	found, err := findPermit(tx, now, number)
	if err != nil {
		return found, nil, err
	}
	if err := tx.HoldStands(found.StandIDs, keysOf(more)); err != nil {
		return found, nil, err
	}
	codes, err := tx.CoveredHolding(found.StandIDs)
	if err != nil {
		return found, nil, err
	}
	if crews, err = holding(tx, now, codes); err != nil {
		return found, nil, err
	}
	if err := tx.HoldPermit(found.ID); err != nil {
		return found, nil, err
	}
	held, err = findPermit(tx, now, number)
	if err == nil && held.Version != found.Version {
		return held, nil, errStale
	}
	return held, crews, err
}

// coveredBy are the stands that a permit covers, before an edit and after it.
func coveredBy(tx *store.Tx, p *models.Permit, edit *models.PermitEdit) (before, after []models.CoveredStand, err error) {
	if before, err = tx.CoveredStands(p.StandIDs, nil); err != nil || !edit.Stands.IsSet() {
		return before, before, err
	}
	after, err = namedStands(tx, edit.Stands.Value)
	return before, after, err
}

// findPermit finds the permit of a path by number. If there is none, near numbers are
// suggested.
func findPermit(tx *store.Tx, now moment, number string) (models.Permit, error) {
	permit, err := tx.Permit(models.NameKey(number))
	if errors.Is(err, store.ErrNoRow) {
		return permit, noPermit(tx, now, number)
	}
	return permit, err
}

// noPermit is the error for a permit that is not there, or that the caller may not
// know of. To a land manager, who sees some only, no near numbers are told.
func noPermit(tx *store.Tx, now moment, number string) error {
	if now.caller.Is(models.Manager) {
		return models.Errorf(models.NotFound, "no-such-permit", "there is no permit %q for the land of %s", number, now.caller.LandManager)
	}
	numbers, err := tx.PermitNumbers()
	if err != nil {
		return err
	}
	missing := models.Errorf(models.NotFound, "no-such-permit", "there is no permit %q on file", number)
	missing.Suggestions = rules.Near(number, numbers)
	return missing
}

func keysOf(names []string) []string {
	keys := make([]string, len(names))
	for i, name := range names {
		keys[i] = models.NameKey(name)
	}
	return keys
}

// namedStands finds the stands that a permit names, each once, by code.
func namedStands(tx *store.Tx, codes []string) ([]models.CoveredStand, error) {
	if len(codes) == 0 {
		return nil, nil
	}
	stands, err := tx.CoveredStands(nil, keysOf(codes))
	if err != nil {
		return nil, err
	}
	for _, code := range codes {
		if slices.ContainsFunc(stands, func(s models.CoveredStand) bool { return s.CodeKey == models.NameKey(code) }) {
			continue
		}
		all, err := tx.StandCodes()
		if err != nil {
			return nil, err
		}
		return nil, models.UnknownName("unknown-stand", "stands", "stand", code, rules.Near(code, all))
	}
	return stands, nil
}

// namedTaxa are the taxa that a permit names, as their names are kept.
func namedTaxa(tx *store.Tx, names []string) ([]string, error) {
	var kept []string
	for _, name := range names {
		taxon, near, err := lookUpTaxon(tx, name)
		if errors.Is(err, store.ErrNoRow) {
			return nil, models.UnknownName("unknown-taxon", "taxa", "taxon", name, near)
		}
		if err != nil {
			return nil, err
		}
		kept = append(kept, taxon.ScientificName)
	}
	return kept, nil
}

// permitViews show permits to the caller.
func permitViews(tx *store.Tx, now moment, permits []models.Permit) ([]models.PermitView, error) {
	var ids, keys []string
	for i := range permits {
		ids = append(ids, permits[i].StandIDs...)
		for _, e := range permits[i].Earlier {
			keys = append(keys, keysOf(e.Stands)...)
		}
	}
	slices.Sort(ids)
	slices.Sort(keys)
	stands, err := tx.CoveredStands(slices.Compact(ids), slices.Compact(keys))
	if err != nil {
		return nil, err
	}
	views := make([]models.PermitView, len(permits))
	for i := range permits {
		if views[i], err = permitView(now, &permits[i], stands, nil); err != nil {
			return nil, err
		}
	}
	return views, nil
}

// permitView shows a permit to the caller, who may know of the stands among some that
// are seen, and no others.
func permitView(now moment, p *models.Permit, stands []models.CoveredStand, warnings []string) (models.PermitView, error) {
	seen := map[string]bool{}
	codes := []string{}
	for _, s := range stands {
		if now.caller.Is(models.Manager) && models.NameKey(s.LandManager) != models.NameKey(now.caller.LandManager) {
			continue
		}
		seen[s.CodeKey] = true
		if slices.Contains(p.StandIDs, s.ID) {
			codes = append(codes, s.Code)
		}
	}
	view := rules.PermitView(p, codes, now.today)
	if now.caller.Is(models.Manager) {
		for i := range view.Earlier {
			e := &view.Earlier[i]
			e.Stands = slices.DeleteFunc(slices.Clone(e.Stands), func(code string) bool { return !seen[models.NameKey(code)] })
		}
	}
	view.Warnings = append(view.Warnings, warnings...)
	return view, now.veil(view.PersonFields())
}

// codesCovered are the codes of the stands that permits cover, by identifier.
func codesCovered(tx *store.Tx, permits []models.Permit) (map[string]string, error) {
	var ids []string
	for i := range permits {
		ids = append(ids, permits[i].StandIDs...)
	}
	slices.Sort(ids)
	stands, err := tx.CoveredStands(slices.Compact(ids), nil)
	codes := make(map[string]string, len(stands))
	for _, s := range stands {
		codes[s.ID] = s.Code
	}
	return codes, err
}

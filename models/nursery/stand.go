package nursery

import (
	"context"
	"errors"
	"fmt"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// AddStand adds a stand of a taxon that is there, with the first version of its
// rule and closures.
func (n *Nursery) AddStand(ctx context.Context, o Once, req models.NewStand) (models.StandView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.StandView, error) {
		none := models.StandView{}
		taxon, err := namedTaxon(tx, req.Taxon)
		if err != nil {
			return none, err
		}
		stand, rule, closures, err := rules.EnterStand(req, now.HarvestRule, now.today)
		if err != nil {
			return none, err
		}
		stand.ID, stand.TaxonID, stand.EnteredAt = n.newID(), taxon.ID, now.at
		n.sign(&rule, stand.ID, now)
		n.signClosures(&closures, stand.ID, now)
		record := &models.StandRecord{
			Stand: stand, Taxon: taxon,
			Rules: []models.RuleVersion{rule}, Closures: []models.ClosureVersion{closures},
		}
		if err := tx.ReadPlace(record, rules.ExceededSince(now.today)); err != nil {
			return none, err
		}
		now.change.made(stand.Code)
		err = tx.AddStand(stand)
		if store.IsDuplicate(err, "stands_code_key") {
			return none, models.Errorf(models.Conflict, "taken", "the stand code %s is taken", stand.Code)
		}
		if err != nil {
			return none, err
		}
		if err := tx.AddRule(rule); err != nil {
			return none, err
		}
		if err := tx.AddClosures(closures); err != nil {
			return none, err
		}
		view := standView(record, now.today, false)
		view.Warnings = append(view.Warnings, rules.GatheringWarnings(&stand)...)
		return view, nil
	})
}

func (n *Nursery) sign(rule *models.RuleVersion, standID string, now moment) {
	rule.ID, rule.StandID, rule.EnteredAt = n.newID(), standID, now.at
}

func (n *Nursery) signClosures(closures *models.ClosureVersion, standID string, now moment) {
	closures.ID, closures.StandID, closures.EnteredAt = n.newID(), standID, now.at
}

// StandQuery asks for a list of stands.
type StandQuery struct {
	Taxon string
	Place string
	Exact bool // coordinates as they are kept
	models.Page
}

// Stands lists stands by code.
func (n *Nursery) Stands(ctx context.Context, q StandQuery) (models.List[models.StandView], error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (list models.List[models.StandView], err error) {
		exact, err := now.exact(q.Exact)
		if err != nil {
			return list, err
		}
		filter := models.StandFilter{Place: q.Place, LandManager: now.caller.LandManager}
		if q.Taxon != "" {
			taxon, err := namedTaxon(tx, q.Taxon)
			if err != nil {
				return list, err
			}
			filter.TaxonID = taxon.ID
		}
		records, err := tx.AllStandRecords(filter, q.Page, rules.ExceededSince(now.today))
		if err != nil {
			return list, err
		}
		list = listOf(records, func(r *models.StandRecord) models.StandView {
			now.release(r)
			return standView(r, now.today, exact)
		})
		if err := showCleanings(tx, now, records.Items, list.Items); err != nil {
			return list, err
		}
		return list, veilAll(list.Items, now.veil)
	})
}

// listOf shows a part of a list.
func listOf[R, V any](records models.List[R], show func(R) V) models.List[V] {
	list := models.List[V]{Items: make([]V, 0, len(records.Items)), Next: records.Next}
	for _, r := range records.Items {
		list.Items = append(list.Items, show(r))
	}
	return list
}

// Stand shows a stand.
func (n *Nursery) Stand(ctx context.Context, code string, exact bool) (models.StandView, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.StandView, error) {
		exact, err := now.exact(exact)
		if err != nil {
			return models.StandView{}, err
		}
		record, err := findStand(tx, now, code, rules.ExceededSince(now.today))
		if err != nil {
			return models.StandView{}, err
		}
		last, err := tx.LastToolCleaning([]string{record.ID}, now.today)
		if err != nil {
			return models.StandView{}, err
		}
		view := standView(record, now.today, exact)
		view.ToolCleaning = cleaningOf(last, record.ID)
		return view, now.veil(view.PersonFields())
	})
}

// EditStand changes a stand by a merge patch of the version it was read at.
func (n *Nursery) EditStand(ctx context.Context, code string, version int, edit models.StandEdit) (models.StandView, error) {
	return write(ctx, n, func(tx *store.Tx, now moment) (models.StandView, error) {
		none := models.StandView{}
		record, err := findStand(tx, now, code, rules.ExceededSince(now.today))
		if err != nil {
			return none, err
		}
		if err := guard(record.Code, version, record.Version); err != nil {
			return none, err
		}
		unlisted, err := now.settle(edit.PersonFields())
		if err != nil {
			return none, err
		}
		if err := now.change.tell(edit); err != nil {
			return none, err
		}
		return n.changeStand(tx, now, record, edit, unlisted)
	})
}

// changeStand makes an edit of a stand that is held, whose people are settled, and
// shows the stand after it.
func (n *Nursery) changeStand(tx *store.Tx, now moment, record *models.StandRecord, edit models.StandEdit, unlisted []string) (models.StandView, error) {
	none := models.StandView{}
	stand, rule, closures, err := rules.EditStand(record, edit, now.today)
	if err != nil {
		return none, err
	}
	warnings := append(rules.EditWarnings(record, &edit, rule, closures), unlisted...)
	before := now.watch(record)
	last, err := readMoved(tx, now, record, &stand)
	if err != nil {
		return none, err
	}
	if err := tx.EditStand(stand); err != nil {
		return none, err
	}
	stand.Version++
	record.Stand = stand
	if rule != nil {
		n.sign(rule, stand.ID, now)
		record.Rules = append(record.Rules, *rule)
		if err := tx.AddRule(*rule); err != nil {
			return none, err
		}
	}
	if closures != nil {
		n.signClosures(closures, stand.ID, now)
		record.Closures = append(record.Closures, *closures)
		if err := tx.AddClosures(*closures); err != nil {
			return none, err
		}
	}
	if err := n.post(tx, now, before.occasions(now, record, fmt.Sprintf("version-%d", record.Version))...); err != nil {
		return none, err
	}
	view := standView(record, now.today, now.caller.Is(models.Manager))
	view.Warnings = append(view.Warnings, rules.NewMisfits(record, before.misfits, now.today)...)
	view.ToolCleaning = cleaningOf(last, record.ID)
	view.Warnings = append(append(view.Warnings, warnings...), rules.GatheringWarnings(&stand)...)
	return view, now.veil(view.PersonFields())
}

// readMoved reads the latest cleaning of tools at a stand that is edited, and anew what
// is kept of its place where that becomes another.
func readMoved(tx *store.Tx, now moment, record *models.StandRecord, after *models.Stand) (map[string]models.ToolCleaning, error) {
	if models.NameKey(after.Place) != models.NameKey(record.Place) {
		record.Place = after.Place
		if err := tx.ReadPlace(record, rules.ExceededSince(now.today)); err != nil {
			return nil, err
		}
	}
	return tx.LastToolCleaning([]string{record.ID}, now.today)
}

// Versions shows every version of a stand's harvest rule and closures.
func (n *Nursery) Versions(ctx context.Context, code string) (models.StandVersions, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.StandVersions, error) {
		record, err := findStand(tx, now, code, models.Date{})
		if err != nil {
			return models.StandVersions{}, err
		}
		versions := models.StandVersions{Stand: record.Code, HarvestRules: record.Rules, Closures: record.Closures}
		return versions, now.veil(versions.PersonFields())
	})
}

// AllowanceQuery asks what a stand can bear.
type AllowanceQuery struct {
	On      models.Date // today by default
	KnownOn models.Date // by what was known at the end of that day; by what is known now by default
	Stems   int         // 1 by default
	Parents *int
	Share   string // crew or identifier of the share they are drawn on; none by default
}

// Allowance answers how many stems may be cut from a stand on a day.
func (n *Nursery) Allowance(ctx context.Context, code string, q AllowanceQuery) (models.Allowance, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.Allowance, error) {
		tx, now, err := asKnown(tx, now, q.KnownOn)
		if err != nil {
			return models.Allowance{}, err
		}
		on := now.dayOr(q.On)
		record, err := findStand(tx, now, code, on)
		if err != nil {
			return models.Allowance{}, err
		}
		if err := now.veil(record.PersonFields()); err != nil {
			return models.Allowance{}, err
		}
		share, err := rules.AskedShare(record, q.Share, on)
		if err != nil {
			return models.Allowance{}, err
		}
		return rules.Allowance(record, rules.Cut{On: on, Stems: max(1, q.Stems), Parents: q.Parents, Share: share}), nil
	})
}

// Ledger lists the entries of a stand's ledger, the latest entered first, as they are
// or were known at the end of a day. To whomever it is shown, it names people by
// their codes alone.
func (n *Nursery) Ledger(ctx context.Context, code string, knownOn models.Date, page models.Page) (models.List[models.LedgerLine], error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (list models.List[models.LedgerLine], err error) {
		if tx, now, err = asKnown(tx, now, knownOn); err != nil {
			return list, err
		}
		stand, err := findStandAlone(tx, now, code)
		if err != nil {
			return list, err
		}
		if list, err = tx.LedgerLines(stand.ID, page); err != nil {
			return list, err
		}
		return list, veilAll(list.Items, now.veilFromAll)
	})
}

// Seasons sums a stand's ledger by growth year, the latest first, as it is or was
// known at the end of a day.
func (n *Nursery) Seasons(ctx context.Context, code string, knownOn models.Date) ([]models.SeasonTaken, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) ([]models.SeasonTaken, error) {
		tx, now, err := asKnown(tx, now, knownOn)
		if err != nil {
			return nil, err
		}
		record, err := findStand(tx, now, code, models.Date{})
		if err != nil {
			return nil, err
		}
		days, err := tx.LedgerBySeason(record.ID)
		if err != nil {
			return nil, err
		}
		return rules.TakenBySeason(record, days), nil
	})
}

// findStand reads the stand of a path, with its ledger for questions about a day
// and later, and holds it in a write. If there is none, near codes are suggested.
func findStand(tx *store.Tx, now moment, code string, from models.Date) (*models.StandRecord, error) {
	record, err := tx.StandRecord(models.NameKey(code), from)
	if errors.Is(err, store.ErrNoRow) || err == nil && !now.caller.Sees(&record.Stand) {
		return nil, noStand(tx, now, code)
	}
	if err != nil {
		return nil, err
	}
	now.release(record)
	return record, now.knew(&record.Stand)
}

// findStandAlone is findStand where nothing but the stand itself is asked for.
func findStandAlone(tx *store.Tx, now moment, code string) (models.Stand, error) {
	stand, err := tx.Stand(models.NameKey(code))
	if errors.Is(err, store.ErrNoRow) || err == nil && !now.caller.Sees(&stand) {
		return models.Stand{}, noStand(tx, now, code)
	}
	if err != nil {
		return stand, err
	}
	return stand, now.knew(&stand)
}

// noStand is the error for a stand that is not there, or that the caller may not
// know of. To a land manager, who sees some stands only, no near codes are told.
func noStand(tx *store.Tx, now moment, code string) error {
	if now.caller.Is(models.Manager) {
		return models.Errorf(models.NotFound, "no-such-stand", "there is no stand %q on the land of %s", code, now.caller.LandManager)
	}
	codes, err := tx.StandCodes()
	if err != nil {
		return err
	}
	missing := models.Errorf(models.NotFound, "no-such-stand", "there is no stand %q", code)
	missing.Suggestions = rules.Near(code, codes)
	return missing
}

// namedStand finds the stand that a request names, alone.
func namedStand(tx *store.Tx, code string) (models.Stand, error) {
	stand, err := tx.Stand(models.NameKey(code))
	if !errors.Is(err, store.ErrNoRow) {
		return stand, err
	}
	codes, err := tx.StandCodes()
	if err != nil {
		return stand, err
	}
	return stand, unknownStand(code, codes)
}

// unknownStand is the error for a stand that a request names and that is none of
// those that are there.
func unknownStand(code string, codes []string) error {
	return models.UnknownName("unknown-stand", "stand", "stand", code, rules.Near(code, codes))
}

func standView(r *models.StandRecord, today models.Date, exact bool) models.StandView {
	view := models.StandView{
		Code: r.Code, Name: r.Name, Taxon: r.Taxon.ScientificName, CommonName: r.Taxon.CommonName,
		Place: r.Place, Locality: r.Locality, LandManager: r.LandManager, Sensitivity: r.Sensitivity,
		PermitRequired: r.PermitRequired, PermitReason: r.PermitReason,
		ProtectedPlace: r.ProtectedPlace, GatheringPlaceOf: r.GatheringPlaceOf,
		HarvestRule: rules.RuleOn(r.Rules, today), Closures: rules.ClosuresOn(r.Closures, today).Closures,
		Exceeded: rules.Exceeded(r, today), Warnings: []string{}, Version: r.Version,
	}
	if last := len(r.Surveys); last > 0 {
		view.Survey = r.Surveys[last-1].Brief()
	}
	rules.TellToday(r, today, &view)
	if exact {
		rules.Exact(&r.Stand, &view)
	} else {
		rules.Mask(&r.Stand, &view)
	}
	return view
}

// exact says whether coordinates are shown as they are kept: where that was asked
// for by one who may see them, and always to the manager of the land.
func (m *moment) exact(asked bool) (bool, error) {
	if asked && !m.caller.SeesExact() {
		return false, models.Errorf(models.Forbidden, "exact-withheld",
			"exact coordinates are shown to coordinators and the manager of the land alone, and this token is a %s's: leave exact out to see them coarsened", m.caller.Role)
	}
	return asked || m.caller.Is(models.Manager), nil
}

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

// amended says which of some records of stands were voided or replaced, by their
// identifiers.
func amended[T any](tx *store.Tx, items []T, id func(T) string) (map[string]models.Amended, error) {
	ids := make([]string, len(items))
	for i, item := range items {
		ids[i] = id(item)
	}
	corrections, err := tx.AmendedBy(ids)
	by := make(map[string]models.Amended, len(corrections))
	for subject, c := range corrections {
		a := models.Amended{Void: c.Void}
		if c.ReplacedBy != nil {
			a.ReplacedBy = *c.ReplacedBy
		}
		by[subject] = a
	}
	return by, err
}

// correctedBy is the correction that stands against a record of a stand, or nil.
func correctedBy(tx *store.Tx, id string) (*models.Correction, error) {
	corrections, err := tx.AmendedBy([]string{id})
	if c, is := corrections[id]; is {
		return &c, err
	}
	return nil, err
}

// CorrectSurvey puts a survey in the place of one that was entered wrongly, or voids
// it. Batches keep the shares that were worked out from the old one.
func (n *Nursery) CorrectSurvey(ctx context.Context, o Once, code, survey string, req models.NewSurveyCorrection) (models.SurveyCorrectionView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.SurveyCorrectionView, error) {
		none := models.SurveyCorrectionView{}
		record, err := findStand(tx, now, code, rules.ExceededSince(now.today))
		if err != nil {
			return none, err
		}
		unlisted, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		was, err := tx.Survey(record.ID, survey)
		if errors.Is(err, store.ErrNoRow) {
			return none, models.Errorf(models.NotFound, "no-such-survey", "there is no survey %q of %s: list its surveys to see those there are", survey, record.Code)
		}
		if err != nil {
			return none, err
		}
		before, err := correctedBy(tx, was.ID)
		if err != nil {
			return none, err
		}
		is, warnings, err := rules.CorrectSurvey(&was, before, req, now.today)
		if err != nil {
			return none, err
		}
		return n.replaceSurvey(tx, now, record, &was, is, req, append(warnings, unlisted...))
	})
}

// replaceSurvey writes the survey that stands in the place of another, if there is one,
// and the correction that says so. The stand is held.
func (n *Nursery) replaceSurvey(tx *store.Tx, now moment, record *models.StandRecord, was, is *models.Survey, req models.NewSurveyCorrection, warnings []string) (models.SurveyCorrectionView, error) {
	view := models.SurveyCorrectionView{}
	correction := models.Correction{
		ID: n.newID(), StandID: record.ID, Subject: models.OfSurvey, SubjectID: was.ID, Void: is == nil,
		Why: models.Clean(req.Why), CorrectedBy: models.Clean(req.By), EnteredAt: now.at,
	}
	var err error
	if correction.Before, correction.After, err = rules.SurveyChange(was, is); err != nil {
		return view, err
	}
	before := now.watch(record)
	record.Surveys = rules.WithoutSurvey(record.Surveys, was.ID)
	if is != nil {
		is.ID, is.StandID, is.EnteredAt = n.newID(), record.ID, now.at
		correction.ReplacedBy = &is.ID
		warnings = append(warnings, rules.SameDaySurvey(record.Surveys, is)...)
		record.Surveys = rules.WithSurvey(record.Surveys, *is)
	}
	now.change.made(correction.ID)
	if err := n.post(tx, now, before.occasions(now, record, correction.ID)...); err != nil {
		return view, err
	}
	if is != nil {
		if err := tx.AddSurvey(*is); err != nil {
			return view, err
		}
		shown := surveyView(record.Code, *is, nil)
		view.Survey = &shown
		if err := now.veil(shown.PersonFields()); err != nil {
			return view, err
		}
	}
	if err := tx.AddCorrection(correction); err != nil {
		return view, err
	}
	warnings = append(warnings, before.warnings(now, record)...)
	view.CorrectionView, err = correctionView(now, record.Code, correction, warnings)
	return view, err
}

// CorrectStand voids a record of a stand: it never was.
func (n *Nursery) CorrectStand(ctx context.Context, o Once, code string, req models.NewStandCorrection) (models.CorrectionView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.CorrectionView, error) {
		none := models.CorrectionView{}
		if err := rules.CheckStandCorrection(req); err != nil {
			return none, err
		}
		around, err := placeOf(tx, now, code, req.Subject)
		if err != nil {
			return none, err
		}
		record, err := findStand(tx, now, code, rules.ExceededSince(now.today))
		if err != nil {
			return none, err
		}
		unlisted, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		before := now.watch(record)
		said, entries, err := n.takeKept(tx, now, record, &req)
		if err != nil {
			return none, err
		}
		correction := models.Correction{
			ID: n.newID(), StandID: record.ID, Subject: req.Subject, SubjectID: req.SubjectID, Void: true,
			Why: models.Clean(req.Why), CorrectedBy: models.Clean(req.By), EnteredAt: now.at, Before: said, After: map[string]any{},
		}
		now.change.made(correction.ID)
		if err := n.post(tx, now, before.occasions(now, record, correction.ID)...); err != nil {
			return none, err
		}
		around = slices.DeleteFunc(around, func(r *models.StandRecord) bool { return r.ID == record.ID })
		misfits, err := n.restrict(tx, now, correction.ID, func(r *models.StandRecord) { rules.TakeKept(r, req.Subject, req.SubjectID) }, around...)
		if err != nil {
			return none, err
		}
		if err := tx.AddLedgerEntries(entries); err != nil {
			return none, err
		}
		if err := tx.AddCorrection(correction); err != nil {
			return none, err
		}
		return correctionView(now, record.Code, correction, slices.Concat(before.warnings(now, record), misfits, unlisted))
	})
}

// placeOf reads and holds all stands at the place of a stand where what is voided may be
// of the whole place: they are held in one order, so the stand itself is read after.
func placeOf(tx *store.Tx, now moment, code string, subject models.Subject) ([]*models.StandRecord, error) {
	if subject != models.OfNestCheck {
		return nil, nil
	}
	name, err := tx.PlaceOfStand(models.NameKey(code))
	if errors.Is(err, store.ErrNoRow) || err == nil && models.NameKey(name) == "" {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	there := place{}
	if there.stands, err = tx.StandsAt(name); err != nil {
		return nil, err
	}
	return there.records(tx, now)
}

// takeKept takes a record out of a stand, and answers what it said, and what the ledger
// is to have for it.
func (n *Nursery) takeKept(tx *store.Tx, now moment, record *models.StandRecord, req *models.NewStandCorrection) (map[string]any, []models.LedgerEntry, error) {
	by, err := correctedBy(tx, req.SubjectID)
	if err != nil {
		return nil, nil, err
	}
	if by != nil {
		return nil, nil, rules.AlreadyCorrected(req.Subject, by)
	}
	var found any
	switch req.Subject {
	case models.OfOthersCut:
		return n.takeOthersCut(tx, now, record, req)
	case models.OfToolCleaning:
		found, err = tx.ToolCleaning(record.ID, req.SubjectID)
	default:
		found = rules.TakeKept(record, req.Subject, req.SubjectID)
	}
	if errors.Is(err, store.ErrNoRow) || found == nil {
		return nil, nil, unknownRecord(record, req)
	}
	if err != nil {
		return nil, nil, err
	}
	said, err := models.Said(found)
	return said, nil, err
}

// takeOthersCut takes a cut of others off the ledger of a stand.
func (n *Nursery) takeOthersCut(tx *store.Tx, now moment, record *models.StandRecord, req *models.NewStandCorrection) (map[string]any, []models.LedgerEntry, error) {
	cut, err := tx.OthersCut(record.ID, req.SubjectID)
	if errors.Is(err, store.ErrNoRow) {
		return nil, nil, unknownRecord(record, req)
	}
	if err != nil {
		return nil, nil, err
	}
	entry := rules.VoidOthersCut(&cut)
	entry.ID, entry.EnteredBy, entry.Why, entry.EnteredAt = n.newID(), models.Clean(req.By), models.Clean(req.Why), now.at
	record.Ledger = rules.WithOthersCut(record.Ledger, entry)
	said, err := models.Said(cut)
	return said, []models.LedgerEntry{entry}, err
}

func unknownRecord(record *models.StandRecord, req *models.NewStandCorrection) error {
	err := models.UnknownName("unknown-record", "subject_id", req.Subject.Words(), req.SubjectID, nil)
	err.Detail = fmt.Sprintf("%s has no %s %q: the list of them shows their identifiers", record.Code, req.Subject.Words(), req.SubjectID)
	return err
}

// correctionView shows a correction, its people veiled.
func correctionView(now moment, stand string, c models.Correction, warnings []string) (models.CorrectionView, error) {
	view := models.CorrectionView{Stand: stand, Correction: c, Warnings: listed(warnings)}
	return view, now.veilCorrection(&view.Correction)
}

// veilCorrection shows codes alone in a correction, also in what it changed, unless the
// caller sees names.
func (m *moment) veilCorrection(c *models.Correction) error {
	if m.caller.SeesNames() {
		return nil
	}
	people, err := m.people()
	if err != nil {
		return err
	}
	people.Veil(c.PersonFields())
	people.VeilSaid(c)
	return nil
}

// Corrections lists what was corrected at a stand, the latest entered first: its
// surveys and the like, and its batches, but for a land manager, who sees no batch.
func (n *Nursery) Corrections(ctx context.Context, code string, page models.Page) (models.List[models.CorrectionView], error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (list models.List[models.CorrectionView], err error) {
		stand, err := findStandAlone(tx, now, code)
		if err != nil {
			return list, err
		}
		if list, err = tx.Corrections(stand.ID, !now.caller.Is(models.Manager), page); err != nil {
			return list, err
		}
		for i := range list.Items {
			view := &list.Items[i]
			view.Stand, view.Warnings = stand.Code, []string{}
			if err := now.veilCorrection(&view.Correction); err != nil {
				return list, err
			}
		}
		return list, nil
	})
}

package nursery

import (
	"errors"
	"fmt"
	"slices"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// heldCut is a batch held for a correction of its cut: with the stand it is of, the one
// it is to be of, and all batches of its harvest.
type heldCut struct {
	n        *Nursery
	tx       *store.Tx
	now      moment
	from, to *models.StandRecord // the same, unless it moves
	record   *models.BatchRecord
	family   []*models.BatchRecord
	entries  []models.LedgerEntry // all that stands on ledgers about it
	before   map[string]watch     // how the stands stood, by id
	rest     []string             // what is said of the rest that the batch began, while it goes on
}

// holdCut holds the stand of a batch, the stand it is to be of if that is named, and the
// batch with all of its harvest. The ledgers are read for the day it was cut, another
// day if there is one, and for what Exceeded looks at.
func (n *Nursery) holdCut(tx *store.Tx, now moment, code, stand string, day models.Date) (*heldCut, error) {
	key := models.NameKey(code)
	from, on, err := tx.CutOfBatch(key)
	if errors.Is(err, store.ErrNoRow) {
		return nil, noBatch(tx, code)
	}
	if err != nil {
		return nil, err
	}
	to := from
	if stand != "" {
		to = models.NameKey(stand)
	}
	first := rules.ExceededSince(now.today)
	for _, d := range []models.Date{on, day} {
		first = firstDay(d, first)
	}
	c := &heldCut{n: n, tx: tx, now: now, before: map[string]watch{}}
	if err := c.readStands(from, to, stand, first); err != nil {
		return nil, err
	}
	if c.family, err = tx.Family(key); err != nil {
		return nil, err
	}
	for _, m := range c.family {
		if m.CodeKey == key {
			c.record = m
		}
	}
	if c.record == nil || c.record.StandID != c.from.ID || c.record.CollectedOn != on {
		return nil, fmt.Errorf("hold batch %s: %w", code, store.ErrStale) // it was moved while its stand was locked
	}
	if c.record.FlagHistory, err = tx.FlagHistory(c.record.ID); err != nil {
		return nil, err
	}
	if err := lendModel(tx, c.record, now.today); err != nil {
		return nil, err
	}
	c.entries, err = tx.LedgerOfBatch(c.record.ID)
	return c, err
}

func (c *heldCut) readStands(from, to, named string, first models.Date) error {
	keys := []string{from, to}
	slices.Sort(keys)
	records, err := c.tx.StandRecords(slices.Compact(keys), first)
	if err != nil {
		return err
	}
	c.now.release(records...)
	for _, record := range records {
		c.before[record.ID] = c.now.watch(record)
		if record.CodeKey == from {
			c.from = record
		}
		if record.CodeKey == to {
			c.to = record
		}
	}
	if c.to == nil {
		codes, err := c.tx.StandCodes()
		if err != nil {
			return err
		}
		missing := unknownStand(named, codes)
		models.AsError(missing).Fields[0].Name = "changes.stand"
		return missing
	}
	return nil
}

// takeOut takes what the batch took out of the stands.
func (c *heldCut) takeOut() {
	c.rest = rules.OpenRest(c.from, &c.record.Batch)
	rules.TakeOut(c.from, c.record, c.entries)
	if c.to != c.from {
		rules.TakeOut(c.to, c.record, c.entries)
	}
}

// ledger is what a correction adds to the ledgers.
func (c *heldCut) ledger(after *models.Batch, kind models.LedgerKind, by *models.Correction) []models.LedgerEntry {
	lines := rules.LedgerOf(c.record, after, c.entries, c.from, c.to)
	for i := range lines {
		l := &lines[i]
		l.ID, l.Kind, l.EnteredBy, l.Why, l.EnteredAt = c.n.newID(), kind, by.CorrectedBy, by.Why, c.now.at
	}
	return lines
}

// followed is a sister as she is after a correction of the batch that holds her stems.
type followed struct {
	record     *models.BatchRecord
	correction *models.Correction // nil where only her number changes
}

// follow writes the corrected cut into the batch and into all that are of one harvest
// with it.
func (c *heldCut) follow(was, is *models.Batch, by *models.Correction) ([]followed, error) {
	c.record.Batch, c.record.Stand = *is, c.to.Code
	if is.TaxonID == c.to.TaxonID {
		c.record.Taxon = c.to.Taxon
	}
	c.nameCut(was, is)
	var sisters []followed
	for _, sister := range c.family {
		if sister.HarvestID != is.ID || sister.ID == is.ID || sister.Void {
			continue
		}
		correction := c.n.correctionOf(c.now, sister, by.Why, by.CorrectedBy)
		before, after, err := rules.Follow(sister, was, is, c.to.Code, c.record.Taxon)
		if err != nil {
			return nil, err
		}
		sister.HarvestAwaitsReview = is.AwaitsReview
		f := followed{record: sister}
		if len(before)+len(after) > 0 {
			correction.Before, correction.After = before, after
			f.correction = &correction
		}
		if f.correction != nil || was.StandID != is.StandID || was.Year != is.Year {
			sisters = append(sisters, f)
		}
	}
	return sisters, nil
}

// nameCut names the survey, the permit and the crew of a corrected cut, where they are
// others than before.
func (c *heldCut) nameCut(was, is *models.Batch) {
	if !sameID(was.SurveyID, is.SurveyID) {
		c.record.Survey = nil
		if survey := surveyOf(c.to, is.SurveyID); survey != nil {
			c.record.Survey = survey.Brief()
		}
	}
	if !sameID(was.PermitID, is.PermitID) {
		c.record.Permit, c.record.PermitUnit = "", ""
	}
	if !sameID(was.ShareID, is.ShareID) {
		c.record.Crew = ""
	}
	nameDrawn(c.record, c.to)
}

func sameID(a, b *string) bool {
	if a == nil || b == nil {
		return a == b
	}
	return *a == *b
}

// renumber gives batches that moved to another stand or year the next numbers there.
// Their codes stay, so the numbers they had are spent.
func (c *heldCut) renumber(was, is *models.Batch, sisters []followed) (write func() error, err error) {
	write = func() error { return nil }
	if was.StandID == is.StandID && was.Year == is.Year {
		return write, nil
	}
	last, err := c.tx.LastBatchNumbers([]string{is.StandID}, []int{is.Year})
	if err != nil {
		return nil, err
	}
	next := last[store.StandYear{StandID: is.StandID, Year: is.Year}]
	spent := []int{was.Number}
	next++
	c.record.Number = next
	for _, s := range sisters {
		next++
		spent, s.record.Number = append(spent, s.record.Number), next
	}
	return func() error {
		for _, number := range spent {
			if err := c.tx.SpendNumber(was.StandID, was.Year, number); err != nil {
				return err
			}
		}
		return nil
	}, nil
}

// warnings are what became of the stands by the correction.
func (c *heldCut) warnings() []string {
	warnings := c.before[c.to.ID].warnings(c.now, c.to)
	if c.from != c.to {
		warnings = append(warnings, c.before[c.from.ID].warnings(c.now, c.from)...)
	}
	return warnings
}

// post tells at once of a batch that is to review now and was not, and of what no
// longer holds of the stands.
func (c *heldCut) post(was *models.Batch, by *models.Correction) error {
	occasions := c.before[c.to.ID].occasions(c.now, c.to, by.ID)
	if c.from != c.to {
		occasions = append(occasions, c.before[c.from.ID].occasions(c.now, c.from, by.ID)...)
	}
	if err := c.n.post(c.tx, c.now, occasions...); err != nil || was.AwaitsReview || !c.record.AwaitsReview {
		return err
	}
	return c.n.postReview(c.tx, c.now, by.ID, []*models.BatchRecord{c.record}, nil)
}

// writeRest begins the rest of a stand that a corrected batch calls for, unless the one
// it began there goes on.
func (c *heldCut) writeRest(is *models.Batch) error {
	if !is.OverLimit || len(c.rest) > 0 && c.from == c.to {
		return nil
	}
	rest := rules.RestAfter(is)
	rest.ID, rest.SetAt, rest.EnteredAt = c.n.newID(), c.now.at, c.now.at
	return c.tx.AddRests([]models.Rest{rest})
}

func (c *heldCut) writeSisters(sisters []followed) error {
	for _, s := range sisters {
		if s.correction != nil {
			if err := c.tx.AddCorrection(*s.correction); err != nil {
				return err
			}
		}
		if err := c.edit(s.record); err != nil {
			return err
		}
	}
	return nil
}

// edit writes a batch with what it is after a correction.
func (c *heldCut) edit(r *models.BatchRecord) (err error) {
	if r.Active, err = rules.Active(r); err != nil {
		return err
	}
	return c.tx.EditBatch(r)
}

// show writes a batch with its correction, and shows it.
func (c *heldCut) show(r *models.BatchRecord, correction models.Correction, warnings []string) (models.BatchView, error) {
	if err := c.tx.AddCorrection(correction); err != nil {
		return models.BatchView{}, err
	}
	if err := c.edit(r); err != nil {
		return models.BatchView{}, err
	}
	r.Version++
	r.Corrections = append(slices.Clone(r.Corrections), correction)
	return batchView(r, c.now, warnings)
}

// memberOf is the batch of an identifier among those of the harvest.
func (c *heldCut) memberOf(id string) *models.BatchRecord {
	i := slices.IndexFunc(c.family, func(m *models.BatchRecord) bool { return m.ID == id })
	return c.family[i]
}

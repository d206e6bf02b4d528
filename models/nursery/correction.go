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

// Correct corrects what was said of the cut of a batch, or an entry about it. What it
// said before is kept in the correction. A cut that becomes larger, or is of another
// day or stand, is judged as a new one.
func (n *Nursery) Correct(ctx context.Context, o Once, code string, req models.NewCorrection) (models.BatchView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.BatchView, error) {
		unlisted, err := now.settle(req.PersonFields())
		if err != nil {
			return models.BatchView{}, err
		}
		now.change.made(code)
		if req.Entry != 0 {
			return n.correctEntry(tx, now, code, req, unlisted)
		}
		stand := ""
		if req.Changes.Stand.IsSet() {
			stand = req.Changes.Stand.Value
		}
		c, err := n.holdCut(tx, now, code, stand, req.Changes.CollectedOn.Value)
		if err != nil {
			return models.BatchView{}, err
		}
		if err := guardLooked(c.record, req.Version); err != nil {
			return models.BatchView{}, err
		}
		if c.record.SplitFromID != nil {
			return c.correctSister(req, unlisted)
		}
		return c.correct(req, unlisted)
	})
}

// guardLooked holds the version of a batch that was looked at against the one that is
// there, where it was given.
func guardLooked(r *models.BatchRecord, version int) error {
	if version == 0 {
		return nil
	}
	return guard(r.Code, version, r.Version)
}

// correctEntry corrects an entry about a batch, or takes it out.
func (n *Nursery) correctEntry(tx *store.Tx, now moment, code string, req models.NewCorrection, unlisted []string) (models.BatchView, error) {
	none := models.BatchView{}
	record, err := findBatch(tx, code)
	if err != nil {
		return none, err
	}
	if err := guardLooked(record, req.Version); err != nil {
		return none, err
	}
	if err := lendModel(tx, record, now.today); err != nil {
		return none, err
	}
	c, err := rules.CorrectEntry(record, req, now.today)
	if err != nil {
		return none, err
	}
	correction := n.correctionOf(now, record, req.Why, req.By)
	correction.Subject, correction.SubjectID, correction.AboutEntry, correction.Void = c.Subject, c.ID, req.Entry, req.Void
	correction.Before, correction.After = c.Before, c.After
	if c.Move != nil {
		if err := n.postSoaks(tx, now, c.With); err != nil {
			return none, err
		}
	}
	if err := writeEntry(tx, &c, req.Void); err != nil {
		return none, err
	}
	if err := tx.AddCorrection(correction); err != nil {
		return none, err
	}
	c.With.Corrections = append(slices.Clone(c.With.Corrections), correction)
	return touch(tx, now, c.With, append(c.Warnings, unlisted...))
}

// writeEntry writes a corrected entry in place of what it said, or notes that it never
// was.
func writeEntry(tx *store.Tx, c *rules.EntryCorrection, void bool) error {
	switch {
	case void:
		return tx.VoidEntry(c.Subject, c.ID)
	case c.Sticking != nil:
		return tx.EditSticking(*c.Sticking)
	case c.Move != nil:
		return tx.EditMove(*c.Move)
	case c.Check != nil:
		return tx.EditCheck(*c.Check)
	case c.Potting != nil:
		return tx.EditPotting(*c.Potting)
	case c.Decision != nil:
		return tx.EditDecision(*c.Decision)
	}
	return fmt.Errorf("write a corrected %s: there is none", c.Subject)
}

// correctionOf begins the correction of something about a batch; its subject and what
// it changes are left to the caller.
func (n *Nursery) correctionOf(now moment, r *models.BatchRecord, why, by string) models.Correction {
	return models.Correction{
		ID: n.newID(), StandID: r.StandID, BatchID: &r.ID, Subject: models.OfBatch, SubjectID: r.ID,
		Why: models.Clean(why), CorrectedBy: models.Clean(by), Entry: r.Version + 1, EnteredAt: now.at,
	}
}

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

// correct corrects the cut of the batch that holds the stems.
func (c *heldCut) correct(req models.NewCorrection, unlisted []string) (models.BatchView, error) {
	none := models.BatchView{}
	was := c.record.Batch
	c.takeOut()
	made, err := rules.CorrectCut(c.record, c.from, c.to, req, c.now.today)
	if err != nil {
		return none, err
	}
	twins, err := c.tagAndTwins(&made)
	if err != nil {
		return none, err
	}
	correction := c.n.correctionOf(c.now, c.record, req.Why, req.By)
	correction.Before, correction.After = made.Before, made.After
	ledger := c.ledger(&made.Batch, models.Corrected, &correction)
	replaced := c.parentsAnew(&made)
	rules.Take(c.to, &made.Batch, made.Parents)
	sisters, err := c.follow(&was, &made.Batch, &correction)
	if err != nil {
		return none, err
	}
	numbers, err := c.renumber(&was, &made.Batch, sisters)
	if err != nil {
		return none, err
	}
	warnings := slices.Concat(made.Warnings, c.plantWarnings(&made), twins, unlisted)
	if len(ledger) > 0 {
		warnings = append(warnings, c.warnings()...)
	}
	if len(ledger) > 0 && (c.from != c.to || !made.Batch.OverLimit) {
		warnings = append(warnings, c.rest...)
	}
	if err := c.post(&was, &correction); err != nil {
		return none, err
	}
	for _, write := range []func() error{numbers, replaced, func() error { return c.writeRest(&made.Batch) },
		func() error { return c.tx.AddLedgerEntries(ledger) }, func() error { return c.writeSisters(sisters) }} {
		if err := write(); err != nil {
			return none, err
		}
	}
	return c.show(c.record, correction, warnings)
}

// tagAndTwins looks at the tag of a corrected batch, and warns of one like it, among
// the batches of the stand and day it is of now.
func (c *heldCut) tagAndTwins(made *rules.CutCorrection) ([]string, error) {
	others, err := c.tx.BatchesOn([]string{c.to.ID}, []models.Date{made.Batch.CollectedOn})
	if err != nil {
		return nil, err
	}
	others = slices.DeleteFunc(others, func(b models.Batch) bool { return b.ID == made.Batch.ID })
	if err := rules.CheckTag(&made.Batch, others, nil); err != nil {
		return nil, err
	}
	for _, name := range []string{"stand", "collected_on", "stems_cut", "collected_by"} {
		if _, changed := made.After[name]; changed {
			return rules.SameCut(&made.Batch, others), nil
		}
	}
	return nil, nil
}

// plantWarnings are what to look at again in the tagged plants of a batch where they are
// others now.
func (c *heldCut) plantWarnings(made *rules.CutCorrection) []string {
	if _, changed := made.After["parents"]; !changed {
		return nil
	}
	return rules.ParentWarnings(&c.record.Taxon, made.Parents, &c.now.Thresholds)
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

// parentsAnew writes the tagged plants of a batch anew where they, its day or its stand
// changed.
func (c *heldCut) parentsAnew(made *rules.CutCorrection) func() error {
	b := &made.Batch
	same := b.StandID == c.record.StandID && b.CollectedOn == c.record.CollectedOn && slices.Equal(made.Parents, c.record.Parents)
	c.record.Parents = made.Parents
	var tallies []models.ParentTally
	for _, p := range made.Parents {
		tallies = append(tallies, models.ParentTally{
			ID: c.n.newID(), BatchID: b.ID, StandID: b.StandID, TakenOn: b.CollectedOn,
			TagKey: models.NameKey(p.Tag), Parent: p, EnteredAt: c.now.at,
		})
	}
	return func() error {
		if same {
			return nil
		}
		if err := c.tx.ReplaceParents(b.ID, c.now.at); err != nil {
			return err
		}
		return c.tx.AddParents(tallies)
	}
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

// correctSister corrects a batch that was split off, and the split that made it.
func (c *heldCut) correctSister(req models.NewCorrection, unlisted []string) (models.BatchView, error) {
	none := models.BatchView{}
	of := c.memberOf(*c.record.SplitFromID)
	made, split, err := rules.CorrectSister(c.record, of, req, c.now.today)
	if err != nil {
		return none, err
	}
	correction := c.n.correctionOf(c.now, c.record, req.Why, req.By)
	correction.Before, correction.After = made.Before, made.After
	was := c.record.Cuttings
	c.record.Batch = made.Batch
	if made.Batch.Cuttings != was {
		if err := c.recount(of, split, was, &correction); err != nil {
			return none, err
		}
	}
	return c.show(c.record, correction, append(made.Warnings, unlisted...))
}

// recount writes the right number of a split, and tells of it at the batch that was
// split.
func (c *heldCut) recount(of *models.BatchRecord, split models.Split, was int, by *models.Correction) error {
	correction := c.n.correctionOf(c.now, of, by.Why, by.CorrectedBy)
	correction.Subject, correction.SubjectID, correction.AboutEntry = models.OfSplit, split.ID, split.Entry
	correction.Before, correction.After = map[string]any{"count": was}, map[string]any{"count": split.Count}
	for i := range of.Splits {
		if of.Splits[i].ID == split.ID {
			of.Splits[i].Count = split.Count
		}
	}
	if err := c.tx.CountSplit(split.ID, split.Count); err != nil {
		return err
	}
	if err := c.tx.AddCorrection(correction); err != nil {
		return err
	}
	return c.edit(of)
}

// memberOf is the batch of an identifier among those of the harvest.
func (c *heldCut) memberOf(id string) *models.BatchRecord {
	i := slices.IndexFunc(c.family, func(m *models.BatchRecord) bool { return m.ID == id })
	return c.family[i]
}

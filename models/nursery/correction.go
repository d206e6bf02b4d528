package nursery

import (
	"context"
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

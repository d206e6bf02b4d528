package nursery

import (
	"context"
	"slices"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// VoidBatch makes a batch one that never was, with all that were split off it. Its
// stems are given back to the stand; a sister's cuttings to the batch she was split
// off. What was entered about it stays, and is told.
func (n *Nursery) VoidBatch(ctx context.Context, o Once, code string, req models.NewVoid) (models.BatchView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.BatchView, error) {
		none := models.BatchView{}
		unlisted, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		c, err := n.holdCut(tx, now, code, "", models.Date{})
		if err != nil {
			return none, err
		}
		if err := rules.CheckVoid(c.record, req); err != nil {
			return none, err
		}
		now.change.made(c.record.Code)
		return c.void(req, unlisted)
	})
}

func (c *heldCut) void(req models.NewVoid, unlisted []string) (models.BatchView, error) {
	none := models.BatchView{}
	gone := slices.DeleteFunc(rules.SplitOff(c.family, c.record), func(m *models.BatchRecord) bool { return m.Void })
	warnings := rules.VoidWarnings(gone)
	correction := c.n.correctionOf(c.now, c.record, req.Why, req.By)
	ledger := c.ledger(nil, models.Voided, &correction)
	if c.record.SplitFromID == nil {
		c.takeOut()
	}
	warnings = slices.Concat(warnings, c.rest, c.warnings(), unlisted)
	if err := c.tx.AddLedgerEntries(ledger); err != nil {
		return none, err
	}
	if c.record.SplitFromID != nil {
		if err := c.unsplit(&correction); err != nil {
			return none, err
		}
	}
	for _, m := range gone {
		if err := c.voidOne(m, &correction); err != nil {
			return none, err
		}
	}
	return batchView(c.record, c.now, warnings)
}

// voidOne writes of one batch that it never was.
func (c *heldCut) voidOne(m *models.BatchRecord, by *models.Correction) error {
	correction := *by
	if m != c.record {
		correction = c.n.correctionOf(c.now, m, by.Why, by.CorrectedBy)
	}
	before, err := rules.VoidBatch(m)
	if err != nil {
		return err
	}
	correction.Void, correction.Before, correction.After = true, before, map[string]any{}
	if err := c.tx.AddCorrection(correction); err != nil {
		return err
	}
	if err := c.tx.ReplaceParents(m.ID, c.now.at); err != nil {
		return err
	}
	if err := c.edit(m); err != nil {
		return err
	}
	m.Version++
	m.Corrections = append(slices.Clone(m.Corrections), correction)
	return nil
}

// unsplit gives the cuttings of a sister back to the batch she was split off, and takes
// out the decision that lifted them.
func (c *heldCut) unsplit(by *models.Correction) error {
	of := c.memberOf(*c.record.SplitFromID)
	without, split, decision, err := rules.Unsplit(of, c.record.ID)
	if err != nil {
		return err
	}
	correction := c.n.correctionOf(c.now, of, by.Why, by.CorrectedBy)
	correction.Subject, correction.SubjectID, correction.Void = models.OfSplit, split.ID, true
	correction.AboutEntry = split.Entry
	correction.Before, correction.After = map[string]any{"sister": c.record.Code, "count": split.Count, "on": split.SplitOn.String()}, map[string]any{}
	if err := c.tx.VoidEntry(models.OfSplit, split.ID); err != nil {
		return err
	}
	if decision != "" {
		if err := c.tx.VoidEntry(models.OfDecision, decision); err != nil {
			return err
		}
	}
	if err := c.tx.AddCorrection(correction); err != nil {
		return err
	}
	return c.edit(without)
}

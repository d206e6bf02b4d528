package nursery

import (
	"context"
	"slices"

	"withybed/models"
	"withybed/models/documents"
	"withybed/models/rules"
	"withybed/models/store"
)

// Determine names a batch anew, with all that are of one harvest with it. The stand
// keeps its taxon, and the stems that count against it. Where the batch turns out to be
// of the wrong plant, leads and coordinators are told at once.
func (n *Nursery) Determine(ctx context.Context, o Once, code string, req models.NewDetermination) (models.BatchView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.BatchView, error) {
		none := models.BatchView{}
		unlisted, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		taxon, err := namedTaxon(tx, req.Taxon)
		if err != nil {
			return none, err
		}
		c, err := n.holdCut(tx, now, code, "", models.Date{})
		if err != nil {
			return none, err
		}
		now.change.made(c.record.Code)
		return c.determine(req, taxon, unlisted)
	})
}

func (c *heldCut) determine(req models.NewDetermination, taxon models.Taxon, unlisted []string) (models.BatchView, error) {
	none := models.BatchView{}
	first := c.memberOf(c.record.HarvestID)
	named, warnings, err := rules.Determine(first, req, taxon, c.from, c.now.today)
	if err != nil {
		return none, err
	}
	if err := c.postWrongSpecies(first, &named); err != nil {
		return none, err
	}
	for _, m := range c.family {
		if m.Void {
			continue
		}
		d := named
		d.ID, d.BatchID, d.BeforeID, d.Before = c.n.newID(), m.ID, m.TaxonID, m.Taxon.ScientificName
		d.Entry, d.EnteredAt = m.Version+1, c.now.at
		rules.Name(m, d, req.Identification, taxon)
		if err := c.tx.AddDetermination(d); err != nil {
			return none, err
		}
		if err := c.edit(m); err != nil {
			return none, err
		}
		m.Version++
	}
	return batchView(c.record, c.now, append(warnings, unlisted...))
}

// postWrongSpecies tells leads and coordinators of a batch that turns out to be of
// another taxon than its stand.
func (c *heldCut) postWrongSpecies(r *models.BatchRecord, d *models.Determination) error {
	if !rules.WrongSpecies(d, c.from) || d.TaxonID == d.BeforeID {
		return nil
	}
	people, err := c.now.people()
	if err != nil {
		return err
	}
	told := *d
	people.Veil(told.PersonFields())
	codes := []string{}
	for _, m := range c.family {
		if !m.Void {
			codes = append(codes, m.Code)
		}
	}
	return c.n.post(c.tx, c.now, occasion{
		name: "wrong species " + r.ID + " " + d.TaxonID, lists: []models.MailList{models.BenchMail, models.StandMail},
		tell: func(lists []models.MailList) documents.Message {
			return documents.WrongSpeciesLetter(c.now.Name, slices.Clone(codes), c.from.Code, c.from.Taxon.ScientificName, &told, lists)
		},
	})
}

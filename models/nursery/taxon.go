package nursery

import (
	"context"
	"errors"
	"fmt"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// AddTaxon adds a taxon. A name that is there already is a conflict.
func (n *Nursery) AddTaxon(ctx context.Context, o Once, req models.NewTaxon) (models.Taxon, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.Taxon, error) {
		taxon, err := rules.EnterTaxon(req)
		if err != nil {
			return taxon, err
		}
		taxon.ID, taxon.EnteredAt = n.newID(), now.at
		now.change.made(taxon.ScientificName)
		err = tx.AddTaxon(taxon)
		if store.IsDuplicate(err, "taxa_name_key") {
			return taxon, models.Errorf(models.Conflict, "taken", "the taxon %s is there already", taxon.ScientificName)
		}
		return taxon, err
	})
}

// Taxa lists the taxa by name.
func (n *Nursery) Taxa(ctx context.Context, page models.Page) (models.List[models.Taxon], error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.List[models.Taxon], error) {
		return tx.Taxa(page)
	})
}

// Taxon shows a taxon by its scientific name.
func (n *Nursery) Taxon(ctx context.Context, name string) (models.Taxon, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.Taxon, error) {
		return findTaxon(tx, name)
	})
}

// EditTaxon changes a taxon by a merge patch. It holds every stand of the taxon
// meanwhile, since their allowance reads whether it is protected, and tells of the crew
// shares there that no longer fit.
func (n *Nursery) EditTaxon(ctx context.Context, name string, version int, edit models.TaxonEdit) (models.Taxon, error) {
	return write(ctx, n, func(tx *store.Tx, now moment) (models.Taxon, error) {
		found, err := findTaxon(tx, name)
		if err != nil {
			return found, err
		}
		if err := tx.LockStandsOfTaxon(found.ID); err != nil {
			return found, err
		}
		if err := guard(found.ScientificName, version, found.Version); err != nil {
			return found, err
		}
		taxon, err := rules.EditTaxon(found, edit)
		if err != nil {
			return taxon, err
		}
		if err := now.change.tell(edit); err != nil {
			return taxon, err
		}
		codes, err := tx.StandsHolding(taxon.ID)
		if err != nil {
			return taxon, err
		}
		records, err := holding(tx, now, codes)
		if err != nil {
			return taxon, err
		}
		entry := fmt.Sprintf("%s version-%d", taxon.ID, taxon.Version+1)
		if _, err := n.restrict(tx, now, entry, func(r *models.StandRecord) { r.Taxon = taxon }, records...); err != nil {
			return taxon, err
		}
		if err := tx.EditTaxon(taxon); err != nil {
			return taxon, err
		}
		taxon.Version++
		return taxon, nil
	})
}

// holding reads stands at which something is set aside for a crew, as far as it is asked
// whether they can bear it still.
func holding(tx *store.Tx, now moment, codes []string) ([]*models.StandRecord, error) {
	records, err := tx.StandRecords(codes, now.today)
	now.release(records...)
	return records, err
}

// findTaxon finds the taxon of a path by name, and suggests near ones if there is none.
func findTaxon(tx *store.Tx, name string) (models.Taxon, error) {
	taxon, near, err := lookUpTaxon(tx, name)
	if errors.Is(err, store.ErrNoRow) {
		missing := models.Errorf(models.NotFound, "no-such-taxon", "there is no taxon %q: add it first, or check the spelling", name)
		missing.Suggestions = near
		return taxon, missing
	}
	return taxon, err
}

// namedTaxon finds the taxon that a request names.
func namedTaxon(tx *store.Tx, name string) (models.Taxon, error) {
	taxon, near, err := lookUpTaxon(tx, name)
	if errors.Is(err, store.ErrNoRow) {
		return taxon, models.UnknownName("unknown-taxon", "taxon", "taxon", name, near)
	}
	return taxon, err
}

// lookUpTaxon reads a taxon, or ErrNoRow with the names that are near.
func lookUpTaxon(tx *store.Tx, name string) (models.Taxon, []string, error) {
	taxon, err := tx.TaxonByName(models.NameKey(name))
	if !errors.Is(err, store.ErrNoRow) {
		return taxon, nil, err
	}
	names, listErr := tx.TaxonNames()
	if listErr != nil {
		return taxon, nil, listErr
	}
	return taxon, rules.Near(name, names), err
}

package store

import "withybed/models"

// mostNames bounds the names read for suggestions.
const mostNames = 2000

// AddTaxon writes a taxon. A name that is taken is a Duplicate of taxa_name_key.
func (tx *Tx) AddTaxon(t models.Taxon) error {
	return tx.add("add taxon "+t.ScientificName, "taxa", &t)
}

// TaxonByName is the taxon with a name as models.NameKey makes it, or ErrNoRow.
func (tx *Tx) TaxonByName(nameKey string) (models.Taxon, error) {
	return take[models.Taxon]("read taxon "+nameKey, tx.db.Table("taxa").Where("name_key = ?", nameKey))
}

// Taxa lists taxa by name.
func (tx *Tx) Taxa(page models.Page) (models.List[models.Taxon], error) {
	after, going, err := oneKey("taxa", page)
	if err != nil {
		return models.List[models.Taxon]{}, err
	}
	query := tx.db.Table("taxa").Order("name_key").Limit(page.Size() + 1)
	if going {
		query = query.Where("name_key > ?", after)
	}
	rows, err := find[models.Taxon]("list taxa", query)
	return pageOf(rows, page, func(t models.Taxon) string { return cursorOf("taxa", t.NameKey) }), err
}

// EditTaxon writes everything of a taxon but its name; its Version is the one
// that was read, and is counted up. It is ErrStale if it was edited meanwhile.
func (tx *Tx) EditTaxon(t models.Taxon) error {
	return tx.edit("edit taxon "+t.ScientificName,
		`UPDATE taxa SET common_name = ?, family = ?, dioecious = ?, protected = ?, slow_to_root = ?,
			identity_marks = ?, soak_days = ?, version = version + 1 WHERE id = ? AND version = ?`,
		t.CommonName, t.Family, t.Dioecious, t.Protected, t.SlowToRoot, t.IdentityMarks, t.SoakDays, t.ID, t.Version)
}

// TaxonNames are scientific names, at most 2,000, to suggest one from.
func (tx *Tx) TaxonNames() ([]string, error) {
	names := []string{}
	err := tx.db.Table("taxa").Order("name_key").Limit(mostNames).Pluck("scientific_name", &names).Error
	return names, explain("read the names of taxa", err)
}

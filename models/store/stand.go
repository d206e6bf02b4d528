package store

import (
	"iter"

	"gorm.io/gorm"

	"withybed/models"
)

// mostCodes bounds the codes of stands read for suggestions.
const mostCodes = 5000

// AddStand writes a stand. A code that is taken is a Duplicate of stands_code_key.
func (tx *Tx) AddStand(s models.Stand) error { return tx.add("add stand "+s.Code, "stands", &s) }

// AddRule writes a version of a stand's harvest rule.
func (tx *Tx) AddRule(r models.RuleVersion) error {
	return tx.add("add a rule of stand "+r.StandID, "harvest_rules", &r)
}

// AddClosures writes a version of a stand's closures, which may be none.
func (tx *Tx) AddClosures(c models.ClosureVersion) error {
	if c.Closures == nil {
		c.Closures = []models.Closure{}
	}
	return tx.add("add closures of stand "+c.StandID, "closure_versions", &c)
}

// EditStand writes everything of a stand but its code and taxon; its Version is
// the one that was read, and is counted up. It is ErrStale if it was edited
// meanwhile.
func (tx *Tx) EditStand(s models.Stand) error {
	return tx.edit("edit stand "+s.Code,
		`UPDATE stands SET name = ?, place = ?, locality = ?, land_manager = ?, latitude = ?, longitude = ?,
			coordinate_uncertainty_m = ?, sensitivity = ?, permit_required = ?, permit_reason = ?, protected_place = ?,
			gathering_place_of = ?, version = version + 1 WHERE id = ? AND version = ?`,
		s.Name, s.Place, s.Locality, s.LandManager, s.Latitude, s.Longitude,
		s.CoordinateUncertaintyM, s.Sensitivity, s.PermitRequired, s.PermitReason, s.ProtectedPlace,
		s.GatheringPlaceOf, s.ID, s.Version)
}

// StandCodes are codes of stands, at most 5,000, to suggest one from.
func (tx *Tx) StandCodes() ([]string, error) {
	codes := []string{}
	err := tx.db.Table("stands").Order("code_key").Limit(mostCodes).Pluck("code", &codes).Error
	return codes, explain("read the codes of stands", err)
}

// Stand is a stand alone, without what belongs to it, or ErrNoRow. In a write it
// is held until the transaction ends.
func (tx *Tx) Stand(codeKey string) (models.Stand, error) {
	const named = "code_key = ?"
	op := "read stand " + codeKey
	if err := tx.lockRows(op, "stands", named, codeKey); err != nil {
		return models.Stand{}, err
	}
	return take[models.Stand](op, tx.db.Table("stands").Where(named, codeKey))
}

// StandRecord is a stand with everything the harvest rules read of it, or
// ErrNoRow. In a write the stand is held until the transaction ends. The ledger
// is read for every window that ends on from or later, and not at all if from is
// no day; looks for nests too, while of rests and salvages all are read then. Surveys
// come without the counts of their plots and clumps.
func (tx *Tx) StandRecord(codeKey string, from models.Date) (*models.StandRecord, error) {
	records, err := tx.StandRecords([]string{codeKey}, from)
	if err != nil {
		return nil, err
	}
	if len(records) == 0 {
		return nil, explain("read stand "+codeKey, ErrNoRow)
	}
	return records[0], nil
}

// StandRecords are several stands as StandRecord reads them, in order of id,
// which is also the order they are held in. Missing ones are left out.
func (tx *Tx) StandRecords(codeKeys []string, from models.Date) ([]*models.StandRecord, error) {
	if len(codeKeys) == 0 {
		return nil, nil
	}
	const named = "code_key IN (?)"
	if err := tx.lockRows("lock stands", "stands", named, codeKeys); err != nil {
		return nil, err
	}
	rows, err := find[models.Stand]("read stands", tx.db.Table("stands").Where(named, codeKeys).Order("id"))
	if err != nil {
		return nil, err
	}
	if err := tx.lockPermitsOf(idsOf(rows)); err != nil {
		return nil, err
	}
	return tx.fillStands(rows, from)
}

func idsOf(stands []models.Stand) []string {
	ids := make([]string, len(stands))
	for i := range stands {
		ids[i] = stands[i].ID
	}
	return ids
}

// LockStandsOfTaxon holds the stands of a taxon until the transaction ends.
func (tx *Tx) LockStandsOfTaxon(taxonID string) error {
	return tx.lockRows("lock the stands of taxon "+taxonID, "stands", "taxon_id = ?", taxonID)
}

// AllStandRecords lists the stands of a filter by code, as StandRecord reads
// them; it holds none.
func (tx *Tx) AllStandRecords(f models.StandFilter, page models.Page, from models.Date) (models.List[*models.StandRecord], error) {
	none := models.List[*models.StandRecord]{}
	query, err := tx.filteredStands(f)
	if err != nil {
		return none, err
	}
	query = tx.entered("stands", query)
	after, going, err := oneKey("stands", page)
	if err != nil {
		return none, err
	}
	if going {
		query = query.Where("code_key > ?", after)
	}
	rows, err := find[models.Stand]("list stands", query.Order("code_key").Limit(page.Size()+1))
	if err != nil {
		return none, err
	}
	list := pageOf(rows, page, func(s models.Stand) string { return cursorOf("stands", s.CodeKey) })
	records, err := tx.fillStands(list.Items, from)
	return models.List[*models.StandRecord]{Items: records, Next: list.Next}, err
}

// EveryStandRecord goes through all stands by code, reading 200 at a time. It
// ends after an error.
func (tx *Tx) EveryStandRecord(from models.Date) iter.Seq2[*models.StandRecord, error] {
	return tx.EachStandRecord(models.StandFilter{}, from)
}

// EachStandRecord goes through the stands of a filter as EveryStandRecord does.
func (tx *Tx) EachStandRecord(f models.StandFilter, from models.Date) iter.Seq2[*models.StandRecord, error] {
	return func(yield func(*models.StandRecord, error) bool) {
		page := models.Page{Limit: models.MaxPage}
		for {
			list, err := tx.AllStandRecords(f, page, from)
			if err != nil {
				yield(nil, err)
				return
			}
			for _, record := range list.Items {
				if !yield(record, nil) {
					return
				}
			}
			if list.Next == "" {
				return
			}
			page.After = list.Next
		}
	}
}

func (tx *Tx) filteredStands(f models.StandFilter) (*gorm.DB, error) {
	query := tx.db.Table("stands")
	if f.TaxonID != "" {
		query = query.Where("taxon_id = ?", f.TaxonID)
	}
	for column, name := range map[string]string{"place": f.Place, "land_manager": f.LandManager} {
		if name == "" {
			continue
		}
		spelt, err := tx.spellings(column, name)
		if err != nil {
			return nil, err
		}
		query = query.Where(column+" IN (?)", spelt)
	}
	return query, nil
}

// ManagesLand says whether a stand names someone as its land manager, compared
// without case.
func (tx *Tx) ManagesLand(landManager string) (bool, error) {
	spelt, err := tx.spellings("land_manager", landManager)
	return len(spelt) > 0, err
}

// spellings are what a column of the stands holds that differs from a name in
// case and spaces only. They are compared here: the databases fold the case of
// ASCII letters only.
func (tx *Tx) spellings(column, name string) ([]string, error) {
	var all, same []string
	err := tx.db.Table("stands").Distinct(column).Pluck(column, &all).Error
	for _, text := range all {
		if models.NameKey(text) == models.NameKey(name) {
			same = append(same, text)
		}
	}
	return same, explain("read the spellings of "+column, err)
}

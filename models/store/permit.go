package store

import (
	"slices"
	"time"

	"gorm.io/gorm"

	"withybed/models"
)

// permitStand says that a permit covers a stand, from one of its versions on and
// until it ended.
type permitStand struct {
	PermitID  string
	StandID   string
	Version   int
	EnteredAt time.Time
	EndedAt   *time.Time
}

// covering are the stands that permits cover, or covered at the instant asked about.
func (tx *Tx) covering() *gorm.DB {
	query := tx.entered("permit_stands", tx.db.Table("permit_stands"))
	if tx.known.IsZero() {
		return query.Where("permit_stands.ended_at IS NULL")
	}
	return query.Where("permit_stands.ended_at IS NULL OR permit_stands.ended_at > ?", tx.known)
}

// permits reads permits by id, with the stands they cover and what is drawn on them.
func (tx *Tx) permits(ids []string) ([]models.Permit, error) {
	permits, err := find[models.Permit]("read permits", tx.entered("permits", tx.db.Table("permits").Where("id IN (?)", ids)).Order("valid_from, id"))
	if err != nil {
		return nil, err
	}
	return permits, tx.fillCovered(permits)
}

// fillCovered reads which stands permits cover, and sums what batches drew on them. It
// also puts back the terms of the instant asked about.
func (tx *Tx) fillCovered(permits []models.Permit) error {
	if len(permits) == 0 {
		return nil
	}
	byID, ids := make(map[string]*models.Permit, len(permits)), make([]string, len(permits))
	for i := range permits {
		p := &permits[i]
		byID[p.ID], ids[i] = p, p.ID
		if !tx.known.IsZero() {
			p.PermitTerms = p.TermsAt(tx.known)
		}
	}
	covers, err := find[permitStand]("read what permits cover", tx.covering().Where("permit_id IN (?)", ids).Order("permit_id, stand_id"))
	if err != nil {
		return err
	}
	for _, c := range covers {
		p := byID[c.PermitID]
		p.StandIDs = append(p.StandIDs, c.StandID)
	}
	type drawn struct {
		PermitID string
		Drawn    models.Decimal
	}
	sums, err := find[drawn]("sum what is drawn on permits", tx.entered("batches", tx.db.Table("batches").
		Select("permit_id, SUM(permit_quantity) AS drawn").Where("permit_id IN (?) AND NOT void", ids)).Group("permit_id"))
	for _, s := range sums {
		byID[s.PermitID].Drawn = s.Drawn
	}
	return err
}

// lockPermitsOf holds the permits that cover stands, which are held already.
func (tx *Tx) lockPermitsOf(standIDs []string) error {
	return tx.lockRows("lock the permits of stands", "permits",
		"id IN (SELECT permit_id FROM permit_stands WHERE stand_id IN (?) AND ended_at IS NULL)", standIDs)
}

// AddPermit writes a permit with the stands it covers. A number that is taken is a
// Duplicate of permits_number_key.
func (tx *Tx) AddPermit(p models.Permit) error {
	p = withLists(p)
	if err := tx.add("add permit "+p.Number, "permits", &p); err != nil {
		return err
	}
	return tx.cover(p, p.StandIDs, p.EnteredAt)
}

// withLists is a permit whose lists are kept as lists where they are empty too.
func withLists(p models.Permit) models.Permit {
	for _, list := range []*[]string{&p.Taxa, &p.People} {
		if *list == nil {
			*list = []string{}
		}
	}
	if p.Earlier == nil {
		p.Earlier = []models.EarlierTerms{}
	}
	return p
}

// cover notes that a permit covers stands from now on.
func (tx *Tx) cover(p models.Permit, standIDs []string, at time.Time) error {
	covers := make([]permitStand, len(standIDs))
	for i, id := range standIDs {
		covers[i] = permitStand{PermitID: p.ID, StandID: id, Version: p.Version, EnteredAt: at}
	}
	return addAll(tx, "cover stands by permit "+p.Number, "permit_stands", covers)
}

// EditPermit writes the terms of a permit, those before them, and which stands it
// covers, from an instant on. Its Version is the one that was read, and is counted up.
// It is ErrStale if it was edited meanwhile.
func (tx *Tx) EditPermit(p models.Permit, covered []string, at time.Time) error {
	op, read := "edit permit "+p.Number, p.Version
	p = withLists(p)
	p.Version++
	done := tx.db.Table("permits").Where("id = ? AND version = ?", p.ID, read).
		Select("*").Omit("id", "number", "number_key", "entered_by", "entered_at").Updates(&p)
	if err := changedOne(op, done); err != nil {
		return err
	}
	gone, more := without(covered, p.StandIDs), without(p.StandIDs, covered)
	if len(gone) > 0 {
		err := tx.db.Exec("UPDATE permit_stands SET ended_at = ? WHERE permit_id = ? AND stand_id IN (?) AND ended_at IS NULL", at, p.ID, gone).Error
		if err != nil {
			return explain(op, err)
		}
	}
	return tx.cover(p, more, at)
}

// without are the ids of a list that are not in another.
func without(ids, others []string) []string {
	return slices.DeleteFunc(slices.Clone(ids), func(id string) bool { return slices.Contains(others, id) })
}

// Permit is the permit with a number as models.NameKey makes it, or ErrNoRow. It is
// not held: HoldPermit does, once the stands that it covers are held.
func (tx *Tx) Permit(numberKey string) (models.Permit, error) {
	p, err := take[models.Permit]("read permit "+numberKey, tx.db.Table("permits").Where("number_key = ?", numberKey))
	if err != nil {
		return p, err
	}
	one := []models.Permit{p}
	err = tx.fillCovered(one)
	return one[0], err
}

// HoldPermit holds a permit until the transaction ends. The stands it covers are held
// before it.
func (tx *Tx) HoldPermit(id string) error {
	return tx.lockRows("lock permit "+id, "permits", "id = ?", id)
}

// HoldStands holds stands, named by id or by code, until the transaction ends.
func (tx *Tx) HoldStands(ids, codeKeys []string) error {
	return tx.lockRows("lock stands", "stands", "id IN (?) OR code_key IN (?)", ids, codeKeys)
}

// Permits lists the permits of a filter by number.
func (tx *Tx) Permits(f models.PermitFilter, page models.Page) (models.List[models.Permit], error) {
	none := models.List[models.Permit]{}
	query, err := tx.filteredPermits(f)
	if err != nil {
		return none, err
	}
	after, going, err := oneKey("permits", page)
	if err != nil {
		return none, err
	}
	if going {
		query = query.Where("number_key > ?", after)
	}
	rows, err := find[models.Permit]("list permits", query.Order("number_key").Limit(page.Size()+1))
	if err != nil {
		return none, err
	}
	list := pageOf(rows, page, func(p models.Permit) string { return cursorOf("permits", p.NumberKey) })
	return list, tx.fillCovered(list.Items)
}

func (tx *Tx) filteredPermits(f models.PermitFilter) (*gorm.DB, error) {
	query := tx.db.Table("permits")
	if !f.On.IsZero() {
		query = query.Where("valid_from <= ? AND (valid_to IS NULL OR valid_to >= ?)", f.On, f.On)
	}
	if f.StandID != "" {
		query = query.Where("id IN (?)", tx.covering().Select("permit_id").Where("stand_id = ?", f.StandID))
	}
	if f.LandManager != "" {
		spelt, err := tx.spellings("land_manager", f.LandManager)
		if err != nil {
			return nil, err
		}
		query = query.Where("id IN (?)", tx.covering().Select("permit_id").
			Where("stand_id IN (?)", tx.db.Table("stands").Select("id").Where("land_manager IN (?)", spelt)))
	}
	return query, nil
}

// PermitsEnding are the permits that end within days, both included, the soonest
// first.
func (tx *Tx) PermitsEnding(from, to models.Date) ([]models.Permit, error) {
	permits, err := find[models.Permit]("read the permits that end",
		tx.db.Table("permits").Where("valid_to BETWEEN ? AND ?", from, to).Order("valid_to, id"))
	if err != nil {
		return nil, err
	}
	return permits, tx.fillCovered(permits)
}

// PermitNumbers are numbers of permits, at most 2,000, to suggest one from.
func (tx *Tx) PermitNumbers() ([]string, error) {
	numbers := []string{}
	err := tx.db.Table("permits").Order("number_key").Limit(mostNames).Pluck("number", &numbers).Error
	return numbers, explain("read the numbers of permits", err)
}

// CoveredStands are stands, named by id or by code, as far as permits read them, by
// code.
func (tx *Tx) CoveredStands(ids, codeKeys []string) ([]models.CoveredStand, error) {
	return find[models.CoveredStand]("read the stands of permits", tx.db.Table("stands").
		Select("stands.id, stands.code, stands.code_key, stands.land_manager, stands.gathering_place_of, taxa.scientific_name AS taxon").
		Joins("JOIN taxa ON taxa.id = stands.taxon_id").
		Where("stands.id IN (?) OR stands.code_key IN (?)", ids, codeKeys).Order("stands.code_key"))
}

package store

import "withybed/models"

// permitStand says that a permit covers a stand.
type permitStand struct {
	PermitID string
	StandID  string
}

// permits reads permits by id, with the stands they cover and what is drawn on them.
func (tx *Tx) permits(ids []string) ([]models.Permit, error) {
	permits, err := find[models.Permit]("read permits", tx.entered("permits", tx.db.Table("permits").Where("id IN (?)", ids)).Order("valid_from, id"))
	if err != nil || len(permits) == 0 {
		return permits, err
	}
	byID := make(map[string]*models.Permit, len(permits))
	for i := range permits {
		byID[permits[i].ID] = &permits[i]
	}
	covers, err := find[permitStand]("read what permits cover", tx.db.Table("permit_stands").Where("permit_id IN (?)", ids).Order("permit_id, stand_id"))
	if err != nil {
		return nil, err
	}
	for _, c := range covers {
		if p := byID[c.PermitID]; p != nil {
			p.StandIDs = append(p.StandIDs, c.StandID)
		}
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
	return permits, err
}

// lockPermitsOf holds the permits that cover stands, which are held already.
func (tx *Tx) lockPermitsOf(standIDs []string) error {
	return tx.lockRows("lock the permits of stands", "permits", "id IN (SELECT permit_id FROM permit_stands WHERE stand_id IN (?))", standIDs)
}

// AddPermit writes a permit with the stands it covers. A number that is taken is a
// Duplicate of permits_number_key.
func (tx *Tx) AddPermit(p models.Permit) error {
	if err := tx.add("add permit "+p.Number, "permits", &p); err != nil {
		return err
	}
	return tx.coverStands(p)
}

func (tx *Tx) coverStands(p models.Permit) error {
	covers := make([]permitStand, len(p.StandIDs))
	for i, id := range p.StandIDs {
		covers[i] = permitStand{p.ID, id}
	}
	return addAll(tx, "cover stands by permit "+p.Number, "permit_stands", covers)
}

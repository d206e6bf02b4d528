package store

import (
	"time"

	"gorm.io/gorm"

	"withybed/models"
)

// AsKnown is the transaction for questions about what was known at an instant: of
// stands it reads only what had been entered by then.
func (tx *Tx) AsKnown(at time.Time) *Tx {
	known := *tx
	known.known = at.UTC().Truncate(time.Millisecond)
	return &known
}

// entered narrows a query to the rows of a table that were entered by the instant
// asked about.
func (tx *Tx) entered(table string, query *gorm.DB) *gorm.DB {
	if tx.known.IsZero() {
		return query
	}
	return query.Where(table+".entered_at <= ?", tx.known)
}

// standing narrows a query further, to the rows that no correction replaced or
// voided by then.
func (tx *Tx) standing(table string, query *gorm.DB) *gorm.DB {
	replaced := tx.entered("corrections", tx.db.Table("corrections").Select("1").Where("corrections.subject_id = "+table+".id"))
	return tx.entered(table, query).Where("NOT EXISTS (?)", replaced)
}

// ofKept reads the rows of stands in a table that still stand.
func ofKept[T any](tx *Tx, table string, ids []string, order string) ([]T, error) {
	return keptSince[T](tx, table, ids, order, models.Date{})
}

// keptSince is ofKept for periods, without those that ended before a day; all of them
// where it is no day.
func keptSince[T any](tx *Tx, table string, ids []string, order string, from models.Date) ([]T, error) {
	query := tx.standing(table, tx.db.Table(table).Select(columnsOf[T](tx, table)).Where(table+".stand_id IN (?)", ids))
	if !from.IsZero() {
		query = query.Where("("+table+".ends_on IS NULL OR "+table+".ends_on >= ?)", from)
	}
	return find[T]("read "+table, query.Order(table+".stand_id, "+order))
}

// fillRests reads the rests and salvages of stands, in order of day, then of entry: those
// that hold on a day or later, or all where it is no day.
func (tx *Tx) fillRests(stands field, ids []string, from models.Date) error {
	rests, err := keptSince[models.Rest](tx, "rests", ids, "starts_on, id", from)
	if err != nil {
		return err
	}
	for _, r := range rests {
		stands[r.StandID].Rests = append(stands[r.StandID].Rests, r)
	}
	salvages, err := keptSince[models.SalvagePeriod](tx, "salvages", ids, "starts_on, id", from)
	for _, s := range salvages {
		stands[s.StandID].Salvages = append(stands[s.StandID].Salvages, s)
	}
	return err
}

// fillPlaces reads what is kept of the places of stands: their closures, and the
// looks for nests there and at the stands themselves that are good on a day or later,
// none where it is no day.
func (tx *Tx) fillPlaces(records []*models.StandRecord, stands field, ids []string, from models.Date) error {
	at := map[string][]*models.StandRecord{}
	for _, r := range records {
		if key := models.NameKey(r.Place); key != "" {
			at[key] = append(at[key], r)
		}
	}
	places := make([]string, 0, len(at))
	for key := range at {
		places = append(places, key)
	}
	closures, err := find[models.PlaceClosureVersion]("read the closures of places",
		tx.entered("place_closures", tx.db.Table("place_closures").Where("place_key IN (?)", places)).Order("id"))
	if err != nil {
		return err
	}
	for _, c := range closures {
		for _, r := range at[c.PlaceKey] {
			r.PlaceClosures = append(r.PlaceClosures, c)
		}
	}
	if from.IsZero() {
		return nil
	}
	looks, err := find[models.NestLook]("read the looks for nests", tx.standing("nest_checks", tx.db.Table("nest_checks").
		Select(columnsOf[models.NestLook](tx, "nest_checks")).
		Where("(nest_checks.stand_id IN (?) OR (nest_checks.stand_id IS NULL AND nest_checks.place_key IN (?)))", ids, places).
		Where("nest_checks.checked_on >= ?", from.Add(-models.NestLookDays))).
		Order("nest_checks.checked_on, nest_checks.id"))
	for _, l := range looks {
		if l.StandID != nil {
			stands[*l.StandID].NestChecks = append(stands[*l.StandID].NestChecks, l)
			continue
		}
		for _, r := range at[l.PlaceKey] {
			r.NestChecks = append(r.NestChecks, l)
		}
	}
	return err
}

// fillShares reads the crew shares on which batches can draw, those that were used up
// too; of what was known at an instant, those of which something was set aside.
func (tx *Tx) fillShares(stands field, ids []string) error {
	type openShare struct {
		models.Share
		StemsLeft  int
		PlantsLeft int
	}
	query := tx.db.Table("crew_shares").
		Select(columnsOf[models.Share](tx, "crew_shares")+", SUM(ledger.stems) AS stems_left, SUM(ledger.parents) AS plants_left").
		Joins("JOIN ledger ON ledger.share_id = crew_shares.id").
		Where("crew_shares.stand_id IN (?)", ids)
	if tx.known.IsZero() {
		query = query.Where("crew_shares.ended_on IS NULL")
	} else {
		query = query.Where("crew_shares.entered_at <= ? AND ledger.entered_at <= ?", tx.known, tx.known).
			Having("SUM(ledger.stems) <> 0")
	}
	shares, err := find[openShare]("read the crew shares", query.Group("crew_shares.id").
		Order("crew_shares.stand_id, crew_shares.from_day, crew_shares.id"))
	for _, s := range shares {
		r := stands[s.StandID]
		r.Shares = append(r.Shares, models.OpenShare{Share: s.Share, Left: s.StemsLeft, LeftParents: s.PlantsLeft})
	}
	return err
}

// fillPermits reads the papers about cutting that cover stands, with what the
// nursery's own batches took on each.
func (tx *Tx) fillPermits(stands field, ids []string) error {
	covers, err := find[permitStand]("read what permits cover", tx.covering().Where("stand_id IN (?)", ids).Order("stand_id, permit_id"))
	if err != nil || len(covers) == 0 {
		return err
	}
	named := make([]string, len(covers))
	for i, c := range covers {
		named[i] = c.PermitID
	}
	permits, err := tx.permits(named)
	if err != nil {
		return err
	}
	byID := make(map[string]models.Permit, len(permits))
	for _, p := range permits {
		byID[p.ID] = p
	}
	for _, c := range covers {
		if p, known := byID[c.PermitID]; known {
			stands[c.StandID].Permits = append(stands[c.StandID].Permits, p)
		}
	}
	return nil
}

// fillParents reads the stems cut from tagged plants, over the days of the ledgers,
// for the stands whose surveys counted plants.
func (tx *Tx) fillParents(stands field, from models.Date) error {
	if from.IsZero() {
		return nil
	}
	var ids []string
	longest := 0
	for id, r := range stands {
		counted := false
		for i := range r.Surveys {
			_, of := r.Surveys[i].PlantsCounted()
			counted = counted || of
		}
		if counted {
			ids, longest = append(ids, id), max(longest, longestWindow(r.Rules))
		}
	}
	if len(ids) == 0 {
		return nil
	}
	type parentDay struct {
		StandID string
		models.ParentDay
	}
	query := tx.standingParents().
		Select("stand_id, taken_on, tag_key, MAX(tag) AS tag, SUM(stems) AS stems, COUNT(*) AS batches").
		Where("stand_id IN (?) AND taken_on > ?", ids, from.Add(-longest))
	days, err := find[parentDay]("read the parents cut from", query.Group("stand_id, taken_on, tag_key").Order("stand_id, taken_on, tag_key"))
	for _, d := range days {
		stands[d.StandID].Parents = append(stands[d.StandID].Parents, d.ParentDay)
	}
	return err
}

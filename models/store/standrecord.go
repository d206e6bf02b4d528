package store

import "withybed/models"

// field holds stands by id, while what belongs to them is read.
type field map[string]*models.StandRecord

// fillStands reads everything that belongs to stands, in as many queries for
// many as for one.
func (tx *Tx) fillStands(rows []models.Stand, from models.Date) ([]*models.StandRecord, error) {
	records := make([]*models.StandRecord, len(rows))
	stands := make(field, len(rows))
	ids := make([]string, len(rows))
	for i, row := range rows {
		records[i] = &models.StandRecord{Stand: row}
		stands[row.ID], ids[i] = records[i], row.ID
	}
	if len(rows) == 0 {
		return records, nil
	}
	for _, read := range []func() error{
		func() error { return tx.fillTaxa(records, ids) },
		func() error { return tx.fillRules(stands, ids) },
		func() error { return tx.fillCounts(stands, ids) },
		func() error { return tx.fillLedgers(stands, ids, from) },
		func() error { return tx.fillPlaces(records, stands, ids, from) },
		func() error { return tx.fillRests(stands, ids, from) },
		func() error { return tx.fillShares(stands, ids) },
		func() error { return tx.fillPermits(stands, ids) },
		func() error { return tx.fillParents(stands, from) },
	} {
		if err := read(); err != nil {
			return nil, err
		}
	}
	return records, nil
}

func (tx *Tx) fillTaxa(records []*models.StandRecord, ids []string) error {
	taxa, err := find[models.Taxon]("read the taxa of stands",
		tx.db.Table("taxa").Where("id IN (SELECT taxon_id FROM stands WHERE id IN (?))", ids))
	byID := make(map[string]models.Taxon, len(taxa))
	for _, t := range taxa {
		byID[t.ID] = t
	}
	for _, r := range records {
		r.Taxon = byID[r.TaxonID]
	}
	return err
}

// fillRules reads the versions of rules and closures in order of entry.
func (tx *Tx) fillRules(stands field, ids []string) error {
	rules, err := ofStands[models.RuleVersion](tx, "harvest_rules", ids, "id")
	if err != nil {
		return err
	}
	for _, r := range rules {
		stands[r.StandID].Rules = append(stands[r.StandID].Rules, r)
	}
	closures, err := ofStands[models.ClosureVersion](tx, "closure_versions", ids, "id")
	for _, c := range closures {
		stands[c.StandID].Closures = append(stands[c.StandID].Closures, c)
	}
	return err
}

// fillCounts reads surveys, without their counts, and what ended them, in order
// of day, then of entry.
func (tx *Tx) fillCounts(stands field, ids []string) error {
	surveys, err := find[placedSurvey]("read surveys", tx.standing("surveys", tx.db.Table("surveys").Omit("plots", "clumps").
		Where("stand_id IN (?)", ids)).Order("stand_id, surveyed_on, id"))
	if err != nil {
		return err
	}
	for _, s := range surveys {
		stands[s.StandID].Surveys = append(stands[s.StandID].Surveys, s.brief())
	}
	disturbances, err := ofKept[models.Disturbance](tx, "disturbances", ids, "happened_on, id")
	for _, d := range disturbances {
		stands[d.StandID].Disturbances = append(stands[d.StandID].Disturbances, d)
	}
	return err
}

func ofStands[T any](tx *Tx, table string, ids []string, order string) ([]T, error) {
	return find[T]("read "+table, tx.entered(table, tx.db.Table(table).Where("stand_id IN (?)", ids)).Order("stand_id, "+order))
}

// fillLedgers reads the days of each ledger from the longest window of its rules
// before from. One query reads them all, from the longest window of any.
func (tx *Tx) fillLedgers(stands field, ids []string, from models.Date) error {
	if from.IsZero() {
		return nil
	}
	longest := 0
	for _, r := range stands {
		longest = max(longest, longestWindow(r.Rules))
	}
	days, err := tx.ledgerDays(ids, from.Add(-longest))
	for _, day := range days {
		r := stands[day.StandID]
		if day.TakenOn.After(from.Add(-longestWindow(r.Rules))) {
			r.Ledger = append(r.Ledger, day.LedgerDay)
		}
	}
	return err
}

func longestWindow(rules []models.RuleVersion) int {
	longest := 0
	for _, r := range rules {
		longest = max(longest, r.WindowDays)
	}
	return longest
}

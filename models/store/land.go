package store

import (
	"time"

	"withybed/models"
)

// LandRecords are stands with what the page of a land manager tells of them: the entries
// of their ledgers with the days from one to another, both included, the counts and
// disturbances that count no more, and the last cleaning up to a day. They are read in
// as many queries for many as for one.
func (tx *Tx) LandRecords(stands []*models.StandRecord, from, to, today models.Date) ([]*models.LandRecord, error) {
	records, byID, ids := make([]*models.LandRecord, len(stands)), map[string]*models.LandRecord{}, make([]string, len(stands))
	for i, stand := range stands {
		records[i] = &models.LandRecord{StandRecord: stand}
		byID[stand.ID], ids[i] = records[i], stand.ID
	}
	if len(ids) == 0 {
		return records, nil
	}
	entries, err := tx.landEntries(ids, from, to)
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		r := byID[e.StandID]
		r.Entries = append(r.Entries, e)
	}
	if err := tx.fillReplaced(byID, ids); err != nil {
		return nil, err
	}
	cleanings, err := tx.LastToolCleaning(ids, today)
	for id, c := range cleanings {
		byID[id].Cleaning = &c
	}
	return records, err
}

func (tx *Tx) landEntries(standIDs []string, from, to models.Date) ([]models.LandEntry, error) {
	return find[models.LandEntry]("read the ledgers for a page", tx.entered("ledger", tx.db.Table("ledger")).
		Select(columnsOf[models.LedgerEntry](tx, "ledger")+`, COALESCE(batches.code, '') AS batch, COALESCE(corrected.kind, '') AS corrected_kind,
			COALESCE(permits.number, '') AS permit, COALESCE(batches.refused_by, '') AS refused_by, COALESCE(batches.awaits_review, FALSE) AS awaits_review`).
		Joins("LEFT JOIN batches ON batches.id = ledger.batch_id").
		Joins("LEFT JOIN permits ON permits.id = batches.permit_id").
		Joins("LEFT JOIN ledger corrected ON corrected.id = ledger.corrects").
		Where("ledger.stand_id IN (?) AND ledger.taken_on BETWEEN ? AND ?", standIDs, from, to).
		Order("ledger.stand_id, ledger.taken_on, ledger.id"))
}

// fillReplaced reads the counts and disturbances of stands that were replaced or voided.
func (tx *Tx) fillReplaced(records map[string]*models.LandRecord, ids []string) error {
	type replaced struct {
		models.Survey
		Placement  *models.Placement
		ReplacedAt time.Time
	}
	const replacing = "JOIN corrections ON corrections.subject_id = "
	surveys, err := find[replaced]("read the surveys that count no more", tx.entered("corrections", tx.db.Table("surveys")).
		Select(columnsOf[placedSurvey](tx, "surveys")+", corrections.entered_at AS replaced_at").
		Joins(replacing+"surveys.id").Where("surveys.stand_id IN (?)", ids).Order("surveys.stand_id, surveys.surveyed_on, surveys.id"))
	if err != nil {
		return err
	}
	for _, s := range surveys {
		r, placed := records[s.StandID], placedSurvey{s.Survey, s.Placement}
		r.ReplacedSurveys = append(r.ReplacedSurveys, models.ReplacedSurvey{Survey: placed.brief(), ReplacedAt: s.ReplacedAt})
	}
	disturbances, err := find[models.ReplacedDisturbance]("read the disturbances that count no more", tx.entered("corrections", tx.db.Table("disturbances")).
		Select(columnsOf[models.Disturbance](tx, "disturbances")+", corrections.entered_at AS replaced_at").
		Joins(replacing+"disturbances.id").Where("disturbances.stand_id IN (?)", ids).Order("disturbances.stand_id, disturbances.happened_on, disturbances.id"))
	for _, d := range disturbances {
		r := records[d.StandID]
		r.ReplacedDisturbances = append(r.ReplacedDisturbances, d)
	}
	return err
}

// LandManagers are the names of those who manage the land of stands, as they are spelt.
func (tx *Tx) LandManagers() ([]string, error) {
	names := []string{}
	err := tx.db.Table("stands").Where("land_manager <> ''").Distinct("land_manager").Order("land_manager").Limit(mostNames).Pluck("land_manager", &names).Error
	return names, explain("read the land managers", err)
}

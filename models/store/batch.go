package store

import (
	"slices"
	"strings"
	"unicode"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"withybed/models"
)

// AddBatches writes new batches with their stickings and moves. Taken keys are
// Duplicates of batches_code_key, batches_number and batches_record_number.
func (tx *Tx) AddBatches(records []*models.BatchRecord) error {
	var batches []endingBatch
	var stickings []models.Sticking
	var moves []models.Move
	for _, r := range records {
		batches = append(batches, endingBatch{r.Batch, endOf(r)})
		if r.Sticking != nil {
			stickings = append(stickings, *r.Sticking)
		}
		moves = append(moves, r.Moves...)
	}
	if err := addAll(tx, "add batches", "batches", batches); err != nil {
		return err
	}
	if err := addAll(tx, "add the stickings of batches", "stickings", stickings); err != nil {
		return err
	}
	return addAll(tx, "add the moves of batches", "moves", moves)
}

// endingBatch is a batch with the day it ended, by which it is found when a day
// that is past is asked about. It has none while something can still fall due.
type endingBatch struct {
	models.Batch
	EndedOn models.Date
}

// endOf is the latest day of what was entered about a batch that is not active
// any more: from then on nothing of it falls due.
func endOf(r *models.BatchRecord) models.Date {
	if r.Active {
		return models.Date{}
	}
	days := []models.Date{r.CollectedOn, r.WaitingFrom}
	if r.Sticking != nil {
		days = append(days, r.Sticking.StuckOn)
	}
	for _, m := range r.Moves {
		days = append(days, m.MovedOn)
	}
	for _, s := range r.Splits {
		days = append(days, s.SplitOn)
	}
	for _, c := range r.Checks {
		days = append(days, c.CheckedOn)
	}
	for _, p := range r.Pottings {
		days = append(days, p.PottedOn)
	}
	for _, d := range r.Decisions {
		days = append(days, d.DecidedOn)
	}
	return slices.MaxFunc(days, models.Date.Compare)
}

// TouchBatch writes what an entry changes of a batch: Active, with the day it
// ended, and AwaitsReview. Its Version is the one that was read, and is counted
// up. It is ErrStale if something was entered meanwhile.
func (tx *Tx) TouchBatch(r *models.BatchRecord) error {
	return tx.edit("touch batch "+r.Code,
		"UPDATE batches SET active = ?, ended_on = ?, awaits_review = ?, version = version + 1 WHERE id = ? AND version = ?",
		r.Active, endOf(r), r.AwaitsReview, r.ID, r.Version)
}

// StandYear is a stand and a year, within which batches are numbered.
type StandYear struct {
	StandID string
	Year    int
}

// LastBatchNumbers are the highest numbers of batches of stands and years, those that
// moved away among them; there is none where nothing was cut. They hold while the
// stands are locked.
func (tx *Tx) LastBatchNumbers(standIDs []string, years []int) (map[StandYear]int, error) {
	type lastNumber struct {
		StandYear
		Number int
	}
	const given = `SELECT stand_id, year, MAX(number) AS number FROM batches WHERE stand_id IN (?) AND year IN (?) GROUP BY stand_id, year
		UNION ALL SELECT stand_id, year, MAX(number) FROM spent_numbers WHERE stand_id IN (?) AND year IN (?) GROUP BY stand_id, year`
	rows, err := find[lastNumber]("number batches", tx.db.Raw(given, standIDs, years, standIDs, years))
	last := make(map[StandYear]int, len(rows))
	for _, row := range rows {
		last[row.StandYear] = max(last[row.StandYear], row.Number)
	}
	return last, err
}

// NearBatchCodes are the codes that begin with a text, at most 2,000, the newest
// first, to suggest one from.
func (tx *Tx) NearBatchCodes(standPrefix string) ([]string, error) {
	codes := []string{}
	prefix := models.NameKey(standPrefix)
	err := tx.db.Table("batches").Where("code_key BETWEEN ? AND ?", prefix, prefix+string(unicode.MaxRune)).
		Order("id DESC").Limit(mostNames).Pluck("code", &codes).Error
	return codes, explain("read the codes of batches", err)
}

// StandOfBatch is the code, as compared, of the stand of a batch, or ErrNoRow. It
// is read where the stand has to be locked before the batch.
func (tx *Tx) StandOfBatch(codeKey string) (standCodeKey string, err error) {
	row, err := take[models.Stand]("read the stand of batch "+codeKey, tx.db.Table("batches").Select("stands.code_key").
		Joins("JOIN stands ON stands.id = batches.stand_id").Where("batches.code_key = ?", codeKey))
	return row.CodeKey, err
}

// BatchRecord is a batch with all that was entered about it, or ErrNoRow. In a
// write the batch is held until the transaction ends.
func (tx *Tx) BatchRecord(codeKey string) (*models.BatchRecord, error) {
	op := "read batch " + codeKey
	if err := tx.lockRows(op, "batches", "code_key = ?", codeKey); err != nil {
		return nil, err
	}
	row, err := take[batchRow](op, tx.batchRows().Where("batches.code_key = ?", codeKey))
	if err != nil {
		return nil, err
	}
	records, err := tx.fillBatches([]batchRow{row}, []string{row.ID})
	if err != nil {
		return nil, err
	}
	return records[0], nil
}

// BatchRecords lists the batches of a filter, the newest collected first.
func (tx *Tx) BatchRecords(f models.BatchFilter, page models.Page) (models.List[*models.BatchRecord], error) {
	none := models.List[*models.BatchRecord]{}
	day, id, going, err := dayAndID("batches", page)
	if err != nil {
		return none, err
	}
	query := tx.batchRows().Where(filtered(f)).
		Order("batches.collected_on DESC, batches.id DESC").Limit(page.Size() + 1)
	if going {
		query = query.Where("(batches.collected_on, batches.id) < (?, ?)", day, id)
	}
	rows, err := find[batchRow]("list batches", query)
	if err != nil {
		return none, err
	}
	list := pageOf(rows, page, func(b batchRow) string { return cursorOf("batches", b.CollectedOn.String(), b.ID) })
	ids := make([]string, len(list.Items))
	for i, row := range list.Items {
		ids[i] = row.ID
	}
	records, err := tx.fillBatches(list.Items, ids)
	return models.List[*models.BatchRecord]{Items: records, Next: list.Next}, err
}

// EveryBatchRecord is every batch of a filter, the newest collected first.
func (tx *Tx) EveryBatchRecord(f models.BatchFilter) ([]*models.BatchRecord, error) {
	return tx.everyBatch(filtered(f))
}

// BatchRecordsOn is every batch of which something could fall due on a day, the
// newest collected first: collected by then, and either active still or ended on
// that day or later.
func (tx *Tx) BatchRecordsOn(day models.Date) ([]*models.BatchRecord, error) {
	// Both kinds are looked up; with OR the whole history would be gone through.
	return tx.everyBatch(gorm.Expr(`NOT batches.void AND batches.collected_on <= ? AND batches.id IN (
		SELECT id FROM batches WHERE active UNION ALL SELECT id FROM batches WHERE ended_on >= ?)`, day, day))
}

func (tx *Tx) everyBatch(where clause.Expr) ([]*models.BatchRecord, error) {
	rows, err := find[batchRow]("read batches",
		tx.batchRows().Where(where).Order("batches.collected_on DESC, batches.id DESC"))
	if err != nil {
		return nil, err
	}
	return tx.fillBatches(rows, gorm.Expr("SELECT batches.id FROM batches WHERE "+where.SQL, where.Vars...))
}

// batchRow is a batch with the codes it refers to.
type batchRow struct {
	models.Batch
	StandCode  string
	FirstCode  *string // of the batch it was split off
	Permit     string  // number
	PermitUnit models.PermitUnit
	Crew       string

	HarvestAwaitsReview bool
}

func (tx *Tx) batchRows() *gorm.DB {
	return tx.db.Table("batches").Select(columnsOf[models.Batch](tx, "batches") + `, stands.code AS stand_code, firsts.code AS first_code,
			harvests.awaits_review AS harvest_awaits_review,
			COALESCE(permits.number, '') AS permit, COALESCE(permits.unit, '') AS permit_unit, COALESCE(crew_shares.crew, '') AS crew`).
		Joins("JOIN stands ON stands.id = batches.stand_id").
		Joins("JOIN batches harvests ON harvests.id = batches.harvest_id").
		Joins("LEFT JOIN batches firsts ON firsts.id = batches.split_from_id").
		Joins("LEFT JOIN permits ON permits.id = batches.permit_id").
		Joins("LEFT JOIN crew_shares ON crew_shares.id = batches.share_id")
}

// filtered is the condition of a filter on batches.
func filtered(f models.BatchFilter) clause.Expr {
	all := []string{"NOT batches.void"}
	if f.Void {
		all[0] = "batches.void"
	}
	var values []any
	add := func(asked bool, condition string, value ...any) {
		if asked {
			all, values = append(all, condition), append(values, value...)
		}
	}
	add(f.StandID != "", "batches.stand_id = ?", f.StandID)
	add(f.TaxonID != "", "batches.taxon_id = ?", f.TaxonID)
	add(f.Kind != "", "batches.kind = ?", f.Kind)
	add(!f.From.IsZero(), "batches.collected_on >= ?", f.From)
	add(!f.To.IsZero(), "batches.collected_on <= ?", f.To)
	add(f.Active, "batches.active")
	add(f.AwaitsReview, "batches.awaits_review")
	add(f.Stuck, "batches.id IN (SELECT batch_id FROM stickings)")
	add(f.Bench != "", "batches.id IN (SELECT batch_id FROM stickings WHERE LOWER(bench) = LOWER(?) AND NOT void)", models.Clean(f.Bench))
	return gorm.Expr(strings.Join(all, " AND "), values...)
}

// fillBatches makes records of rows and reads all that belongs to them, in as
// many queries for many as for one. scope is the ids of the rows, or the query
// of them.
func (tx *Tx) fillBatches(rows []batchRow, scope any) ([]*models.BatchRecord, error) {
	records := make([]*models.BatchRecord, len(rows))
	batches := make(book, len(rows))
	for i, row := range rows {
		records[i] = &models.BatchRecord{Batch: row.Batch, Stand: row.StandCode, Permit: row.Permit, PermitUnit: row.PermitUnit, Crew: row.Crew}
		records[i].HarvestAwaitsReview = row.HarvestAwaitsReview && row.SplitFromID != nil
		if row.FirstCode != nil {
			records[i].SplitFrom = *row.FirstCode
		}
		batches[row.ID] = records[i]
	}
	if len(rows) == 0 {
		return records, nil
	}
	if err := tx.fillNames(records, scope); err != nil {
		return nil, err
	}
	return records, tx.fillEntries(batches, scope)
}

// fillNames reads the taxa of batches and the surveys they were held against.
func (tx *Tx) fillNames(records []*models.BatchRecord, scope any) error {
	taxa, err := find[models.Taxon]("read the taxa of batches", tx.db.Table("taxa").
		Where("id IN (SELECT taxon_id FROM batches WHERE id IN (?))", scope))
	if err != nil {
		return err
	}
	surveys, err := find[models.Survey]("read the surveys of batches", tx.db.Table("surveys").
		Select("id, surveyed_on, method, estimate, lower_bound").
		Where("id IN (SELECT survey_id FROM batches WHERE id IN (?))", scope))
	if err != nil {
		return err
	}
	taxonByID := make(map[string]models.Taxon, len(taxa))
	for _, t := range taxa {
		taxonByID[t.ID] = t
	}
	briefs := make(map[string]*models.SurveyBrief, len(surveys))
	for _, s := range surveys {
		briefs[s.ID] = s.Brief()
	}
	for _, r := range records {
		r.Taxon = taxonByID[r.TaxonID]
		if r.SurveyID != nil {
			r.Survey = briefs[*r.SurveyID]
		}
	}
	return nil
}

// BatchesOn are the batches cut from any of some stands on any of some days, in
// the order they were entered, without sisters and void ones.
func (tx *Tx) BatchesOn(standIDs []string, days []models.Date) ([]models.Batch, error) {
	return find[models.Batch]("read the batches of days", tx.db.Table("batches").
		Where("stand_id IN (?) AND collected_on IN (?) AND split_from_id IS NULL AND NOT void", standIDs, days).Order("id"))
}

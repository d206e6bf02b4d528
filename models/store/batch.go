package store

import (
	"strings"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"withybed/models"
)

// AddBatch writes a batch. Taken keys are Duplicates of batches_code_key,
// batches_number and batches_record_number.
func (tx *Tx) AddBatch(b models.Batch) error {
	return tx.add("add batch "+b.Code, "batches", &b)
}

// TouchBatch writes what an entry changes of a batch: Active and AwaitsReview.
// Its Version is the one that was read, and is counted up. It is ErrStale if
// something was entered meanwhile.
func (tx *Tx) TouchBatch(b models.Batch) error {
	return tx.edit("touch batch "+b.Code,
		"UPDATE batches SET active = ?, awaits_review = ?, version = version + 1 WHERE id = ? AND version = ?",
		b.Active, b.AwaitsReview, b.ID, b.Version)
}

// NextBatchNumber is one more than the highest number of a stand and year. It
// holds while the stand is locked.
func (tx *Tx) NextBatchNumber(standID string, year int) (int, error) {
	var next int
	err := tx.db.Raw("SELECT COALESCE(MAX(number), 0) + 1 FROM batches WHERE stand_id = ? AND year = ?", standID, year).
		Scan(&next).Error
	return next, explain("number a batch of stand "+standID, err)
}

// NearBatchCodes are the codes that begin with a text, at most 2,000, the newest
// first, to suggest one from.
func (tx *Tx) NearBatchCodes(standPrefix string) ([]string, error) {
	codes := []string{}
	prefix := strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`).Replace(models.NameKey(standPrefix))
	err := tx.db.Table("batches").Where(`code_key LIKE ? ESCAPE '\'`, prefix+"%").
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
	rows, err := find[batchRow]("read batches",
		tx.batchRows().Where(filtered(f)).Order("batches.collected_on DESC, batches.id DESC"))
	if err != nil {
		return nil, err
	}
	where := filtered(f)
	return tx.fillBatches(rows, gorm.Expr("SELECT batches.id FROM batches WHERE "+where.SQL, where.Vars...))
}

// batchRow is a batch with the codes it refers to.
type batchRow struct {
	models.Batch
	StandCode string
	FirstCode *string // of the batch it was split off
}

func (tx *Tx) batchRows() *gorm.DB {
	return tx.db.Table("batches").Select("batches.*, stands.code AS stand_code, firsts.code AS first_code").
		Joins("JOIN stands ON stands.id = batches.stand_id").
		Joins("LEFT JOIN batches firsts ON firsts.id = batches.split_from_id")
}

// filtered is the condition of a filter on batches.
func filtered(f models.BatchFilter) clause.Expr {
	all := []string{"TRUE"}
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
	add(f.Bench != "", "batches.id IN (SELECT batch_id FROM stickings WHERE LOWER(bench) = LOWER(?))", models.Clean(f.Bench))
	return gorm.Expr(strings.Join(all, " AND "), values...)
}

// fillBatches makes records of rows and reads all that belongs to them, in as
// many queries for many as for one. scope is the ids of the rows, or the query
// of them.
func (tx *Tx) fillBatches(rows []batchRow, scope any) ([]*models.BatchRecord, error) {
	records := make([]*models.BatchRecord, len(rows))
	batches := make(book, len(rows))
	for i, row := range rows {
		records[i] = &models.BatchRecord{Batch: row.Batch, Stand: row.StandCode}
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

// BatchesOn are the batches cut from a stand on a day, in the order they were
// entered, without sisters.
func (tx *Tx) BatchesOn(standID string, day models.Date) ([]models.Batch, error) {
	return find[models.Batch]("read the batches of a day", tx.db.Table("batches").
		Where("stand_id = ? AND collected_on = ? AND split_from_id IS NULL", standID, day).Order("id"))
}

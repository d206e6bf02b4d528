package store

import "withybed/models"

// AmendedBy are the corrections that replaced or voided records of stands, by the
// identifier of the record.
func (tx *Tx) AmendedBy(ids []string) (map[string]models.Correction, error) {
	by := map[string]models.Correction{}
	if len(ids) == 0 {
		return by, nil
	}
	rows, err := find[models.Correction]("read corrections of records",
		tx.db.Table("corrections").Where("subject_id IN (?) AND batch_id IS NULL", ids).Order("id"))
	for _, c := range rows {
		by[c.SubjectID] = c
	}
	return by, err
}

// correctionRow is a correction with the code of its batch.
type correctionRow struct {
	models.Correction
	BatchCode string
}

// Corrections lists the corrections at a stand, the latest entered first: of records
// of the stand alone, or of its batches too.
func (tx *Tx) Corrections(standID string, ofBatches bool, page models.Page) (models.List[models.CorrectionView], error) {
	none := models.List[models.CorrectionView]{}
	after, going, err := oneKey("corrections", page)
	if err != nil {
		return none, err
	}
	query := tx.db.Table("corrections").
		Select(columnsOf[models.Correction](tx, "corrections")+", COALESCE(batches.code, '') AS batch_code").
		Joins("LEFT JOIN batches ON batches.id = corrections.batch_id").
		Where("corrections.stand_id = ?", standID).Order("corrections.id DESC").Limit(page.Size() + 1)
	if !ofBatches {
		query = query.Where("corrections.batch_id IS NULL")
	}
	if going {
		query = query.Where("corrections.id < ?", after)
	}
	rows, err := find[correctionRow]("list the corrections at stand "+standID, query)
	if err != nil {
		return none, err
	}
	list := pageOf(rows, page, func(c correctionRow) string { return cursorOf("corrections", c.ID) })
	views := models.List[models.CorrectionView]{Items: make([]models.CorrectionView, len(list.Items)), Next: list.Next}
	for i, row := range list.Items {
		views.Items[i] = models.CorrectionView{Batch: row.BatchCode, Correction: row.Correction}
	}
	return views, nil
}

// Survey is a survey of a stand with all its counts, whether it stands or not, or
// ErrNoRow.
func (tx *Tx) Survey(standID, id string) (models.Survey, error) {
	return take[models.Survey]("read survey "+id, tx.db.Table("surveys").Where("stand_id = ? AND id = ?", standID, id))
}

// OthersCut is a cut of others from a stand, whether it stands or not, or ErrNoRow.
func (tx *Tx) OthersCut(standID, id string) (models.OthersCut, error) {
	return take[models.OthersCut]("read cut of others "+id, tx.db.Table("others_cuts").Where("stand_id = ? AND id = ?", standID, id))
}

// PlaceOfStand is the place of a stand, which is not held by that, or ErrNoRow.
func (tx *Tx) PlaceOfStand(codeKey string) (string, error) {
	stand, err := take[models.Stand]("read the place of stand "+codeKey, tx.db.Table("stands").Select("place").Where("code_key = ?", codeKey))
	return stand.Place, err
}

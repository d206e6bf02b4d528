package store

import "withybed/models"

// AddSticking writes the sticking of a batch. A second one is a Duplicate of
// stickings_pkey, but where the first is void: then it takes its row, and what the
// first said is in the correction that voided it.
func (tx *Tx) AddSticking(s models.Sticking) error {
	op := "add the sticking of batch " + s.BatchID
	row := struct {
		models.Sticking
		Void bool
	}{Sticking: s}
	done := tx.db.Table("stickings").Where("batch_id = ? AND void", s.BatchID).Select("*").Updates(&row)
	if done.Error != nil || done.RowsAffected > 0 {
		return explain(op, done.Error)
	}
	return tx.add(op, "stickings", &s)
}

// AddMove writes a move of cuttings before they are stuck.
func (tx *Tx) AddMove(m models.Move) error {
	return tx.add("add a move of batch "+m.BatchID, "moves", &m)
}

// AddSplit writes that a sister was split off a batch. The sister's own row must
// be there already; a sister that was split off before is a Duplicate of
// splits_sister_key.
func (tx *Tx) AddSplit(s models.Split) error {
	return tx.add("add a split of batch "+s.BatchID, "splits", &s)
}

// AddCheck writes a check.
func (tx *Tx) AddCheck(c models.Check) error {
	return tx.add("add a check of batch "+c.BatchID, "checks", &c)
}

// AddPotting writes a potting.
func (tx *Tx) AddPotting(p models.Potting) error {
	return tx.add("add a potting of batch "+p.BatchID, "pottings", &p)
}

// AddDecision writes a decision.
func (tx *Tx) AddDecision(d models.Decision) error {
	return tx.add("add a decision on batch "+d.BatchID, "decisions", &d)
}

// AddReview writes a review.
func (tx *Tx) AddReview(r models.Review) error {
	return tx.add("add a review of batch "+r.BatchID, "reviews", &r)
}

// book holds batches by id, while what belongs to them is read.
type book map[string]*models.BatchRecord

// of is the record of a batch. An entry of a batch that came into the book's
// scope only after the batches were read goes into a record nobody holds.
func (b book) of(batchID string) *models.BatchRecord {
	if record, ok := b[batchID]; ok {
		return record
	}
	return &models.BatchRecord{}
}

// fillEntries reads everything that was entered about the batches whose ids are
// in scope (a list of them, or a query), one query for each kind of entry.
func (tx *Tx) fillEntries(batches book, scope any) error {
	for _, read := range []func() error{
		func() error { return tx.fillStickings(batches, scope) },
		func() error { return tx.fillSplits(batches, scope) },
		func() error {
			return eachEntry(tx, "moves", scope, func(m models.Move) {
				r := batches.of(m.BatchID)
				r.Moves = append(r.Moves, m)
			})
		},
		func() error {
			return eachEntry(tx, "checks", scope, func(c models.Check) {
				r := batches.of(c.BatchID)
				r.Checks = append(r.Checks, c)
			})
		},
		func() error {
			return eachEntry(tx, "pottings", scope, func(p models.Potting) {
				r := batches.of(p.BatchID)
				r.Pottings = append(r.Pottings, p)
			})
		},
		func() error {
			return eachEntry(tx, "decisions", scope, func(d models.Decision) {
				r := batches.of(d.BatchID)
				r.Decisions = append(r.Decisions, d)
			})
		},
		func() error {
			return each(tx, "reviews", scope, "TRUE", "entry", func(v models.Review) {
				r := batches.of(v.BatchID)
				r.Reviews = append(r.Reviews, v)
			})
		},
		func() error {
			return each(tx, "parent_tallies", scope, "replaced_at IS NULL", "id", func(p parentOf) {
				r := batches.of(p.BatchID)
				r.Parents = append(r.Parents, p.Parent)
			})
		},
		func() error {
			return each(tx, "corrections", scope, "TRUE", "entry, id", func(c models.Correction) {
				r := batches.of(*c.BatchID)
				r.Corrections = append(r.Corrections, c)
			})
		},
		func() error { return tx.fillDeterminations(batches, scope) },
	} {
		if err := read(); err != nil {
			return err
		}
	}
	return nil
}

// eachEntry hands out the entries of one table in their order, but for void ones.
func eachEntry[T any](tx *Tx, table string, scope any, give func(T)) error {
	return each(tx, table, scope, "NOT void", "entry", give)
}

// each hands out the rows of one table that belong to batches and are of a kind, in
// an order within each batch.
func each[T any](tx *Tx, table string, scope any, kind, order string, give func(T)) error {
	rows, err := find[T]("read "+table, tx.db.Table(table).Where("batch_id IN (?)", scope).Where(kind).Order("batch_id, "+order))
	for _, row := range rows {
		give(row)
	}
	return err
}

func (tx *Tx) fillStickings(batches book, scope any) error {
	return eachEntry(tx, "stickings", scope, func(s models.Sticking) {
		s.Label = s.TreatmentLabel()
		batches.of(s.BatchID).Sticking = &s
	})
}

// splitRow is a split with what is to be told of the sister. SisterStuck is nil
// until she is stuck.
type splitRow struct {
	models.Split
	SisterStuck     *string
	SisterTreatment *models.Treatment `gorm:"serializer:json"`
}

func (tx *Tx) fillSplits(batches book, scope any) error {
	rows, err := find[splitRow]("read splits", tx.db.Table("splits").
		Select(columnsOf[models.Split](tx, "splits")+`, sisters.code AS sister,
			stickings.batch_id AS sister_stuck, stickings.treatment AS sister_treatment`).
		Joins("JOIN batches sisters ON sisters.id = splits.sister_id").
		Joins("LEFT JOIN stickings ON stickings.batch_id = splits.sister_id AND NOT stickings.void").
		Where("splits.batch_id IN (?) AND NOT splits.void", scope).Order("splits.batch_id, splits.entry, splits.id"))
	for _, row := range rows {
		if row.SisterStuck != nil {
			row.Treatment = models.Tray{Treatment: row.SisterTreatment}.TreatmentLabel()
		}
		r := batches.of(row.BatchID)
		r.Splits = append(r.Splits, row.Split)
	}
	return err
}

// parentOf is what a batch took of a tagged plant.
type parentOf struct {
	BatchID string
	models.Parent
}

// determinedRow is a determination with the names of its taxa.
type determinedRow struct {
	models.Determination
	Named     string
	WasCalled string
}

func (tx *Tx) fillDeterminations(batches book, scope any) error {
	rows, err := find[determinedRow]("read determinations", tx.db.Table("determinations").
		Select(columnsOf[models.Determination](tx, "determinations")+", taxa.scientific_name AS named, was.scientific_name AS was_called").
		Joins("JOIN taxa ON taxa.id = determinations.taxon_id").
		Joins("JOIN taxa was ON was.id = determinations.before_id").
		Where("determinations.batch_id IN (?)", scope).Order("determinations.batch_id, determinations.entry"))
	for _, row := range rows {
		row.Taxon, row.Before = row.Named, row.WasCalled
		r := batches.of(row.BatchID)
		r.Determinations = append(r.Determinations, row.Determination)
	}
	return err
}

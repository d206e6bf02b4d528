package store

import (
	"fmt"

	"withybed/models"
)

// rewrite writes every column of a row that is there already.
func rewrite[T any](tx *Tx, op, table, key, id string, row *T) error {
	return changedOne(op, tx.db.Table(table).Where(key+" = ?", id).Select("*").Updates(row))
}

// EditSticking writes a sticking in place of what it said before.
func (tx *Tx) EditSticking(s models.Sticking) error {
	return rewrite(tx, "edit the sticking of batch "+s.BatchID, "stickings", "batch_id", s.BatchID, &s)
}

// EditMove writes a move in place of what it said before.
func (tx *Tx) EditMove(m models.Move) error {
	return rewrite(tx, "edit move "+m.ID, "moves", "id", m.ID, &m)
}

// EditCheck writes a check in place of what it said before.
func (tx *Tx) EditCheck(c models.Check) error {
	return rewrite(tx, "edit check "+c.ID, "checks", "id", c.ID, &c)
}

// EditPotting writes a potting in place of what it said before.
func (tx *Tx) EditPotting(p models.Potting) error {
	return rewrite(tx, "edit potting "+p.ID, "pottings", "id", p.ID, &p)
}

// EditDecision writes a decision in place of what it said before.
func (tx *Tx) EditDecision(d models.Decision) error {
	return rewrite(tx, "edit decision "+d.ID, "decisions", "id", d.ID, &d)
}

// CountSplit writes how many cuttings a split took.
func (tx *Tx) CountSplit(id string, count int) error {
	return tx.edit("count split "+id, "UPDATE splits SET count = ? WHERE id = ?", count, id)
}

// entryTables are the tables of what is entered about batches, with their keys.
var entryTables = map[models.Subject]struct{ table, key string }{
	models.OfSticking: {"stickings", "batch_id"},
	models.OfMove:     {"moves", "id"},
	models.OfSplit:    {"splits", "id"},
	models.OfCheck:    {"checks", "id"},
	models.OfPotting:  {"pottings", "id"},
	models.OfDecision: {"decisions", "id"},
}

// VoidEntry takes an entry about a batch out of all that is read of it. Its row stays.
func (tx *Tx) VoidEntry(subject models.Subject, id string) error {
	of, known := entryTables[subject]
	if !known {
		return fmt.Errorf("void %s %s: no entry of a batch", subject, id)
	}
	return tx.edit("void "+string(subject)+" "+id, "UPDATE "+of.table+" SET void = ? WHERE "+of.key+" = ?", true, id)
}

package store

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"gorm.io/gorm"
)

// ErrStale is an edit of a row that was changed since it was read, or that is
// gone.
var ErrStale = errors.New("changed since it was read")

// batchOfRows is how many rows one statement writes.
const batchOfRows = 200

// add writes one row, all its columns named by its fields.
func (tx *Tx) add(op, table string, row any) error {
	return explain(op, tx.db.Table(table).Create(row).Error)
}

// addAll writes rows, some at a time.
func addAll[T any](tx *Tx, op, table string, rows []T) error {
	for some := range slices.Chunk(rows, batchOfRows) {
		if err := tx.add(op, table, &some); err != nil {
			return err
		}
	}
	return nil
}

// edit runs an UPDATE that is guarded by a version, and is ErrStale if the
// version has moved on.
func (tx *Tx) edit(op, update string, values ...any) error {
	done := tx.db.Exec(update, values...)
	if done.Error != nil {
		return explain(op, done.Error)
	}
	if done.RowsAffected == 0 {
		return fmt.Errorf("%s: %w", op, ErrStale)
	}
	return nil
}

// lockRows holds the rows of a table until the transaction ends, in order of
// their id, so that two who want the same ones never wait for each other. It is
// a statement of its own: what is read after it sees what the one before wrote.
// Alone on SQLite, and in a read, there is nothing to hold.
func (tx *Tx) lockRows(op, table, where string, values ...any) error {
	if !tx.writes || tx.dialect == SQLite {
		return nil
	}
	var held []string
	query := "SELECT id FROM " + table + " WHERE " + where + " ORDER BY id FOR UPDATE"
	return explain(op, tx.db.Raw(query, values...).Scan(&held).Error)
}

// columnsOf names the columns of a table that a row of type T holds, for a query
// that reads others as well. A query never asks for all there are: one that a
// newer program adds would upset the plans that PostgreSQL keeps.
func columnsOf[T any](tx *Tx, table string) string {
	statement := &gorm.Statement{DB: tx.db}
	if err := statement.Parse(new(T)); err != nil {
		panic(fmt.Errorf("read the columns of %s: %w", table, err)) // a fault in the type itself
	}
	var names []string
	for _, field := range statement.Schema.Fields {
		if field.DBName != "" && field.Creatable {
			names = append(names, table+"."+field.DBName)
		}
	}
	return strings.Join(names, ", ")
}

// find reads rows. A chain of gorm keeps its conditions, so it is begun and
// ended in one call.
func find[T any](op string, query *gorm.DB) ([]T, error) {
	rows := []T{}
	err := query.Find(&rows).Error
	return rows, explain(op, err)
}

// take reads one row, and is ErrNoRow without one.
func take[T any](op string, query *gorm.DB) (T, error) {
	var row T
	err := query.Take(&row).Error
	return row, explain(op, err)
}

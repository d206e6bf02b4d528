package store

import (
	"gorm.io/gorm"

	"withybed/models"
)

// DB lets the tests run SQL of their own in a transaction.
func (tx *Tx) DB() *gorm.DB { return tx.db }

// AddBatch adds a batch that nothing else was entered about.
func (tx *Tx) AddBatch(b models.Batch) error {
	return tx.AddBatches([]*models.BatchRecord{{Batch: b}})
}

// AddLedgerEntry adds one line.
func (tx *Tx) AddLedgerEntry(e models.LedgerEntry) error {
	return tx.AddLedgerEntries([]models.LedgerEntry{e})
}

// LockKey is lockKey.
func (tx *Tx) LockKey(name string) error { return tx.lockKey(name) }

// Explain is explain.
func Explain(op string, err error) error { return explain(op, err) }

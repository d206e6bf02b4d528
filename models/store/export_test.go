package store

import "gorm.io/gorm"

// DB lets the tests run SQL of their own in a transaction.
func (tx *Tx) DB() *gorm.DB { return tx.db }

// LockKey is lockKey.
func (tx *Tx) LockKey(name string) error { return tx.lockKey(name) }

// Explain is explain.
func Explain(op string, err error) error { return explain(op, err) }

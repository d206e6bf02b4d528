package store

import (
	"errors"
	"fmt"
	"time"
)

// lockKey holds a name until the transaction ends; whoever else asks for it
// waits. On SQLite there is nothing to do, since one transaction writes at a time.
// Outside Write it is refused, as the lock would guard nothing.
func (tx *Tx) lockKey(name string) error {
	if !tx.writes {
		return errors.New("lock " + name + ": only a write can hold a lock")
	}
	if tx.dialect == SQLite {
		return nil
	}
	err := tx.db.Exec("SELECT pg_advisory_xact_lock(hashtextextended($1, 0))", name).Error
	return explain("lock "+name, err)
}

// JobDone says whether a job did its work for a period. Until this transaction
// ends, others who ask wait.
func (tx *Tx) JobDone(job, period string) (bool, error) {
	if err := tx.lockKey("job " + job); err != nil {
		return false, err
	}
	return tx.JobMarked(job, period)
}

// JobMarked says that a job did its work for a period, without holding anyone up:
// the answer can be late by the time it is used.
func (tx *Tx) JobMarked(job, period string) (bool, error) {
	var done bool
	err := tx.db.Raw("SELECT EXISTS (SELECT 1 FROM job_runs WHERE job = ? AND period = ?)", job, period).Scan(&done).Error
	return done, explain(fmt.Sprintf("look for job %s of %s", job, period), err)
}

// MarkJob notes that a job did its work for a period. Written in the transaction
// of the work, it makes the work happen once per period, whatever the restarts
// and the number of servers. at is kept to the millisecond.
func (tx *Tx) MarkJob(job, period string, at time.Time) error {
	err := tx.db.Exec("INSERT INTO job_runs (job, period, done_at) VALUES (?, ?, ?)",
		job, period, at.UTC().Truncate(time.Millisecond)).Error
	return explain(fmt.Sprintf("note job %s of %s", job, period), err)
}

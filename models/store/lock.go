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

// RanJob notes that a job did its work for a period, and says whether it is the
// first to. Called in the transaction that does the work, it makes the work
// happen once per period, whatever the restarts and the number of servers:
// others wait here until the first has committed, and are then told false. at is
// kept to the millisecond.
func (tx *Tx) RanJob(job, period string, at time.Time) (first bool, err error) {
	if err := tx.lockKey("job " + job); err != nil {
		return false, err
	}
	done := tx.db.Exec(
		"INSERT INTO job_runs (job, period, done_at) VALUES (?, ?, ?) ON CONFLICT DO NOTHING",
		job, period, at.UTC().Truncate(time.Millisecond))
	if done.Error != nil {
		return false, explain(fmt.Sprintf("note job %s of %s", job, period), done.Error)
	}
	return done.RowsAffected == 1, nil
}

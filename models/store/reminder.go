package store

import (
	"errors"

	"withybed/models"
)

// ReminderOf is the reminder of the week that begins on a day, or ErrNoRow.
func (tx *Tx) ReminderOf(week models.Date) (models.Reminder, error) {
	return take[models.Reminder]("read the reminder of "+week.String(), tx.db.Table("reminders").Where("week = ?", week))
}

// HoldReminders keeps others from making a reminder until this transaction ends.
func (tx *Tx) HoldReminders() error { return tx.lockKey("reminders") }

// AddReminder writes a reminder. A week that has one is a Duplicate of
// reminders_week.
func (tx *Tx) AddReminder(r models.Reminder) error {
	return tx.add("add the reminder of "+r.Week.String(), "reminders", &r)
}

// LastReminderBefore is the last reminder of a week that began before a day; ok
// is false without one.
func (tx *Tx) LastReminderBefore(week models.Date) (last models.Reminder, ok bool, err error) {
	last, err = take[models.Reminder]("read the reminder before "+week.String(),
		tx.db.Table("reminders").Where("week < ?", week).Order("week DESC").Limit(1))
	if errors.Is(err, ErrNoRow) {
		return last, false, nil
	}
	return last, err == nil, err
}

// Reminders lists reminders, the newest week first.
func (tx *Tx) Reminders(page models.Page) (models.List[models.Reminder], error) {
	week, id, going, err := dayAndID("reminders", page)
	if err != nil {
		return models.List[models.Reminder]{}, err
	}
	query := tx.db.Table("reminders").Order("week DESC, id DESC").Limit(page.Size() + 1)
	if going {
		query = query.Where("(week, id) < (?, ?)", week, id)
	}
	rows, err := find[models.Reminder]("list reminders", query)
	return pageOf(rows, page, func(r models.Reminder) string {
		return cursorOf("reminders", r.Week.String(), r.ID)
	}), err
}

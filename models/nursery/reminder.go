package nursery

import (
	"context"
	"errors"

	"withybed/models"
	"withybed/models/documents"
	"withybed/models/rules"
	"withybed/models/store"
)

// textWidth is how wide the text of a reminder is, in characters.
const textWidth = 80

// Remind makes the reminder of the week that holds a day, or finds it if it is
// made: there is exactly one a week. Before it the models of the days to root are
// brought up to date and crew shares that are over released, for those who run no
// server that does so every day.
func (n *Nursery) Remind(ctx context.Context, o Once, req models.NewReminder) (models.ReminderView, error) {
	if _, err := n.refit(ctx); err != nil {
		return models.ReminderView{}, err
	}
	if _, err := n.releaseShares(ctx); err != nil {
		return models.ReminderView{}, err
	}
	return onceIn(ctx, n, n.store.WriteSnapshot, o, req, func(tx *store.Tx, now moment) (models.ReminderView, error) {
		if req.On.After(now.today) {
			return models.ReminderView{}, models.InvalidField("in-the-future", "on", req.On, "is %s, and today is %s", req.On, now.today)
		}
		week := rules.WeekOf(now.at, now.Settings, now.place)
		on := now.today
		if !req.On.IsZero() && req.On != now.today {
			week, on = rules.WeekStart(req.On, now.Settings), req.On
		}
		return n.remind(tx, now, week, on, false)
	})
}

// RemindIfDue makes the scheduled reminder if one is owed, and says whether it
// made one. Weeks that were missed are folded into it.
func (n *Nursery) RemindIfDue(ctx context.Context) (bool, error) {
	return writeIn(ctx, n, n.store.WriteSnapshot, func(tx *store.Tx, now moment) (bool, error) {
		week := rules.WeekOf(now.at, now.Settings, now.place)
		last, err := lastReminder(tx, week)
		if err != nil {
			return false, err
		}
		_, _, due := rules.DueWeek(now.at, now.Settings, now.place, now.MadeAt, weekOf(last))
		if !due {
			return false, nil
		}
		view, err := n.remind(tx, now, week, now.today, true)
		return view.Made, err
	})
}

// remind makes or finds the reminder of a week. Whoever comes second waits for
// the first, then finds what it made.
func (n *Nursery) remind(tx *store.Tx, now moment, week, on models.Date, scheduled bool) (models.ReminderView, error) {
	none := models.ReminderView{}
	if err := tx.HoldReminders(); err != nil {
		return none, err
	}
	found, err := tx.ReminderOf(week)
	if !errors.Is(err, store.ErrNoRow) {
		now.change.forget()
		return models.ReminderView{Reminder: found}, err
	}
	last, err := lastReminder(tx, week.Add(-1))
	if err != nil {
		return none, err
	}
	reminder := models.Reminder{
		ID: n.newID(), Week: week, On: on, MadeAt: now.at, Scheduled: scheduled,
		CoversFrom: rules.CoversFrom(week, now.Settings, now.place, now.MadeAt, weekOf(last)),
	}
	since := reminder.CoversFrom.Add(-1)
	if last != nil {
		since = last.On
	}
	if reminder.Body, err = notices(tx, now, &reminder, since); err != nil {
		return none, err
	}
	reminder.Text = documents.ReminderText(now.Name, reminder, textWidth)
	now.change.made(week.String())
	if err := n.postReminder(tx, now, reminder); err != nil {
		return none, err
	}
	return models.ReminderView{Reminder: reminder, Made: true}, tx.AddReminder(reminder)
}

// lastReminder is the reminder of the latest week up to one, or nil.
func lastReminder(tx *store.Tx, upTo models.Date) (*models.Reminder, error) {
	last, found, err := tx.LastReminderBefore(upTo.Add(1))
	if err != nil || !found {
		return nil, err
	}
	return &last, nil
}

func weekOf(r *models.Reminder) *models.Date {
	if r == nil {
		return nil
	}
	return &r.Week
}

// notices gathers what a reminder says. Since is the day that the one before spoke of.
func notices(tx *store.Tx, now moment, r *models.Reminder, since models.Date) (models.Notices, error) {
	body := models.Notices{
		PotUp: []models.DueItem{}, Due: []models.DueItem{}, Coming: []models.DueItem{},
		Stands: []models.StandNotice{}, Expiring: []models.StandNotice{}, Permits: []models.PermitNotice{}, Shares: []models.StandNotice{},
	}
	stories, err := storiesOn(tx, r.On, now.today)
	if err != nil {
		return body, err
	}
	until := nextReminder(now, r.On)
	for _, s := range stories {
		for _, item := range rules.Flags(s.Record, s.Story, now.Settings) {
			if item.Flag == models.FlagPotUp {
				body.PotUp = append(body.PotUp, item)
			} else {
				body.Due = append(body.Due, item)
			}
		}
		body.Coming = append(body.Coming, rules.Coming(s.Record, s.Story, now.Settings, until)...)
	}
	rules.SortByBench(body.PotUp)
	rules.SortDue(body.Due)
	rules.SortDue(body.Coming)
	if body.Review, err = toReview(tx, now); err != nil {
		return body, err
	}
	if err := aboutStands(tx, now, r, since, &body); err != nil {
		return body, err
	}
	return body, aboutPermits(tx, now, r, since, &body)
}

// nextReminder is the day of the reminder after one that speaks of a day: today as
// it is at this instant, a day that is past as it was at its reminder hour.
func nextReminder(now moment, on models.Date) models.Date {
	at := now.at
	if on != now.today {
		at = rules.ReminderAt(on, now.Settings, now.place)
	}
	return models.DateIn(rules.NextReminder(at, now.Settings, now.place), now.place)
}

func toReview(tx *store.Tx, now moment) ([]models.ReviewNotice, error) {
	records, err := tx.EveryBatchRecord(models.BatchFilter{AwaitsReview: true})
	if err != nil {
		return nil, err
	}
	people, err := now.people()
	if err != nil {
		return nil, err
	}
	list := []models.ReviewNotice{}
	for _, record := range records {
		list = append(list, documents.ReviewNotice(people.Veiled(record)))
	}
	return list, nil
}

func aboutStands(tx *store.Tx, now moment, r *models.Reminder, since models.Date, body *models.Notices) error {
	for stand, err := range tx.EveryStandRecord(since) {
		if err != nil {
			return err
		}
		rules.ReleaseShares(stand, r.On)
		body.Shares = append(body.Shares, rules.ShareNotices(stand, since, r.On)...)
		body.Stands = append(body.Stands, rules.LoadNotices(stand, since, r.On, now.Settings)...)
		body.Expiring = append(body.Expiring, rules.SurveyNotices(stand, since, r.On, now.Settings)...)
	}
	return nil
}

func aboutPermits(tx *store.Tx, now moment, r *models.Reminder, since models.Date, body *models.Notices) error {
	permits, err := tx.PermitsEnding(since, r.On.Add(now.Thresholds.PermitExpiryNotice))
	if err != nil {
		return err
	}
	codes, err := codesCovered(tx, permits)
	if err != nil {
		return err
	}
	body.Permits = append(body.Permits, rules.PermitNotices(permits, codes, since, r.On, now.Settings)...)
	return nil
}

// Reminders lists the reminders, the latest week first.
func (n *Nursery) Reminders(ctx context.Context, page models.Page) (models.List[models.Reminder], error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.List[models.Reminder], error) {
		return tx.Reminders(page)
	})
}

// Reminder shows the reminder of the week that begins on a day.
func (n *Nursery) Reminder(ctx context.Context, week models.Date) (models.Reminder, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.Reminder, error) {
		found, err := tx.ReminderOf(week)
		if errors.Is(err, store.ErrNoRow) {
			return found, models.Errorf(models.NotFound, "no-such-reminder", "there is no reminder of a week that begins on %s", week)
		}
		return found, err
	})
}

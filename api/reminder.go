package api

import (
	"context"
	"net/http"

	"withybed/models"
)

type listRemindersInput struct{ Paged }

func (h handlers) listReminders(ctx context.Context, in *listRemindersInput) (*answered[Page[models.Reminder]], error) {
	list, err := h.nursery.Reminders(ctx, in.page())
	return listed(&in.Paged, list, err)
}

type makeReminderInput struct {
	Keyed
	Body *models.NewReminder // may be left out
}

// reminderOutput tells by its status whether the reminder was made or found.
type reminderOutput struct {
	Status   int
	Location string `header:"Location" doc:"Where the reminder is shown" example:"/v1/reminders/2026-01-12"`
	Body     models.ReminderView
}

func (h handlers) makeReminder(ctx context.Context, in *makeReminderInput) (*reminderOutput, error) {
	var req models.NewReminder
	if in.Body != nil {
		req = *in.Body
	}
	view, err := h.nursery.Remind(ctx, in.once("reminders"), req)
	if err != nil {
		return nil, err
	}
	out := &reminderOutput{Status: http.StatusOK, Location: pathOf("reminders", view.Week.String()), Body: view}
	if view.Made {
		out.Status = http.StatusCreated
	}
	return out, nil
}

type showReminderInput struct {
	Week models.Date `path:"week" doc:"Day on which the week of the reminder begins" example:"2026-01-12"`
}

func (h handlers) showReminder(ctx context.Context, in *showReminderInput) (*answered[models.Reminder], error) {
	return answer(h.nursery.Reminder(ctx, in.Week))
}

// Remind makes the reminder of a week, or finds it if it is made.
func (c *Client) Remind(ctx context.Context, req models.NewReminder) (models.ReminderView, error) {
	view, _, err := post[models.ReminderView](ctx, c, pathOf("reminders"), req)
	return view, err
}

// Reminders lists the reminders, the latest week first.
func (c *Client) Reminders(ctx context.Context) All[models.Reminder] {
	return pages[models.Reminder](ctx, c, pathOf("reminders"), largePages())
}

// Reminder shows the reminder of the week that begins on a day.
func (c *Client) Reminder(ctx context.Context, week models.Date) (models.Reminder, error) {
	reminder, _, err := get[models.Reminder](ctx, c, pathOf("reminders", week.String()), nil)
	return reminder, err
}

package nursery_test

import (
	"slices"
	"strings"
	"testing"

	"withybed/models"
)

func (h *house) remindIfDue(made bool) {
	h.t.Helper()
	got, err := h.RemindIfDue(h.ctx)
	if must(h, got, err); got != made {
		h.t.Errorf("at %s a reminder is made: %t", h.at, got)
	}
}

// weeks are the weeks of all reminders, with the first each stands for.
func (h *house) weeks() []string {
	h.t.Helper()
	list, err := h.Reminders(h.ctx, models.Page{})
	must(h, list, err)
	weeks := []string{}
	for _, r := range list.Items {
		weeks = append(weeks, r.CoversFrom.String()+" to "+r.Week.String())
	}
	return weeks
}

// The nursery is made on a Sunday; its reminders are of Mondays at 7.
func TestThereIsOneReminderAWeek(t *testing.T) {
	each(t, func(h *house) {
		h.remindIfDue(false)
		h.goTo("2026-03-02 06:59")
		h.remindIfDue(false)
		h.goTo("2026-03-02 07:00")
		h.remindIfDue(true)
		h.remindIfDue(false)
		h.goTo("2026-03-09 06:59")
		h.remindIfDue(false)
		h.goTo("2026-03-11 03:00") // late
		h.remindIfDue(true)
		h.goTo("2026-04-08 15:00") // weeks were missed
		h.remindIfDue(true)
		h.remindIfDue(false)
		want := []string{"2026-03-16 to 2026-04-06", "2026-03-09 to 2026-03-09", "2026-03-02 to 2026-03-02"}
		if got := h.weeks(); !slices.Equal(got, want) {
			h.t.Errorf("the weeks are %q, want %q", got, want)
		}
		found, err := h.Reminder(h.ctx, date("2026-04-06"))
		if must(h, found, err); !found.Scheduled || found.On != date("2026-04-08") || !found.MadeAt.Equal(h.at) || found.Text == "" {
			h.t.Errorf("%+v", found)
		}
		_, err = h.Reminder(h.ctx, date("2026-03-16"))
		h.refused(err, models.NotFound, "no-such-reminder")
	})
}

func TestRemindersThatAreAskedFor(t *testing.T) {
	each(t, func(h *house) {
		remind := func(req models.NewReminder) models.ReminderView {
			h.t.Helper()
			view, err := h.Remind(h.ctx, unkeyed, req)
			return must(h, view, err)
		}
		first := remind(models.NewReminder{})
		if !first.Made || first.Scheduled || first.Week != date("2026-02-23") || first.On != date("2026-03-01") {
			h.t.Errorf("%+v", first)
		}
		again := remind(models.NewReminder{On: date("2026-02-24")})
		if again.Made || again.ID != first.ID {
			h.t.Errorf("asked again: %+v", again)
		}
		past := remind(models.NewReminder{On: date("2026-02-22")})
		if !past.Made || past.Week != date("2026-02-16") || past.On != date("2026-02-22") {
			h.t.Errorf("of a week that is past: %+v", past)
		}
		_, err := h.Remind(h.ctx, unkeyed, models.NewReminder{On: date("2026-03-02")})
		h.refused(err, models.Invalid, "in-the-future", "today is 2026-03-01")

		h.goTo("2026-03-02 06:30") // the new week begins in half an hour
		if early := remind(models.NewReminder{On: date("2026-03-02")}); early.Made || early.ID != first.ID {
			h.t.Errorf("%+v", early)
		}
		h.goTo("2026-03-02 08:00")
		byHand := remind(models.NewReminder{On: date("2026-03-02")})
		if !byHand.Made || byHand.Week != date("2026-03-02") {
			h.t.Errorf("%+v", byHand)
		}
		h.remindIfDue(false) // the week has one
		keyedView, err := h.Remind(h.ctx, keyed("r"), models.NewReminder{On: date("2026-02-10")})
		retried, err2 := h.Remind(h.ctx, keyed("r"), models.NewReminder{On: date("2026-02-10")})
		h.sameJSON("sent again", must(h, keyedView, err), must(h, retried, err2))
	})
}

func TestWhatAReminderSays(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		h.dueAndComing()
		view, err := h.Remind(h.ctx, unkeyed, models.NewReminder{})
		must(h, view, err)
		body := view.Body
		if got := flagsOf(body.PotUp); !slices.Equal(got, []string{"TB-02-2026-1 pot_up"}) {
			h.t.Errorf("to pot up: %q", got)
		}
		if got := flagsOf(body.Due); !slices.Equal(got, []string{"TB-01-2026-1 stick"}) {
			h.t.Errorf("due: %q", got)
		}
		if got := flagsOf(body.Coming); !slices.Equal(got, []string{"TB-01-2026-2 stick"}) {
			h.t.Errorf("coming: %q", got)
		}
		if len(body.Review) != 1 || body.Review[0].Batch != "TB-01-2026-2" || !strings.Contains(body.Review[0].Text, "two crews cut on one morning") {
			h.t.Errorf("to review: %+v", body.Review)
		}
		if len(body.Stands) != 1 || body.Stands[0].Stand != "TB-01" || !body.Stands[0].Crossed {
			h.t.Errorf("stands: %+v", body.Stands)
		}
		for _, says := range []string{"Wrenlow Valley", "TB-01-2026-1", "TB-01-2026-2", "TB-02-2026-1", "TB-01"} {
			if !strings.Contains(view.Text, says) {
				h.t.Errorf("the text does not say %q:\n%s", says, view.Text)
			}
		}
		found, err := h.Reminder(h.ctx, view.Week)
		h.sameJSON("read again", view.Reminder, must(h, found, err))
	})
}

// dueAndComing enters a batch for each part of a reminder, on Sunday 1 March.
func (h *house) dueAndComing() {
	h.t.Helper()
	h.log(cutOf("TB-01", "2026-02-20", 30))
	h.log(cutOf("TB-01", "2026-02-28", 12, alreadyCut))
	tray := h.log(cutOf("TB-02", "2026-01-20", 5, stuckOn("2026-01-21", "B2"))).Code
	view, err := h.Check(h.ctx, unkeyed, tray, models.NewCheck{CheckedOn: date("2026-02-25"), Rooted: ptr(12), PottingRoots: ptr(10)})
	must(h, view, err)
}

// A reminder lists what falls due before the next one, whatever its hour.
func TestAnEveningReminderLooksAWeekAhead(t *testing.T) {
	each(t, func(h *house) {
		edited, err := h.Edit(h.ctx, 1, models.NurseryEdit{ReminderHour: models.SetTo(18)})
		must(h, edited, err)
		h.counted("TB-01")
		h.goTo("2026-03-02 18:00")
		tray := h.log(cutOf("TB-01", "2026-02-20", 5, stuckOn("2026-02-21", "B2"))).Code // looked at first on 7 March
		h.remindIfDue(true)
		made, err := h.Reminder(h.ctx, date("2026-03-02"))
		if must(h, made, err); !slices.Equal(flagsOf(made.Body.Coming), []string{tray + " check"}) {
			h.t.Errorf("coming before the next reminder is %q", flagsOf(made.Body.Coming))
		}
	})
}

package nursery_test

import (
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
)

// watchedBatches logs batches of TB-01 that rooted by a law with a median of nine
// days, and one that was stuck three days ago.
func watchedBatches(h *house) (young string) {
	h.counted("TB-01")
	for range 4 {
		code := h.log(cutOf("TB-01", "2026-01-05", 2, stuckOn("2026-01-06", "B2"))).Code
		for _, look := range []struct {
			on     string
			rooted int
		}{{"2026-01-12", 1}, {"2026-01-15", 3}, {"2026-01-20", 4}, {"2026-01-30", 5}, {"2026-02-25", 5}} {
			view, err := h.Check(h.ctx, unkeyed, code, models.NewCheck{CheckedOn: date(look.on), Rooted: ptr(look.rooted)})
			must(h, view, err)
		}
	}
	return h.log(cutOf("TB-01", "2026-02-24", 2, stuckOn("2026-02-25", "B2"))).Code
}

func (h *house) checkSince(code, on string) string {
	h.t.Helper()
	due, err := h.Due(h.ctx, nursery.DueQuery{On: date(on)})
	must(h, due, err)
	for _, item := range due.Items {
		if item.Batch == code && item.Flag == models.FlagCheck {
			return item.Since.String() + ": " + item.Reason
		}
	}
	return ""
}

func TestModelsBringLooksForward(t *testing.T) {
	each(t, func(h *house) {
		young := watchedBatches(h)
		if got := h.checkSince(young, "2026-03-20"); !strings.HasPrefix(got, "2026-03-11: ") {
			t := h.t
			t.Fatalf("without models a look is due from %s", got)
		}
		did, err := h.FitModels(h.ctx)
		if must(h, did, err); !did {
			h.t.Fatal("no models were fitted")
		}
		if did, err = h.FitModels(h.ctx); must(h, did, err) {
			h.t.Error("models were fitted twice on a day")
		}
		early := h.checkSince(young, "2026-03-08")
		if !strings.Contains(early, "by 4 batches") || !strings.Contains(early, "look before the usual day, 2026-03-11") {
			h.t.Errorf("with models: %q", early)
		}
		if got := h.checkSince(young, "2026-02-28"); got != "" {
			h.t.Errorf("before the models were there: %q", got)
		}
		view, err := h.Batch(h.ctx, young)
		must(h, view, err)
		h.goTo("2026-03-08 10:00")
		if view, err = h.Batch(h.ctx, young); must(h, view, err).Flags[0].Flag != models.FlagCheck {
			h.t.Errorf("the batch asks for %+v", view.Flags)
		}
	})
}

// TestModelsAreWrittenWhenTheyChange wants a day without entries to write nothing,
// and a new batch to end the model it moves.
func TestModelsAreWrittenWhenTheyChange(t *testing.T) {
	each(t, func(h *house) {
		watchedBatches(h)
		count := func() int { return len(h.rows(h.store.SQL(), "SELECT id FROM rooting_models")) }
		fit := func(minute string) {
			h.goTo(minute)
			did, err := h.FitModels(h.ctx)
			must(h, did, err)
		}
		fit("2026-03-01 10:00")
		first := count()
		fit("2026-03-02 10:00")
		if first == 0 || count() != first {
			h.t.Fatalf("%d models, and a day later %d", first, count())
		}
		code := h.log(cutOf("TB-01", "2026-01-04", 2, stuckOn("2026-01-05", "B2"))).Code
		view, err := h.Check(h.ctx, unkeyed, code, models.NewCheck{CheckedOn: date("2026-01-25"), Rooted: ptr(3)})
		must(h, view, err)
		fit("2026-03-03 10:00")
		if count() <= first {
			h.t.Errorf("still %d models after a batch that rooted later", count())
		}
	})
}

// TestRemindersHaveModels wants who never runs a server to have them too.
func TestRemindersHaveModels(t *testing.T) {
	each(t, func(h *house) {
		watchedBatches(h)
		view, err := h.Remind(h.ctx, unkeyed, models.NewReminder{})
		must(h, view, err)
		if len(h.rows(h.store.SQL(), "SELECT id FROM rooting_models")) == 0 {
			h.t.Error("a reminder was made, and no models")
		}
	})
}

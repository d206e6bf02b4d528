package nursery_test

import (
	"fmt"
	"slices"
	"testing"

	"withybed/models"
	"withybed/models/store"
)

// flagHistory is the history of a batch's flags, in short.
func (h *house) flagHistory(code string) []string {
	h.t.Helper()
	var spans []models.FlagSpan
	err := h.store.Read(h.ctx, func(tx *store.Tx) error {
		record, err := tx.BatchRecord(models.NameKey(code))
		if err != nil {
			return err
		}
		spans, err = tx.FlagHistory(record.ID)
		return err
	})
	must(h, spans, err)
	lines := []string{}
	for _, s := range spans {
		if s.Reason == "" {
			h.t.Errorf("%s was raised for no reason", s.Flag)
		}
		lines = append(lines, fmt.Sprintf("%s %s to %s", s.Flag, s.RaisedOn, s.ClearedOn))
	}
	return lines
}

func (h *house) writeFlags(did bool) {
	h.t.Helper()
	got, err := h.WriteFlags(h.ctx)
	if must(h, got, err); got != did {
		h.t.Errorf("the flags of the day are written: %t", got)
	}
}

func TestTheHistoryOfFlags(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		code := h.log(cutOf("TB-01", "2026-02-27", 4)).Code
		h.writeFlags(true)
		h.writeFlags(false)
		want := func(lines ...string) {
			h.t.Helper()
			if got := h.flagHistory(code); !slices.Equal(got, lines) {
				h.t.Errorf("the history is %q, want %q", got, lines)
			}
		}
		want("stick 2026-03-01 to ")
		stuck, err := h.Stick(h.ctx, unkeyed, code, models.NewSticking{StuckOn: date("2026-03-01"), Count: 12, Tray: warmTray("B2")})
		must(h, stuck, err)
		h.writeFlags(false) // once a day, and no more
		want("stick 2026-03-01 to ")
		h.goTo("2026-03-02 00:01")
		h.writeFlags(true)
		want("stick 2026-03-01 to 2026-03-02")
		h.goTo("2026-03-15 12:00") // a run that comes late, after the clocks changed
		h.writeFlags(true)
		want("stick 2026-03-01 to 2026-03-02", "check 2026-03-15 to ")
		h.goTo("2026-03-16 12:00")
		h.writeFlags(true)
		want("stick 2026-03-01 to 2026-03-02", "check 2026-03-15 to ")
		looked, err := h.Check(h.ctx, unkeyed, code, models.NewCheck{CheckedOn: date("2026-03-16"), Rooted: ptr(0)})
		must(h, looked, err)
		h.goTo("2026-03-17 12:00")
		h.writeFlags(true)
		h.goTo("2026-03-30 12:00")
		h.writeFlags(true)
		want("stick 2026-03-01 to 2026-03-02", "check 2026-03-15 to 2026-03-17", "check 2026-03-30 to ")
		closed, err := h.Decide(h.ctx, unkeyed, code, models.NewDecision{On: date("2026-03-30"), Action: models.CloseBatch})
		must(h, closed, err)
		h.goTo("2026-03-31 12:00")
		h.writeFlags(true)
		want("stick 2026-03-01 to 2026-03-02", "check 2026-03-15 to 2026-03-17", "check 2026-03-30 to 2026-03-31")
	})
}

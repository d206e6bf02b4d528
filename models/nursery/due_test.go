package nursery_test

import (
	"slices"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
)

func TestWhatIsDue(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		inHand := h.log(cutOf("TB-01", "2026-02-27", 2)).Code
		tray := h.log(cutOf("TB-01", "2026-02-01", 2, stuckOn("2026-02-02", "B2"))).Code
		stakes := h.log(cutOf("TB-01", "2026-02-01", 2, func(r *models.NewBatch) { r.Purpose = models.LiveStakes })).Code
		for _, c := range []struct {
			name  string
			query nursery.DueQuery
			want  []string
		}{
			{"today", nursery.DueQuery{}, []string{inHand + " stick", tray + " check"}},
			{"the day before it is", nursery.DueQuery{On: date("2026-02-15")}, []string{}},
			{"the day it is", nursery.DueQuery{On: date("2026-02-16")}, []string{tray + " check"}},
			{"on a bench", nursery.DueQuery{Bench: "b2"}, []string{tray + " check"}},
			{"one flag", nursery.DueQuery{Flag: models.FlagStick}, []string{inHand + " stick"}},
		} {
			due, err := h.Due(h.ctx, c.query)
			if must(h, due, err); !slices.Equal(flagsOf(due.Items), c.want) {
				h.t.Errorf("%s: %q, want %q", c.name, flagsOf(due.Items), c.want)
			}
			for _, item := range due.Items {
				if item.Batch == stakes || item.Reason == "" || item.Count == 0 {
					h.t.Errorf("%s: %+v", c.name, item)
				}
			}
		}
		closed, err := h.Decide(h.ctx, unkeyed, tray, models.NewDecision{On: date("2026-03-01"), Action: models.CloseBatch})
		must(h, closed, err)
		for on, want := range map[string][]string{"2026-02-16": {tray + " check"}, "2026-03-01": {inHand + " stick"}} {
			due, err := h.Due(h.ctx, nursery.DueQuery{On: date(on)})
			if must(h, due, err); !slices.Equal(flagsOf(due.Items), want) {
				h.t.Errorf("after the close, on %s: %q, want %q", on, flagsOf(due.Items), want)
			}
		}
	})
}

// What was due on a day that is past stays as it was, also once the batch has
// ended, however it ended.
func TestWhatWasDueStaysAsItWas(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		closed := h.log(cutOf("TB-01", "2026-01-10", 2, stuckOn("2026-01-11", "B2"))).Code
		potted := h.log(cutOf("TB-01", "2026-01-12", 2, stuckOn("2026-01-13", "B2"))).Code
		h.log(cutOf("TB-01", "2026-01-14", 2)) // waits for ever
		h.log(cutOf("TB-01", "2026-01-14", 2, func(r *models.NewBatch) { r.Purpose = models.Weaving }))
		looked, err := h.Check(h.ctx, unkeyed, potted, models.NewCheck{CheckedOn: date("2026-02-10"), Rooted: ptr(6), Unrooted: ptr(0), PottingRoots: ptr(6)})
		must(h, looked, err)
		before := h.dueByDay("2026-01-10", 49)
		pot, err := h.Pot(h.ctx, unkeyed, potted, models.NewPotting{PottedOn: date("2026-02-28"), Count: 6})
		must(h, pot, err)
		end, err := h.Decide(h.ctx, unkeyed, closed, models.NewDecision{On: date("2026-02-28"), Action: models.CloseBatch})
		must(h, end, err)
		h.sameJSON("before both ended", before, h.dueByDay("2026-01-10", 49))
		if left := h.dueByDay("2026-02-28", 1)[0]; len(left) != 1 {
			h.t.Errorf("on the day they ended %q are due", left)
		}
	})
}

// dueByDay is what is due on each of n days.
func (h *house) dueByDay(from string, n int) (days [][]string) {
	h.t.Helper()
	for i := range n {
		due, err := h.Due(h.ctx, nursery.DueQuery{On: date(from).Add(i)})
		days = append(days, flagsOf(must(h, due, err).Items))
	}
	return days
}

func TestRootingByGroup(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		for i, stand := range []string{"TB-01", "TB-02"} {
			code := h.log(cutOf(stand, "2026-01-10", 10, stuckOn("2026-01-11", "B2"))).Code
			view, err := h.Check(h.ctx, unkeyed, code, models.NewCheck{CheckedOn: date("2026-02-01"), Rooted: ptr(10 * (i + 1))})
			must(h, view, err)
		}
		h.log(cutOf("TB-01", "2026-01-10", 5)) // never stuck, and in no group
		report, err := h.RootingRate(h.ctx, nursery.RootingQuery{By: []string{"stand"}})
		if must(h, report, err); len(report.Groups) != 2 || report.On != date("2026-03-01") {
			h.t.Fatalf("%+v", report)
		}
		for i, group := range report.Groups {
			if group.Cuttings != 30 || group.Rooted != 10*(i+1) || group.Closed != 0 || group.Key["stand"] != []string{"TB-01", "TB-02"}[i] {
				h.t.Errorf("%+v", group)
			}
		}
		early, err := h.RootingRate(h.ctx, nursery.RootingQuery{RootingPick: nursery.RootingPick{On: date("2026-01-31"), Stand: "tb-02"}, By: []string{"taxon"}})
		if must(h, early, err); len(early.Groups) != 1 || early.Groups[0].WithoutChecks != 1 {
			h.t.Errorf("before the look: %+v", early)
		}
		_, err = h.RootingRate(h.ctx, nursery.RootingQuery{By: []string{"weather"}})
		if e := models.AsError(err); e == nil || e.Kind == models.Internal {
			h.t.Errorf("by weather: %v", err)
		}
		_, err = h.RootingRate(h.ctx, nursery.RootingQuery{RootingPick: nursery.RootingPick{Stand: "TB-3"}})
		h.refused(err, models.Unknown, "unknown-stand")
	})
}

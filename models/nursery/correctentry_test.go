package nursery_test

import (
	"strings"
	"testing"

	"withybed/models"
)

func entry(n int, change func(c *models.Changes)) models.NewCorrection {
	req := correcting(change)
	req.Entry = n
	return req
}

func voiding(n int) models.NewCorrection {
	return models.NewCorrection{Entry: n, Void: true, Why: "entered twice", By: "OP"}
}

// tended is a batch of 72 cuttings: 2 soaked, 60 stuck, looked at twice, 20 potted and a
// decision. Its entries are 2 to 7.
func (h *house) tended() string {
	h.t.Helper()
	code := h.log(cutOf("TB-01", "2026-01-10", 24)).Code
	must1(h, func() (models.BatchView, error) {
		return h.Move(h.ctx, unkeyed, code, models.NewMove{On: date("2026-01-10"), To: models.ToSoak, Count: 2})
	})
	must1(h, func() (models.BatchView, error) {
		return h.Stick(h.ctx, unkeyed, code, models.NewSticking{StuckOn: date("2026-01-12"), Count: 60, Tray: warmTray("B2")})
	})
	must1(h, func() (models.BatchView, error) {
		return h.Check(h.ctx, unkeyed, code, models.NewCheck{CheckedOn: date("2026-02-01"), Rooted: ptr(30), Lost: models.Losses{models.RottedBase: 3}, CheckedBy: "RQ"})
	})
	must1(h, func() (models.BatchView, error) {
		return h.Check(h.ctx, unkeyed, code, models.NewCheck{CheckedOn: date("2026-02-15"), Rooted: ptr(40), CheckedBy: "RQ"})
	})
	must1(h, func() (models.BatchView, error) {
		return h.Pot(h.ctx, unkeyed, code, models.NewPotting{PottedOn: date("2026-02-16"), Count: 20, Bench: "Yard 1"})
	})
	must1(h, func() (models.BatchView, error) {
		return h.Decide(h.ctx, unkeyed, code, models.NewDecision{On: date("2026-02-20"), Action: models.Keep, Until: date("2026-03-20"), By: "OP"})
	})
	return code
}

func TestEntriesAreCorrectedInPlace(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		code := h.tended()
		version := 7
		for _, c := range []struct {
			req  models.NewCorrection
			says string
		}{
			{entry(2, func(c *models.Changes) { c.Count = models.SetTo(4) }), "OP corrected the move (entry 2): count from 2 to 4; why: counted again"},
			{entry(3, func(c *models.Changes) { c.Count, c.BottomHeat = models.SetTo(61), models.SetNull[models.BottomHeat]() }), "corrected the sticking (entry 3): bottom heat was 21 and is none, count from 60 to 61"},
			{entry(3, func(c *models.Changes) { c.Treatment = models.SetTo(models.Treatment{Wound: "two strips"}) }), "treatment from IBA 3000 ppm to wound: two strips"},
			{entry(4, func(c *models.Changes) {
				c.Rooted, c.Lost = models.SetTo(31), models.SetTo(models.Losses{"mould": 2, "rotted_base": 1})
			}),
				"corrected the check (entry 4): lost from 3 rotted base to 1 rotted base, 2 mould, rooted from 30 to 31"},
			{entry(5, func(c *models.Changes) {
				c.CheckedOn, c.CheckedBy, c.Method = models.SetTo(date("2026-02-14")), models.SetTo("TS"), models.SetTo(models.Tug)
			}),
				"checked by from RQ to TS, checked on from 2026-02-15 to 2026-02-14, method is tug"},
			{entry(6, func(c *models.Changes) { c.Count, c.Bench = models.SetTo(22), models.SetNull[string]() }), "corrected the potting (entry 6): bench was Yard 1 and is none, count from 20 to 22"},
			{entry(7, func(c *models.Changes) {
				c.Action, c.Until, c.Why = models.SetTo(models.CloseBatch), models.SetNull[models.Date](), models.SetTo("all potted")
			}),
				"corrected the decision (entry 7): action from keep to close, until was 2026-03-20 and is none, the reason is all potted"},
		} {
			version++
			view := h.correct(code, c.req)
			if view.Version != version {
				h.t.Errorf("version %d, want %d", view.Version, version)
			}
			h.tells(view, c.says)
		}
		view, err := h.Batch(h.ctx, code)
		must(h, view, err)
		if view.Sticking.Count != 61 || view.Sticking.BottomHeat != nil || view.Sticking.Label != "wound: two strips" || view.Counts.Potted != 22 || view.Counts.Rooted != 18 ||
			view.Counts.LostByCause["mould"] != 2 || view.State != models.Ended || view.Counts.UnrootedAtEnd != 18 || len(view.Corrections) != 7 {
			h.t.Errorf("%+v %+v", view, view.Counts)
		}
		if summary := h.batchesOf(batchesOfAll)[0]; summary.Stuck != 61 {
			h.t.Errorf("%+v", summary)
		}
	})
}

func TestEntriesThatNeverWereAreTakenOut(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		code := h.tended()
		_, err := h.Correct(h.ctx, unkeyed, code, voiding(3))
		h.refused(err, models.Invalid, "later-entry", "without it the check of "+code+" on 2026-02-01 (entry 4) could not be", "has not been stuck")
		view := h.correct(code, voiding(5))
		h.tells(view, "OP took out the check (entry 5): entered twice; it said: checked by RQ, checked on 2026-02-15, rooted 40")
		if view.Counts.Rooted != 10 || view.Counts.Potted != 20 {
			h.t.Errorf("%+v", view.Counts)
		}
		for _, n := range []int{7, 6, 4, 3, 2} {
			view = h.correct(code, voiding(n))
		}
		if view.Sticking != nil || view.Counts.InHand != 72 || view.Stage != models.StageCut || view.Version != 13 {
			h.t.Errorf("%+v", view)
		}
		for _, n := range []int{2, 8, 99} {
			code2 := map[bool]string{true: "not-correctable", false: "unknown-entry"}[n == 8]
			_, err := h.Correct(h.ctx, unkeyed, code, voiding(n))
			if e := models.AsError(err); e == nil || e.Code != code2 {
				h.t.Errorf("entry %d: %v", n, err)
			}
		}
		stuck, err := h.Stick(h.ctx, unkeyed, code, models.NewSticking{StuckOn: date("2026-01-14"), Count: 5})
		if must(h, stuck, err); stuck.Sticking.Count != 5 || stuck.Counts.Stuck != 5 {
			h.t.Errorf("%+v", stuck)
		}
		again, err := h.Batch(h.ctx, code)
		if must(h, again, err); again.Sticking == nil || again.Sticking.Count != 5 || again.Sticking.Medium != "" {
			h.t.Errorf("%+v", again.Sticking)
		}
	})
}

// A correction that cannot be is refused by the rules of the entry, with the fields as
// they were sent, and names the entry that stands against it.
func TestEntriesThatCannotBeCorrectedSo(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		code := h.tended()
		for _, c := range []struct {
			req   models.NewCorrection
			code  string
			field string
			says  string
		}{
			{entry(4, func(c *models.Changes) { c.Rooted = models.SetTo(61) }), "unbalanced", "changes.rooted", "60 stood in the tray"},
			{entry(4, func(c *models.Changes) { c.CheckedOn = models.SetTo(date("2026-03-02")) }), "in-the-future", "changes.checked_on", "today is 2026-03-01"},
			{entry(4, func(c *models.Changes) { c.Rooted = models.SetTo(45) }), "later-entry", "changes.checked_on", "the check of 2026-02-15 (entry 5) could not be"},
			{entry(4, func(c *models.Changes) { c.Lost = models.SetTo(models.Losses{"gremlins": 2}) }), "unknown-word", "changes.lost", "gremlins"},
			{entry(4, func(c *models.Changes) { c.StuckOn = models.SetTo(date("2026-02-01")) }), "invalid", "changes.stuck_on", "does not belong to a check"},
			{entry(3, func(c *models.Changes) { c.Count = models.SetTo(20) }), "later-entry", "changes.stuck_on", "entry 4"},
			{entry(2, func(c *models.Changes) { c.Cause = models.SetTo(models.Dried) }), "contradiction", "changes.cause", "goes with cuttings that are lost"},
			{entry(7, func(c *models.Changes) {
				c.Action, c.Until = models.SetTo(models.Restick), models.SetNull[models.Date]()
			}), "not-correctable", "changes.action", "makes a sister"},
			{entry(6, func(c *models.Changes) { c.Count = models.SetNull[int]() }), "invalid", "changes.count", "is 0"},
			{entry(1, func(c *models.Changes) { c.Count = models.SetTo(3) }), "unknown-entry", "entry", "no entry 1"},
			{func() models.NewCorrection { r := voiding(4); r.Changes.Rooted = models.SetTo(1); return r }(), "contradiction", "changes", "given with void"},
			{func() models.NewCorrection { r := voiding(4); r.AlreadyCut = true; return r }(), "contradiction", "already_cut", "goes with a correction of the cut"},
		} {
			_, err := h.Correct(h.ctx, unkeyed, code, c.req)
			e := models.AsError(err)
			if e == nil || e.Code != c.code || !strings.Contains(e.Error(), c.says) || len(e.Fields) == 0 || e.Fields[0].Name != c.field {
				h.t.Errorf("%+v:\n%v, want %s of %s with %q", c.req, err, c.code, c.field, c.says)
			}
		}
		view, err := h.Batch(h.ctx, code)
		if must(h, view, err); view.Version != 7 || len(view.Corrections) != 0 {
			h.t.Errorf("%+v", view)
		}
	})
}

// The number of a sister is corrected with the split that made her.
func TestTheCuttingsOfASisterAreCorrected(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		code := h.log(cutOf("TB-01", "2026-02-10", 24, func(r *models.NewBatch) { r.Note = "north end" })).Code
		split, err := h.Split(h.ctx, unkeyed, code, models.NewSplit{On: date("2026-02-12"), Arms: []models.Arm{{Count: 20, StuckOn: date("2026-02-12")}, {Count: 10}}})
		sister := must(h, split, err).Sisters[0].Code
		view := h.correct(sister, correcting(func(c *models.Changes) { c.Cuttings, c.Note = models.SetTo(25), models.SetTo("south end") }))
		if view.Cuttings != 25 || view.Counts.InHand != 5 || view.Note != "south end" || view.Counts.Stuck != 20 {
			h.t.Errorf("%+v", view)
		}
		first, err := h.Batch(h.ctx, code)
		if must(h, first, err); first.Counts.ToSisters != 35 || first.Counts.InHand != 37 || first.Version != 3 || first.Sisters[0].Cuttings != 25 {
			h.t.Errorf("%+v", first)
		}
		h.tells(first, "OP corrected the split (entry 2): count from 20 to 25; why: counted again")
		for _, c := range []struct {
			req  models.NewCorrection
			code string
		}{
			{correcting(func(c *models.Changes) { c.Cuttings = models.SetTo(19) }), "later-entry"},
			{correcting(func(c *models.Changes) { c.Cuttings = models.SetTo(63) }), "too-many-cuttings"},
			{correcting(func(c *models.Changes) { c.StemsCut = models.SetTo(3) }), "invalid"},
			{correcting(func(c *models.Changes) { c.Stand = models.SetTo("TB-01") }), "invalid"},
			{correcting(func(c *models.Changes) { c.RecordNumber = models.SetTo("T-1") }), "not-correctable"},
		} {
			_, err := h.Correct(h.ctx, unkeyed, sister, c.req)
			if e := models.AsError(err); e == nil || e.Code != c.code {
				h.t.Errorf("%v, want %s", err, c.code)
			}
		}
		_, err = h.Correct(h.ctx, unkeyed, code, entry(2, func(c *models.Changes) { c.Count = models.SetTo(3) }))
		h.refused(err, models.Invalid, "not-correctable", "correct the cuttings of "+sister)
		h.correct(code, correcting(func(c *models.Changes) { c.Note, c.Kind = models.SetTo("west end"), models.SetTo(models.Softwood) }))
		view, err = h.Batch(h.ctx, sister)
		if must(h, view, err); view.Note != "south end" || view.Kind != models.Softwood {
			h.t.Errorf("the sister says %+v", view.Details)
		}
	})
}

package nursery_test

import (
	"testing"

	"withybed/models"
	"withybed/models/nursery"
)

// Sisters have no stems, no shares and no parents of their own, keep the stand
// and day, and go on soaking since the day their cuttings were put to soak.
func TestSistersBeginWhereTheirCuttingsWere(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.goTo("2026-01-20 10:00")
		code := h.log(cutOf("TB-01", "2026-01-17", 24, func(r *models.NewBatch) { r.RecordNumber = "T-1" })).Code
		moved, err := h.Move(h.ctx, unkeyed, code, models.NewMove{On: date("2026-01-18"), To: models.ToSoak, Count: 60})
		must(h, moved, err)
		split, err := h.Split(h.ctx, keyed("split"), code, models.NewSplit{On: date("2026-01-20"), Arms: []models.Arm{
			{Count: 20}, {Count: 24, Tray: warmTray("B2")},
		}})
		must(h, split, err)
		if split.Batch.Counts.ToSisters != 44 || split.Batch.Counts.Soaking != 28 || split.Batch.StemsCut != 24 || len(split.Batch.Sisters) != 2 || split.Batch.Version != 3 {
			h.t.Errorf("%+v", split.Batch)
		}
		waiting, stuck := split.Sisters[0], split.Sisters[1]
		if waiting.Code != "TB-01-2026-2" || stuck.Code != "TB-01-2026-3" || split.Batch.Sisters[0].Code != waiting.Code {
			h.t.Errorf("the sisters are %s and %s", waiting.Code, stuck.Code)
		}
		for _, sister := range split.Sisters {
			if sister.StemsCut != 0 || sister.HarvestFraction != nil || sister.StandFraction != nil || sister.Survey != nil || sister.ParentPlants != nil || sister.RecordNumber != "" {
				h.t.Errorf("%s has shares of its own: %+v", sister.Code, sister)
			}
			if sister.SplitFrom != code || sister.Stand != "TB-01" || sister.CollectedOn != date("2026-01-17") || sister.CollectedBy != "RQ" || sister.Kind != models.Hardwood {
				h.t.Errorf("%+v", sister)
			}
			again, err := h.Batch(h.ctx, sister.Code)
			h.sameJSON("read again", sister, must(h, again, err))
		}
		if waiting.Counts.InHand != 12 || waiting.Counts.Soaking != 8 || stuck.Counts.Stuck != 24 || stuck.Sticking.StuckOn != date("2026-01-20") {
			h.t.Errorf("%+v and %+v", waiting.Counts, stuck.Counts)
		}
		h.soakEndsWithItsFirstDay(waiting.Code)
		retried, err := h.Split(h.ctx, keyed("split"), code, models.NewSplit{On: date("2026-01-20"), Arms: []models.Arm{
			{Count: 20}, {Count: 24, Tray: warmTray("B2")},
		}})
		h.sameJSON("sent again", split, must(h, retried, err))
		if next := h.log(cutOf("TB-01", "2026-01-19", 1)); next.Code != "TB-01-2026-4" {
			h.t.Errorf("the next batch is %s", next.Code)
		}
		if stems, lines := h.ledger("TB-01"); stems != 25 || lines != 2 {
			h.t.Errorf("%d stems in %d lines", stems, lines)
		}
	})
}

// Dogwood may soak for 10 days, and two days before that it is asked about.
func (h *house) soakEndsWithItsFirstDay(code string) {
	h.t.Helper()
	for on, asked := range map[string]bool{"2026-01-25": false, "2026-01-26": true} {
		due, err := h.Due(h.ctx, nursery.DueQuery{On: date(on), Flag: models.FlagSoak})
		must(h, due, err)
		found := false
		for _, item := range due.Items {
			found = found || item.Batch == code && item.Count == 8
		}
		if found != asked {
			h.t.Errorf("on %s the soak of %s is asked about: %t", on, code, found)
		}
	}
}

func TestSplitsThatCannotBe(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		code := h.log(cutOf("TB-01", "2026-02-17", 4)).Code
		_, err := h.Split(h.ctx, unkeyed, code, models.NewSplit{On: date("2026-02-18"), Arms: []models.Arm{{Count: 8}, {Count: 5}}})
		h.refused(err, models.Invalid, "too-many-cuttings", "13")
		_, err = h.Split(h.ctx, unkeyed, code, models.NewSplit{On: date("2026-02-18")})
		h.refused(err, models.Invalid, "invalid", "arms")
		if n := len(h.batchesOf(nursery.BatchQuery{})); n != 1 {
			h.t.Errorf("there are %d batches", n)
		}
	})
}

func TestDecisions(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		code := h.log(cutOf("TB-01", "2026-01-10", 10, stuckOn("2026-01-11", "B2"))).Code
		check, err := h.Check(h.ctx, unkeyed, code, models.NewCheck{CheckedOn: date("2026-02-01"), Rooted: ptr(10)})
		must(h, check, err)
		kept, err := h.Decide(h.ctx, unkeyed, code, models.NewDecision{On: date("2026-02-01"), Action: models.Keep, Until: date("2026-03-10"), By: "OP", Why: "callus"})
		if must(h, kept, err); len(kept.Flags) > 1 || len(kept.Flags) == 1 && kept.Flags[0].Flag == models.FlagCheck {
			h.t.Errorf("kept to 10 March, and it asks for %+v", kept.Flags)
		}
		restuck, err := h.Decide(h.ctx, unkeyed, code, models.NewDecision{On: date("2026-02-20"), Action: models.Restick, By: "OP"})
		must(h, restuck, err)
		if restuck.Counts.Unrooted != 0 || restuck.Counts.Withdrawn != 20 || len(restuck.Sisters) != 1 || restuck.Sisters[0].Cuttings != 20 {
			h.t.Errorf("%+v with sisters %+v", restuck.Counts, restuck.Sisters)
		}
		sister, err := h.Batch(h.ctx, restuck.Sisters[0].Code)
		if must(h, sister, err); sister.Counts.InHand != 20 || sister.SplitFrom != code || sister.StemsCut != 0 {
			h.t.Errorf("%+v", sister)
		}
		again, err := h.Stick(h.ctx, unkeyed, sister.Code, models.NewSticking{StuckOn: date("2026-02-20"), Count: 20, Tray: warmTray("B3")})
		must(h, again, err)
		_, err = h.Decide(h.ctx, unkeyed, code, models.NewDecision{On: date("2026-02-21"), Action: models.Restick})
		h.refused(err, models.Invalid, "nothing-left")

		closed, err := h.Decide(h.ctx, unkeyed, sister.Code, models.NewDecision{On: date("2026-02-28"), Action: models.CloseBatch})
		if must(h, closed, err); closed.State != models.Ended || closed.Counts.UnrootedAtEnd != 20 || closed.Counts.LostUnrooted != 0 || len(closed.Flags) != 0 {
			h.t.Errorf("%s %+v", closed.State, closed.Counts)
		}
		_, err = h.Check(h.ctx, unkeyed, sister.Code, models.NewCheck{CheckedOn: date("2026-03-01"), Rooted: ptr(1)})
		h.refused(err, models.Invalid, "batch-closed")
		if active := h.batchesOf(nursery.BatchQuery{Active: true}); len(active) != 1 || active[0].Code != code {
			h.t.Errorf("active are %+v", active)
		}
	})
}

// What was cut against a rule stays to be reviewed whatever batch it goes on as,
// a sister of a sister too, until the batch with the stems is accepted.
func TestSistersOfABatchToReviewAreToReview(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		code := h.log(cutOf("TB-01", "2026-02-20", 60, alreadyCut)).Code
		split := func(code string) models.BatchView {
			view, err := h.Split(h.ctx, unkeyed, code, models.NewSplit{On: date("2026-02-21"), Arms: []models.Arm{{Count: 30}}})
			return must(h, view, err).Sisters[0]
		}
		sister := split(code)
		second := split(sister.Code)
		wantState := func(when string, want models.State) {
			for _, code := range []string{code, sister.Code, second.Code} {
				view, err := h.Batch(h.ctx, code)
				if got := must(h, view, err); got.State != want || got.ToReview != (want == models.ToReview) {
					h.t.Errorf("%s %s is %s (to review: %t), want %s", when, code, got.State, got.ToReview, want)
				}
			}
		}
		if sister.State != models.ToReview || second.State != models.ToReview {
			h.t.Errorf("split off they are %s and %s", sister.State, second.State)
		}
		wantState("before", models.ToReview)
		if waiting := h.batchesOf(nursery.BatchQuery{ToReview: true}); len(waiting) != 1 || waiting[0].Code != code {
			h.t.Errorf("to review are %+v", waiting)
		}
		accepted, err := h.Review(h.ctx, unkeyed, code, models.NewReview{Accept: true, Reason: "counted again", By: "OP"})
		must(h, accepted, err)
		wantState("after", models.Open)
	})
}

func TestBatchesCutForOtherPurposesAreNotActive(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.log(cutOf("TB-01", "2026-02-20", 2, func(r *models.NewBatch) { r.Purpose = models.Weaving }))
		h.log(cutOf("TB-01", "2026-02-20", 3, func(r *models.NewBatch) { r.Cuttings = 0 }))
		waits := h.log(cutOf("TB-01", "2026-02-20", 4))
		if active := h.batchesOf(nursery.BatchQuery{Active: true}); len(active) != 1 || active[0].Code != waits.Code {
			h.t.Errorf("active are %+v", active)
		}
	})
}

// No number stands twice in the history of a sister: how her cuttings waited before they
// were split off is corrected elsewhere, and so is the split.
func TestNoNumberStandsTwiceInAHistory(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		code := h.log(cutOf("TB-01", "2026-02-10", 24)).Code
		must1(h, func() (models.BatchView, error) {
			return h.Move(h.ctx, unkeyed, code, models.NewMove{On: date("2026-02-11"), To: models.ToSoak, Count: 72})
		})
		split := must2(h, func() (models.SplitView, error) {
			return h.Split(h.ctx, unkeyed, code, models.NewSplit{On: date("2026-02-12"), Arms: []models.Arm{{Count: 20, StuckOn: date("2026-02-12")}, {Count: 10, StuckOn: date("2026-02-12")}}})
		})
		first := must2(h, func() (models.BatchView, error) { return h.Batch(h.ctx, code) })
		for code, numbers := range map[string]int{first.Code: 2, split.Sisters[0].Code: 2, split.Sisters[1].Code: 2} {
			view := must2(h, func() (models.BatchView, error) { return h.Batch(h.ctx, code) })
			seen := map[int]string{}
			for _, line := range view.History {
				if line.Entry == nil {
					continue
				}
				if twice := seen[*line.Entry]; twice != "" {
					h.t.Errorf("%s: %d is %q and %q", code, *line.Entry, twice, line.Text)
				}
				seen[*line.Entry] = line.Text
			}
			if len(seen) != numbers || len(view.History) < 3 {
				h.t.Errorf("%s has the numbers %v in %+v", code, seen, view.History)
			}
		}
	})
}

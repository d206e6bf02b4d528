package nursery_test

import (
	"slices"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
)

func correcting(change func(c *models.Changes)) models.NewCorrection {
	req := models.NewCorrection{Why: "counted again", By: "OP"}
	change(&req.Changes)
	return req
}

func stems(n int) models.NewCorrection {
	return correcting(func(c *models.Changes) { c.StemsCut = models.SetTo(n) })
}

func (h *house) correct(code string, req models.NewCorrection) models.BatchView {
	h.t.Helper()
	view, err := h.Correct(h.ctx, unkeyed, code, req)
	return must(h, view, err)
}

// lastLine is the last sentence of a history.
func lastLine(b models.BatchView) string { return b.History[len(b.History)-1].Text }

func (h *house) tells(b models.BatchView, says string) {
	h.t.Helper()
	if !slices.ContainsFunc(b.History, func(l models.HistoryLine) bool { return strings.Contains(l.Text, says) }) {
		h.t.Errorf("the history %+v does not say %q", b.History, says)
	}
}

// linesOf are the lines of a ledger in the order they were entered, as kind day stems.
func (h *house) linesOf(stand string) []models.LedgerLine {
	h.t.Helper()
	list, err := h.Ledger(h.ctx, stand, models.Date{}, models.Page{Limit: models.MaxPage})
	must(h, list, err)
	slices.Reverse(list.Items)
	return list.Items
}

// 40 stems may be cut of 800. A batch of 24 is corrected to 28, and to no more than 40.
func TestRaisingStemsIsJudgedAsACut(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		code := h.log(cutOf("TB-01", "2026-02-10", 24)).Code
		view := h.correct(code, stems(28))
		if view.StemsCut != 28 || view.Version != 2 || *view.HarvestFraction != 0.035 || view.Cuttings != 72 {
			h.t.Errorf("%+v", view)
		}
		if got := lastLine(view); got != "OP corrected the cut: stems cut from 24 to 28; why: counted again" {
			h.t.Errorf("it is told as %q", got)
		}
		lines := h.linesOf("TB-01")
		if len(lines) != 2 || lines[1].Kind != models.Corrected || lines[1].Stems != 4 || lines[1].TakenOn != date("2026-02-10") ||
			*lines[1].Corrects != lines[0].ID || lines[1].EnteredBy != "OP" || lines[1].Why != "counted again" || lines[1].Batch != code {
			h.t.Errorf("the ledger is %+v", lines)
		}
		h.log(cutOf("TB-01", "2026-02-20", 10))
		_, err := h.Correct(h.ctx, unkeyed, code, stems(31))
		e := h.refused(err, models.Refused, "over-allowance", "Possible that day: 30")
		if *e.Allowed != 30 {
			h.t.Errorf("%d are allowed", *e.Allowed)
		}
		if view := h.correct(code, stems(30)); len(view.Corrections) != 2 || view.Corrections[1].Before["stems_cut"] != 28.0 {
			h.t.Errorf("the corrections are %+v", view.Corrections)
		}
		_, err = h.Correct(h.ctx, unkeyed, code, stems(30))
		h.refused(err, models.Invalid, "nothing-changes")
		if shown, err := h.Batch(h.ctx, code); err != nil || len(shown.Corrections) != 2 || shown.StemsCut != 30 || shown.Version != 3 {
			h.t.Errorf("%+v, %v", shown, err)
		}
	})
}

// What is gone is recorded against the rule, and to review; a correction that makes it
// pass lifts the review.
func TestACorrectionAgainstARuleIsReviewedAndLifted(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		code := h.log(cutOf("TB-01", "2026-02-10", 24)).Code
		req := stems(44)
		req.AlreadyCut = true
		_, err := h.Correct(h.ctx, unkeyed, code, req)
		h.refused(err, models.Invalid, "invalid", "reason is missing")
		req.Reason = "two crews cut on one morning"
		view := h.correct(code, req)
		if !view.ToReview || view.State != models.ToReview || !view.AlreadyCut || view.Reason != req.Reason || !strings.Contains(view.RefusedBy, "44 of 40") && !strings.Contains(view.RefusedBy, "0 of 40") {
			h.t.Errorf("%+v", view)
		}
		h.warned(view.Warnings, "4 over the limit of 40")
		h.warned(view.Warnings, "rests from 2026-02-11")
		h.tells(view, "it is to be reviewed")
		seen := 0
		h.mailed(&seen, ": TB-01 is over its limit", ": 1 batch to review, cut against a rule")
		view = h.correct(code, stems(42))
		if !view.ToReview {
			h.t.Error("42 stems are not to review")
		}
		view = h.correct(code, stems(40))
		if view.ToReview || view.State != models.Open || view.RefusedBy != "" || view.Reason != req.Reason {
			h.t.Errorf("%+v", view)
		}
		h.tells(view, "not to be reviewed any more")
		h.warned(view.Warnings, "the rest has no end yet")
		if rests, err := h.Rests(h.ctx, "TB-01", models.Page{}); err != nil || len(rests.Items) != 1 {
			h.t.Errorf("%+v, %v", rests, err)
		}
	})
}

// What only becomes less, and what no rule reads, is never refused: not on a stand that
// is closed, at rest, or must be counted again.
func TestALesserCutAsksNoRule(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		code := h.log(cutOf("TB-01", "2026-02-10", 24, func(r *models.NewBatch) { r.ParentPlants = ptr(6) })).Code
		must1(h, func() (models.DisturbanceView, error) {
			return h.AddDisturbance(h.ctx, unkeyed, "TB-01", models.NewDisturbance{On: date("2026-02-01"), Kind: "flood"})
		})
		_, err := h.Correct(h.ctx, unkeyed, code, stems(25))
		h.refused(err, models.Refused, "survey-expired")
		view := h.correct(code, stems(20))
		if view.StemsCut != 20 || view.ToReview || *view.HarvestFraction != 0.025 {
			h.t.Errorf("%+v", view)
		}
		view = h.correct(code, correcting(func(c *models.Changes) {
			c.CollectedBy, c.Note, c.Kind = models.SetTo("TS"), models.SetTo("north  end"), models.SetNull[models.CuttingKind]()
			c.Identification, c.IdentifiedBy, c.LengthCM = models.SetTo(models.Confirmed), models.SetTo("OP"), models.SetTo(20.0)
			c.RecordNumber = models.SetTo("T-7")
		}))
		if view.CollectedBy != "TS" || view.Note != "north end" || view.Kind != "" || view.Identification != models.Confirmed || view.RecordNumber != "T-7" {
			h.t.Errorf("%+v", view)
		}
		want := "OP corrected the cut: collected by from RQ to TS, identification from unconfirmed to confirmed, identified by is OP, kind was hardwood and is none, length cm is 20, note is north end, record number is T-7; why: counted again"
		if got := lastLine(view); got != want {
			h.t.Errorf("it is told as\n%q, want\n%q", got, want)
		}
		if sum, lines := h.ledger("TB-01"); sum != 20 || lines != 2 {
			h.t.Errorf("%d stems in %d lines", sum, lines)
		}
		for _, c := range []struct {
			req  models.NewCorrection
			code string
		}{
			{correcting(func(c *models.Changes) { c.CollectedOn = models.SetTo(date("2026-02-09")) }), "survey-expired"}, // earlier is a move too
			{correcting(func(c *models.Changes) { c.CollectedOn = models.SetTo(date("2026-03-02")) }), "in-the-future"},
			{correcting(func(c *models.Changes) { c.StemsCut = models.SetTo(0) }), "no-stems"},
			{correcting(func(c *models.Changes) { c.Rooted = models.SetTo(3) }), "invalid"},
			{models.NewCorrection{By: "OP"}, "invalid"},
			{models.NewCorrection{Why: "x", Void: true}, "contradiction"},
			{models.NewCorrection{Why: "x", Entry: 9}, "unknown-entry"},
			{func() models.NewCorrection { r := stems(19); r.Version = 2; return r }(), "stale"},
		} {
			_, err := h.Correct(h.ctx, unkeyed, code, c.req)
			if e := models.AsError(err); e == nil || e.Code != c.code {
				h.t.Errorf("%+v: %v, want %s", c.req, err, c.code)
			}
		}
	})
}

// A batch that was logged on the wrong stand moves with its sisters: stems leave one
// ledger for the other, the codes stay, and no code is given twice.
func TestABatchMovesToAnotherStand(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		code := h.log(cutOf("TB-01", "2026-02-10", 24, func(r *models.NewBatch) { r.RecordNumber = "T-1" })).Code
		split, err := h.Split(h.ctx, unkeyed, code, models.NewSplit{On: date("2026-02-12"), Arms: []models.Arm{{Count: 20, StuckOn: date("2026-02-12")}, {Count: 10}}})
		must(h, split, err)
		h.log(cutOf("TB-02", "2026-02-10", 17, func(r *models.NewBatch) { r.RecordNumber = "t-1" }))
		move := correcting(func(c *models.Changes) { c.Stand = models.SetTo("tb-02") })
		_, err = h.Correct(h.ctx, unkeyed, code, move)
		h.refused(err, models.Refused, "over-allowance", "17 of 40")
		move.Changes.StemsCut = models.SetTo(23)
		_, err = h.Correct(h.ctx, unkeyed, code, move)
		h.refused(err, models.Conflict, "record-number-taken")
		move.Changes.RecordNumber = models.SetTo("T-2")
		view := h.correct(code, move)
		if view.Code != code || view.Stand != "TB-02" || view.StemsCut != 23 {
			h.t.Errorf("%+v", view)
		}
		h.tells(view, "stand from TB-01 to TB-02")
		for _, sister := range split.Sisters {
			moved, err := h.Batch(h.ctx, sister.Code)
			if must(h, moved, err); moved.Stand != "TB-02" || moved.Code != sister.Code || moved.Version != 2 {
				h.t.Errorf("%+v", moved)
			}
			h.tells(moved, "OP corrected the cut: stand from TB-01 to TB-02; why: counted again")
		}
		if sum, _ := h.ledger("TB-01"); sum != 0 {
			h.t.Errorf("%d stems are left on the ledger of TB-01", sum)
		}
		lines := h.linesOf("TB-02")
		if len(lines) != 2 || lines[1].Stems != 23 || lines[1].Kind != models.Corrected || lines[1].Corrects != nil {
			h.t.Errorf("the ledger of TB-02 is %+v", lines)
		}
		if got := h.allowed("TB-01", allowanceOn("2026-02-20")); got.Allowed != 40 {
			h.t.Errorf("%d are allowed at TB-01", got.Allowed)
		}
		if next := h.log(cutOf("TB-01", "2026-02-11", 1)).Code; next != "TB-01-2026-4" {
			h.t.Errorf("the next batch of TB-01 is %s", next)
		}
		h.log(cutOf("TB-02", "2026-02-01", 0+1, alreadyCut))
		if batches := h.batchesOf(nursery.BatchQuery{Stand: "TB-02"}); len(batches) != 5 {
			h.t.Errorf("%+v", batches)
		}
		if again, err := h.Split(h.ctx, unkeyed, code, models.NewSplit{On: date("2026-02-12"), Arms: []models.Arm{{Count: 3}}}); err != nil || again.Sisters[0].Code != "TB-02-2026-6" {
			h.t.Errorf("%+v, %v", again.Sisters, err)
		}
		back := h.correct(code, correcting(func(c *models.Changes) { c.Stand = models.SetTo("TB-01") }))
		if back.Stand != "TB-01" {
			h.t.Errorf("%+v", back)
		}
		_, err = h.Correct(h.ctx, unkeyed, code, correcting(func(c *models.Changes) { c.Stand = models.SetTo("TB-9") }))
		if e := h.refused(err, models.Unknown, "unknown-stand", "changes.stand"); len(e.Suggestions) == 0 {
			h.t.Errorf("nothing is near: %v", e)
		}
	})
}

// At a stand of another taxon a batch is of that taxon, and so are its sisters: it is
// warned of, and told in their histories. One that was named keeps its name.
func TestABatchMovesToAStandOfAnotherTaxon(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.willow()
		h.stand("WB-01", func(r *models.NewStand) { r.Taxon = "Salix scouleriana" })
		h.census("WB-01", "2026-01-01", 800)
		code := h.log(cutOf("TB-01", "2026-02-10", 24)).Code
		split, err := h.Split(h.ctx, unkeyed, code, models.NewSplit{On: date("2026-02-12"), Arms: []models.Arm{{Count: 20}}})
		must(h, split, err)
		view := h.correct(code, correcting(func(c *models.Changes) { c.Stand = models.SetTo("WB-01") }))
		if view.Taxon != "Salix scouleriana" {
			h.t.Errorf("it is %s", view.Taxon)
		}
		h.warned(view.Warnings, code+" and what was split off it are Salix scouleriana now, as WB-01 is a stand of it, and no more Cornus sericea")
		h.tells(view, "stand from TB-01 to WB-01, taxon from Cornus sericea to Salix scouleriana")
		sister, err := h.Batch(h.ctx, split.Sisters[0].Code)
		h.tells(must(h, sister, err), "stand from TB-01 to WB-01, taxon from Cornus sericea to Salix scouleriana")

		must1(h, func() (models.BatchView, error) {
			return h.Determine(h.ctx, unkeyed, code, naming("Salix scouleriana", "2026-02-20"))
		})
		view = h.correct(code, correcting(func(c *models.Changes) { c.Stand = models.SetTo("TB-01") }))
		if view.Taxon != "Salix scouleriana" {
			h.t.Errorf("it is %s", view.Taxon)
		}
		h.warned(view.Warnings, code+" was named Salix scouleriana and stays so, and TB-01 is a stand of Cornus sericea")
	})
}

// The rest that it began stays at the stand it was said to be of, which is told, and the
// stand it is of begins one of its own.
func TestABatchOverALimitMovesToAnotherStand(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		code := h.log(cutOf("TB-01", "2026-02-10", 45, alreadyCut)).Code
		move := correcting(func(c *models.Changes) { c.Stand = models.SetTo("TB-02") })
		move.AlreadyCut, move.Reason = true, "the tag was read wrongly"
		view := h.correct(code, move)
		h.warned(view.Warnings, "TB-01 rests from 2026-02-11 on, and the rest has no end yet")
		h.warned(view.Warnings, "a limit was passed: TB-02 rests from 2026-02-11")
	})
}

// To another day, year and season; what was entered about the batch has to stand still.
func TestABatchMovesToAnotherDay(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.census("TB-01", "2025-06-01", 800)
		code := h.log(cutOf("TB-01", "2026-02-10", 24, stuckOn("2026-02-12", "B2"))).Code
		other := h.log(cutOf("TB-01", "2026-02-10", 1)).Code
		to := func(day string) models.NewCorrection {
			return correcting(func(c *models.Changes) { c.CollectedOn = models.SetTo(date(day)) })
		}
		_, err := h.Correct(h.ctx, unkeyed, code, to("2026-02-13"))
		h.refused(err, models.Invalid, "later-entry", "the sticking of "+code+" on 2026-02-12 (entry 1) could not be", "before the cuttings were there")
		view := h.correct(code, to("2025-06-20"))
		if view.CollectedOn != date("2025-06-20") || view.Code != code {
			h.t.Errorf("%+v", view)
		}
		seasons, err := h.Seasons(h.ctx, "TB-01", models.Date{})
		if must(h, seasons, err); len(seasons) != 2 || seasons[0].Batches != 1 || seasons[0].Stems != 1 || seasons[1].Batches != 1 || seasons[1].Stems != 24 {
			h.t.Errorf("the seasons are %+v", seasons)
		}
		if sums := h.sumsOf("TB-01"); sums[date("2026-02-10")] != 1 || sums[date("2025-06-20")] != 24 {
			h.t.Errorf("the ledger sums to %v", sums)
		}
		if next := h.log(cutOf("TB-01", "2026-02-11", 1)).Code; next != "TB-01-2026-3" {
			h.t.Errorf("the next batch is %s", next)
		}
		h.correct(code, to("2026-02-12"))
		if got := h.correct(other, stems(2)); got.StemsCut != 2 {
			h.t.Errorf("%+v", got)
		}
	})
}

// sumsOf sums a ledger by day, line by line.
func (h *house) sumsOf(stand string) map[models.Date]int {
	h.t.Helper()
	sums := map[models.Date]int{}
	for _, line := range h.linesOf(stand) {
		sums[line.TakenOn] += line.Stems
	}
	return sums
}

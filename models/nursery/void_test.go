package nursery_test

import (
	"slices"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/rules"
)

var batchesOfAll = nursery.BatchQuery{}

func (h *house) voided(code string) models.BatchView {
	h.t.Helper()
	view, err := h.VoidBatch(h.ctx, unkeyed, code, models.NewVoid{Why: "logged twice", By: "OP"})
	return must(h, view, err)
}

// What never was counts nowhere: not on the ledger, in seasons, lists, what is due, rates
// or permits; its tag is free, and it is still there to be looked at.
func TestAVoidBatchCountsNowhere(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		code := h.log(cutOf("TB-01", "2026-01-10", 24, stuckOn("2026-01-11", "B2"), func(r *models.NewBatch) { r.RecordNumber = "T-1" })).Code
		split := h.log(cutOf("TB-01", "2026-01-10", 2)).Code
		must1(h, func() (models.BatchView, error) {
			return h.Check(h.ctx, unkeyed, code, models.NewCheck{CheckedOn: date("2026-02-01"), Rooted: ptr(30)})
		})
		must1(h, func() (models.BatchView, error) {
			return h.Pot(h.ctx, unkeyed, code, models.NewPotting{PottedOn: date("2026-02-16"), Count: 20})
		})
		view := h.voided(code)
		if view.State != models.NeverWas || view.Stage != models.StageEnded || len(view.Flags) != 0 || view.RecordNumber != "" || view.StemsCut != 24 || view.Version != 4 {
			h.t.Errorf("%+v", view)
		}
		h.warned(view.Warnings, "20 cuttings of "+code+" were potted")
		h.warned(view.Warnings, "the tag T-1 of "+code+" is free again")
		h.tells(view, "OP voided the batch: logged twice")
		lines := h.linesOf("TB-01")
		if last := lines[len(lines)-1]; last.Kind != models.Voided || last.Stems != -24 || last.TakenOn != date("2026-01-10") || *last.Corrects != lines[0].ID || last.Why != "logged twice" {
			h.t.Errorf("the ledger is %+v", lines)
		}
		if got := h.allowed("TB-01", allowanceOn("2026-02-20")); got.Allowed != 38 {
			h.t.Errorf("%d are allowed", got.Allowed)
		}
		seasons, err := h.Seasons(h.ctx, "TB-01", models.Date{})
		if must(h, seasons, err); len(seasons) != 1 || seasons[0].Stems != 2 || seasons[0].Batches != 1 {
			h.t.Errorf("the seasons are %+v", seasons)
		}
		if all := h.batchesOf(batchesOfAll); len(all) != 1 || all[0].Code != split {
			h.t.Errorf("the batches are %+v", all)
		}
		if void := h.batchesOf(nursery.BatchQuery{Void: true}); len(void) != 1 || void[0].Code != code || void[0].State != models.NeverWas {
			h.t.Errorf("the void batches are %+v", void)
		}
		for _, on := range []string{"2026-02-10", "2026-03-10"} {
			due, err := h.Due(h.ctx, nursery.DueQuery{On: date(on)})
			if must(h, due, err); slices.ContainsFunc(due.Items, func(i models.DueItem) bool { return i.Batch == code }) {
				h.t.Errorf("on %s %v are due", on, flagsOf(due.Items))
			}
		}
		rate, err := h.RootingRate(h.ctx, nursery.RootingQuery{})
		if must(h, rate, err); len(rate.Groups) != 0 {
			h.t.Errorf("the rates are %+v", rate.Groups)
		}
		if next := h.log(cutOf("TB-01", "2026-01-10", 24, func(r *models.NewBatch) { r.RecordNumber = "T-1" })); next.Code != "TB-01-2026-3" || len(next.Warnings) != 0 {
			h.t.Errorf("%+v", next)
		}
		for what, err := range map[string]error{
			"check":   second(h.Check(h.ctx, unkeyed, code, models.NewCheck{CheckedOn: date("2026-02-20"), Rooted: ptr(1)})),
			"correct": second(h.Correct(h.ctx, unkeyed, code, stems(3))),
			"entry":   second(h.Correct(h.ctx, unkeyed, code, voiding(2))),
			"name":    second(h.Determine(h.ctx, unkeyed, code, models.NewDetermination{Taxon: "Cornus sericea", On: date("2026-02-20"), By: "OP"})),
			"split":   second(h.Split(h.ctx, unkeyed, code, models.NewSplit{On: date("2026-01-11"), Arms: []models.Arm{{Count: 1}}})),
		} {
			if e := models.AsError(err); e == nil || e.Code != "batch-void" && e.Code != "too-many-cuttings" {
				h.t.Errorf("%s: %v", what, err)
			}
		}
		_, err = h.VoidBatch(h.ctx, unkeyed, code, models.NewVoid{Why: "again"})
		h.refused(err, models.Conflict, "corrected-already", "void already")
		_, err = h.VoidBatch(h.ctx, unkeyed, split, models.NewVoid{Why: " "})
		h.refused(err, models.Invalid, "invalid", "why")
	})
}

// A batch whose sticking never was is judged by nobody's hand, and stands on no bench.
func TestABatchThatWasNeverStuckIsNotJudged(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		code := h.log(cutOf("TB-01", "2026-01-10", 4)).Code
		stuck, err := h.Stick(h.ctx, unkeyed, code, models.NewSticking{StuckOn: date("2026-01-12"), Count: 12, Tray: models.Tray{Bench: "B2", StuckBy: "RQ"}})
		must(h, stuck, err)
		h.correct(code, voiding(2))
		compared, err := h.RootingCompare(h.ctx, nursery.RootingPick{}, rules.CompareAsk{By: rules.ByPerson})
		if must(h, compared, err); len(compared.Arms) != 0 {
			h.t.Errorf("%+v", compared.Arms)
		}
		if there := h.batchesOf(nursery.BatchQuery{Bench: "B2"}); len(there) != 0 {
			h.t.Errorf("on the bench are %+v", there)
		}
	})
}

func second[T any](_ T, err error) error { return err }

// A batch goes with all that were split off it; a sister alone gives her cuttings back,
// and takes the decision that made her with her.
func TestSistersAreVoidedWithTheirFirst(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		code := h.log(cutOf("TB-01", "2026-01-10", 24, stuckOn("2026-01-12", "B2"), func(r *models.NewBatch) { r.Count = ptr(40) })).Code
		split, err := h.Split(h.ctx, unkeyed, code, models.NewSplit{On: date("2026-01-12"), Arms: []models.Arm{{Count: 20}, {Count: 10}}})
		sister := must(h, split, err).Sisters[0].Code
		must1(h, func() (models.SplitView, error) {
			return h.Split(h.ctx, unkeyed, sister, models.NewSplit{On: date("2026-01-12"), Arms: []models.Arm{{Count: 5}}})
		})
		must1(h, func() (models.BatchView, error) {
			return h.Decide(h.ctx, unkeyed, code, models.NewDecision{On: date("2026-02-20"), Action: models.Restick, By: "OP"})
		})
		_, err = h.Correct(h.ctx, unkeyed, code, voiding(3))
		h.refused(err, models.Invalid, "not-correctable", "made batch TB-01-2026-5: void that batch")
		h.voided("TB-01-2026-5")
		first, err := h.Batch(h.ctx, code)
		if must(h, first, err); first.Counts.Unrooted != 40 || first.Counts.Withdrawn != 0 || first.Version != 4 || len(first.Sisters) != 2 {
			h.t.Errorf("%+v", first)
		}
		h.tells(first, "OP took out the split (entry 3): logged twice; it said: count 40, on 2026-02-20, sister TB-01-2026-5")
		h.voided(sister)
		first, err = h.Batch(h.ctx, code)
		if must(h, first, err); first.Counts.InHand != 22 || first.Counts.ToSisters != 10 {
			h.t.Errorf("%+v", first.Counts)
		}
		if all := h.batchesOf(batchesOfAll); len(all) != 2 {
			h.t.Errorf("%+v", all)
		}
		if sum, _ := h.ledger("TB-01"); sum != 24 {
			h.t.Errorf("%d stems are on the ledger", sum)
		}
		h.voided(code)
		if all := h.batchesOf(batchesOfAll); len(all) != 0 {
			h.t.Errorf("%+v", all)
		}
		if void := h.batchesOf(nursery.BatchQuery{Void: true}); len(void) != 5 {
			h.t.Errorf("%+v", void)
		}
		if sum, lines := h.ledger("TB-01"); sum != 0 || lines != 2 {
			h.t.Errorf("%d stems in %d lines are on the ledger", sum, lines)
		}
	})
}

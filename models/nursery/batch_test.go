package nursery_test

import (
	"slices"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
)

func TestTheStoryOfABatch(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		first := h.log(cutOf("tb-01", "2026-02-01", 16, func(r *models.NewBatch) { r.RecordNumber, r.Taxon = "T-017", "cornus SERICEA" }))
		if first.Code != "TB-01-2026-1" || first.Stand != "TB-01" || first.Version != 1 || first.State != models.Open || first.Stage != models.StageCut {
			h.t.Errorf("%+v", first)
		}
		if *first.HarvestFraction != 0.02 || *first.StandFraction != 0.02 || first.Survey.SurveyedOn != date("2026-01-01") || first.Survey.LowerBound != models.DecimalOf(800) {
			h.t.Errorf("shares %v and %v of %+v", first.HarvestFraction, first.StandFraction, first.Survey)
		}
		second := h.log(cutOf("TB-01", "2026-02-01", 8, stuckOn("2026-02-02", "B2")))
		if second.Code != "TB-01-2026-2" || *second.HarvestFraction != 0.01 || *second.StandFraction != 0.03 || second.Counts.Stuck != 24 || second.Sticking.Label == "" {
			h.t.Errorf("%+v", second)
		}
		if other := h.log(cutOf("TB-02", "2026-02-01", 8)); other.Code != "TB-02-2026-1" {
			h.t.Errorf("each stand counts its own batches, and this is %s", other.Code)
		}
		again, err := h.Batch(h.ctx, "tb-01-2026-2")
		h.sameJSON("read again", second, must(h, again, err))
		_, err = h.Batch(h.ctx, "TB-01-2026-3")
		if e := h.refused(err, models.NotFound, "no-such-batch"); len(e.Suggestions) != 3 || !slices.Contains(e.Suggestions[:2], "TB-01-2026-1") {
			h.t.Errorf("near are %q", e.Suggestions)
		}
	})
}

func TestBatchesAreListed(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		h.log(cutOf("TB-01", "2026-02-01", 4))
		h.log(cutOf("TB-02", "2026-02-03", 4, stuckOn("2026-02-04", "B2")))
		h.log(cutOf("TB-01", "2026-02-02", 40, alreadyCut))
		for _, c := range []struct {
			name  string
			query nursery.BatchQuery
			codes []string
		}{
			{"all", nursery.BatchQuery{}, []string{"TB-02-2026-1", "TB-01-2026-2", "TB-01-2026-1"}},
			{"of a stand", nursery.BatchQuery{Stand: "tb-01"}, []string{"TB-01-2026-2", "TB-01-2026-1"}},
			{"of a taxon", nursery.BatchQuery{Taxon: "cornus sericea", From: date("2026-02-02"), To: date("2026-02-02")}, []string{"TB-01-2026-2"}},
			{"of a bench", nursery.BatchQuery{Bench: "B2"}, []string{"TB-02-2026-1"}},
			{"to review", nursery.BatchQuery{ToReview: true}, []string{"TB-01-2026-2"}},
			{"of another kind", nursery.BatchQuery{Kind: models.Softwood}, nil},
		} {
			var codes []string
			for _, b := range h.batchesOf(c.query) {
				codes = append(codes, b.Code)
			}
			if !slices.Equal(codes, c.codes) {
				h.t.Errorf("%s: %q, want %q", c.name, codes, c.codes)
			}
		}
		_, err := h.Batches(h.ctx, nursery.BatchQuery{Stand: "TB-1"})
		h.refused(err, models.Unknown, "unknown-stand", "TB-01")
		_, err = h.Batches(h.ctx, nursery.BatchQuery{Taxon: "Cornus"})
		h.refused(err, models.Unknown, "unknown-taxon")
	})
}

func TestSlipsInABatch(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.stand("TB-02")
		h.log(cutOf("TB-01", "2026-02-01", 4, func(r *models.NewBatch) { r.RecordNumber = "T-017" }))
		for _, c := range []struct {
			name string
			req  models.NewBatch
			kind models.Kind
			code string
			says string
		}{
			{"an unknown stand", cutOf("TB-10", "2026-02-01", 4), models.Unknown, "unknown-stand", "TB-01"},
			{"another taxon", cutOf("TB-01", "2026-02-01", 4, func(r *models.NewBatch) { r.Taxon = "Lonicera involucrata" }), models.Invalid, "taxon-misfit", "is a stand of Cornus sericea"},
			{"a tag that is borne", cutOf("TB-01", "2026-02-01", 5, func(r *models.NewBatch) { r.RecordNumber = "t-017" }), models.Conflict, "record-number-taken", "TB-01-2026-1"},
			{"before the first survey", cutOf("TB-01", "2025-12-31", 4), models.Invalid, "before-first-survey", "2026-01-01"},
			{"a stand never surveyed", cutOf("TB-02", "2026-02-01", 4), models.Invalid, "before-first-survey", "never surveyed"},
			{"tomorrow", cutOf("TB-01", "2026-03-02", 4), models.Invalid, "in-the-future", "today is 2026-03-01"},
			{"stuck before it was cut", cutOf("TB-01", "2026-02-01", 4, stuckOn("2026-01-31", "B2")), models.Invalid, "out-of-order", "2026-01-31"},
			{"over the allowance, and stuck before it was cut", cutOf("TB-01", "2026-02-01", 400, stuckOn("2026-01-31", "B2")), models.Invalid, "out-of-order", "2026-01-31"},
			{"more stuck than made", cutOf("TB-01", "2026-02-01", 4, stuckOn("2026-02-01", "B2"), func(r *models.NewBatch) { r.Count = ptr(13) }), models.Invalid, "too-many-cuttings", "13"},
		} {
			h.t.(*testing.T).Run(c.name, func(*testing.T) {
				_, err := h.LogBatch(h.ctx, unkeyed, c.req)
				h.refused(err, c.kind, c.code, c.says)
			})
		}
		if stems, lines := h.ledger("TB-01"); stems != 4 || lines != 1 {
			h.t.Errorf("slips are on the ledger: %d stems in %d lines", stems, lines)
		}
		h.log(cutOf("TB-01", "2026-02-02", 4, func(r *models.NewBatch) { r.RecordNumber = "T-017" })) // another day, another bundle
		twice := h.log(cutOf("TB-01", "2026-02-01", 4, func(r *models.NewBatch) { r.CollectedBy = "rq" }))
		h.warned(twice.Warnings, "as batch TB-01-2026-1: was it entered twice?")
	})
}

// What a rule refuses is not stored, and can be recorded only as already cut: it
// counts, may be worked on, and stands to review until the coordinator accepts it.
func TestTheStoryOfStemsThatAreGone(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02", "TB-03", "TB-04")
		h.stand("TB-05")
		edit := models.StandEdit{Closures: &[]models.Closure{{From: "02-01", To: "02-28", EveryYear: true, Reason: "birds nest"}}, InForceFrom: date("2026-01-01")}
		view, err := h.EditStand(h.ctx, "TB-02", 1, edit)
		must(h, view, err)
		event, err := h.AddDisturbance(h.ctx, unkeyed, "TB-03", models.NewDisturbance{On: date("2026-01-20"), Kind: "fire"})
		must(h, event, err)
		for _, c := range []struct {
			stand, on string
			stems     int
			kind      models.Kind
			code      string
			against   string
			shares    bool
		}{
			{"TB-01", "2026-02-01", 41, models.Refused, "over-allowance", "0 of 40 stems", true},
			{"TB-02", "2026-02-28", 1, models.Refused, "closed-season", "birds nest", true},
			{"TB-03", "2026-02-01", 1, models.Refused, "survey-expired", "fire on 2026-01-20", true},
			{"TB-04", "2025-12-31", 1, models.Invalid, "before-first-survey", "before the first survey", false},
			{"TB-05", "2026-02-01", 1, models.Invalid, "before-first-survey", "never surveyed", false},
		} {
			_, err := h.LogBatch(h.ctx, unkeyed, cutOf(c.stand, c.on, c.stems))
			e := h.refused(err, c.kind, c.code, c.against)
			if refused := c.kind == models.Refused; refused != (e.Allowed != nil && e.Binding != nil) {
				h.t.Errorf("%s: allowed %v by %v", c.stand, e.Allowed, e.Binding)
			}
			if _, lines := h.ledger(c.stand); lines != 0 {
				h.t.Errorf("%s: what was refused is on the ledger", c.stand)
			}
			gone := h.log(cutOf(c.stand, c.on, c.stems, alreadyCut))
			if !gone.ToReview || gone.State != models.ToReview || !strings.Contains(gone.RefusedBy, c.against) || (gone.HarvestFraction != nil) != c.shares {
				h.t.Errorf("%s: %+v", c.stand, gone)
			}
			if stems, lines := h.ledger(c.stand); stems != c.stems || lines != 1 {
				h.t.Errorf("%s: %d stems in %d lines are on the ledger", c.stand, stems, lines)
			}
		}
		if got := h.allowed("TB-01", allowanceOn("2026-02-01")); got.Taken != 41 || got.Allowed != 0 {
			h.t.Errorf("stems that are gone count, and %d of %d are allowed", got.Allowed, got.Limit)
		}
		h.reviewGone("TB-01-2026-1")
	})
}

func (h *house) reviewGone(code string) {
	stuck, err := h.Stick(h.ctx, unkeyed, code, models.NewSticking{StuckOn: date("2026-02-02"), Count: 100, Tray: warmTray("B1")})
	if must(h, stuck, err); stuck.State != models.ToReview || stuck.Counts.Stuck != 100 {
		h.t.Errorf("%s, %d stuck", stuck.State, stuck.Counts.Stuck)
	}
	_, err = h.Review(h.ctx, unkeyed, code, models.NewReview{Accept: true, Reason: " "})
	h.refused(err, models.Invalid, "invalid", "reason")
	left, err := h.Review(h.ctx, unkeyed, code, models.NewReview{Accept: false, Reason: "count the stems again", By: "OP"})
	if must(h, left, err); !left.ToReview {
		h.t.Error("a review that accepts nothing ends it")
	}
	accepted, err := h.Review(h.ctx, unkeyed, code, models.NewReview{Accept: true, Reason: "counted again", By: "OP"})
	if must(h, accepted, err); accepted.ToReview || accepted.State != models.Open || accepted.Version != 4 {
		h.t.Errorf("%+v", accepted)
	}
	_, err = h.Review(h.ctx, unkeyed, code, models.NewReview{Accept: true, Reason: "again"})
	h.refused(err, models.Invalid, "not-to-review")
	_, err = h.Review(h.ctx, unkeyed, "TB-01-2026-9", models.NewReview{Accept: true, Reason: "none"})
	h.refused(err, models.NotFound, "no-such-batch")
}

func TestASurveyThatExpired(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		h.stand("TB-01")
		h.census("TB-01", "2024-10-01", 800)
		h.log(cutOf("TB-01", "2026-02-13", 4)) // its last day
		_, err := h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-14", 4))
		h.refused(err, models.Refused, "survey-expired", "501 days old and good for 500")
		gone := h.log(cutOf("TB-01", "2026-02-14", 4, alreadyCut))
		if *gone.HarvestFraction != 0.005 || *gone.StandFraction != 0.01 || gone.Survey.SurveyedOn != date("2024-10-01") {
			h.t.Errorf("its shares are %v and %v", *gone.HarvestFraction, *gone.StandFraction)
		}
	})
}

func TestPlantsAreAskedForWhereTheyWereCounted(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		h.stand("TB-01")
		h.census("TB-01", "2026-01-01", 800, 40)
		_, err := h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-01", 4))
		h.refused(err, models.Invalid, "parents-missing", "counted plants")
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-01", 7, func(r *models.NewBatch) { r.ParentPlants = ptr(3) }))
		if e := h.refused(err, models.Refused, "over-allowance"); *e.Allowed != 6 || e.Binding.Code != "per-plant" {
			h.t.Errorf("%d by %s", *e.Allowed, e.Binding.Code)
		}
		h.log(cutOf("TB-01", "2026-02-01", 6, func(r *models.NewBatch) { r.ParentPlants = ptr(3) }))
		got := h.allowed("TB-01", nursery.AllowanceQuery{On: date("2026-02-02"), Stems: 3, Parents: ptr(1)})
		if got.Allowed != 2 || got.Binding.Code != "per-plant" {
			h.t.Errorf("%+v", got)
		}
	})
}

// A late entry must not break a window that a later cut already filled.
func TestALateEntryKeepsToTheWindowsOfLaterCuts(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.log(cutOf("TB-01", "2026-02-20", 38))
		_, err := h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-10", 3))
		if e := h.refused(err, models.Refused, "over-allowance", "38 of 40 stems are taken in the 350 days to 2026-02-20"); *e.Allowed != 2 {
			h.t.Errorf("%d are allowed", *e.Allowed)
		}
		h.log(cutOf("TB-01", "2026-02-10", 2))
	})
}

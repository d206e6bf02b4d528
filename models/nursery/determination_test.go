package nursery_test

import (
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
)

func (h *house) willow() {
	h.t.Helper()
	must1(h, func() (models.Taxon, error) {
		return h.AddTaxon(h.ctx, unkeyed, models.NewTaxon{ScientificName: "Salix scouleriana", CommonName: "Scouler willow", Family: "Salicaceae"})
	})
}

func naming(taxon, on string, change ...func(*models.NewDetermination)) models.NewDetermination {
	req := models.NewDetermination{Taxon: taxon, On: date(on), By: "OP"}
	for _, c := range change {
		c(&req)
	}
	return req
}

func (h *house) named(code string, req models.NewDetermination) models.BatchView {
	h.t.Helper()
	view, err := h.Determine(h.ctx, unkeyed, code, req)
	return must(h, view, err)
}

// A batch named anew takes its sisters along, and its rates; the stand keeps its taxon
// and its ledger, and leads and coordinators are told at once.
func TestABatchIsNamedAnew(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.willow()
		h.crew()
		h.reader("OP", "olga@wrenlow.example")
		code := h.log(cutOf("TB-01", "2026-01-10", 24, stuckOn("2026-01-12", "B2"), func(r *models.NewBatch) { r.Count = ptr(40) })).Code
		split, err := h.Split(h.ctx, unkeyed, code, models.NewSplit{On: date("2026-01-12"), Arms: []models.Arm{{Count: 20}}})
		sister := must(h, split, err).Sisters[0].Code
		must1(h, func() (models.BatchView, error) {
			return h.Check(h.ctx, unkeyed, code, models.NewCheck{CheckedOn: date("2026-02-01"), Rooted: ptr(30)})
		})
		seen := len(h.outbox())
		view := h.named(sister, naming(" salix  Scouleriana", "2026-02-20", func(r *models.NewDetermination) {
			r.Qualifier, r.Note = models.Compare, "buds with one scale"
		}))
		if view.Code != sister || view.Taxon != "Salix scouleriana" || view.CommonName != "Scouler willow" || view.Qualifier != "cf." ||
			view.Identification != models.Qualified || view.IdentifiedBy != "OP" || view.Version != 2 {
			h.t.Errorf("%+v", view)
		}
		h.warned(view.Warnings, "TB-01 is a stand of Cornus sericea, and "+code+" is Salix cf. scouleriana")
		h.warned(view.Warnings, "mend the labels: they say Cornus sericea")
		h.tells(view, "OP named it Salix cf. scouleriana; it was called Cornus sericea; note: buds with one scale")
		about := code + " is Salix cf. scouleriana, not Cornus sericea"
		letters := h.mailed(&seen, "lead@wrenlow.example: "+about, "both@wrenlow.example: "+about, "coordinator@wrenlow.example: "+about)
		for _, says := range []string{code + ", " + sister, "named Salix cf. scouleriana on 2026-02-20 by OP", "buds with one scale", "Mend the labels"} {
			if !strings.Contains(strings.Join(strings.Fields(letters[0].Text), " "), says) {
				h.t.Errorf("the letter does not say %q:\n%s", says, letters[0].Text)
			}
		}
		first, err := h.Batch(h.ctx, code)
		if must(h, first, err); first.Taxon != "Salix scouleriana" || len(first.Determinations) != 1 || first.Determinations[0].Before != "Cornus sericea" ||
			first.Determinations[0].Taxon != "Salix scouleriana" || first.Version != 4 {
			h.t.Errorf("%+v", first)
		}
		rate, err := h.RootingRate(h.ctx, nursery.RootingQuery{By: []string{"taxon"}})
		if must(h, rate, err); len(rate.Groups) != 1 || rate.Groups[0].Key["taxon"] != "Salix cf. scouleriana" {
			h.t.Errorf("the rates are %+v", rate.Groups)
		}
		if of := h.batchesOf(nursery.BatchQuery{Taxon: "Salix scouleriana"}); len(of) != 2 || of[0].Qualifier != "cf." {
			h.t.Errorf("%+v", of)
		}
		stand, err := h.Stand(h.ctx, "TB-01", false)
		if sum, lines := h.ledger("TB-01"); must(h, stand, err).Taxon != "Cornus sericea" || sum != 24 || lines != 1 {
			h.t.Errorf("%s with %d stems in %d lines", stand.Taxon, sum, lines)
		}

		view = h.named(code, naming("Salix scouleriana", "2026-02-27", func(r *models.NewDetermination) { r.By = "DO" }))
		if view.Qualifier != "" || view.Identification != models.Confirmed || view.IdentifiedBy != "DO" {
			h.t.Errorf("%+v", view)
		}
		h.tells(view, "DO named it Salix scouleriana once more")
		view = h.named(code, naming("Cornus sericea", "2026-03-01"))
		h.tells(view, "OP named it Cornus sericea; it was called Salix scouleriana")
		h.mailed(&seen)
	})
}

// What was moved to another stand after it was named keeps its name.
func TestANamedBatchKeepsItsNameAtAnotherStand(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.willow()
		h.stand("TW-01", func(r *models.NewStand) { r.Taxon = "Salix scouleriana" })
		h.census("TW-01", "2026-01-01", 800)
		named, plain := h.log(cutOf("TB-01", "2026-01-10", 4)).Code, h.log(cutOf("TB-01", "2026-01-11", 4)).Code
		h.named(named, naming("Cornus sericea", "2026-02-20"))
		move := correcting(func(c *models.Changes) { c.Stand = models.SetTo("TW-01") })
		if view := h.correct(named, move); view.Taxon != "Cornus sericea" || view.Stand != "TW-01" {
			h.t.Errorf("%+v", view)
		}
		if view := h.correct(plain, move); view.Taxon != "Salix scouleriana" || view.CommonName != "Scouler willow" {
			h.t.Errorf("%+v", view)
		}
	})
}

func TestNamesThatCannotBe(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.willow()
		code := h.log(cutOf("TB-01", "2026-02-10", 4)).Code
		h.named(code, naming("Cornus sericea", "2026-02-20"))
		for _, c := range []struct {
			req  models.NewDetermination
			kind models.Kind
			code string
			says string
		}{
			{naming("Salix scoulerana", "2026-02-20"), models.Unknown, "unknown-taxon", "Salix scouleriana"},
			{naming("Salix scouleriana", "2026-02-09"), models.Invalid, "out-of-order", "before it was cut on 2026-02-10"},
			{naming("Salix scouleriana", "2026-02-19"), models.Invalid, "out-of-order", "it was named on 2026-02-20"},
			{naming("Salix scouleriana", "2026-03-02"), models.Invalid, "in-the-future", "today is 2026-03-01"},
			{naming("Salix scouleriana", "2026-02-20", func(r *models.NewDetermination) { r.By = " " }), models.Invalid, "invalid", "by is missing"},
			{naming("Salix scouleriana", "2026-02-20", func(r *models.NewDetermination) { r.Qualifier = "near" }), models.Invalid, "invalid", "cf., aff. or ?"},
		} {
			_, err := h.Determine(h.ctx, unkeyed, code, c.req)
			h.refused(err, c.kind, c.code, c.says)
		}
		_, err := h.Determine(h.ctx, unkeyed, "TB-01-2026-9", naming("Cornus sericea", "2026-02-20"))
		h.refused(err, models.NotFound, "no-such-batch", code)
	})
}

package nursery_test

import (
	"strings"
	"testing"

	"withybed/models"
)

func asSalvage(r *models.NewBatch) { r.Purpose = models.Salvage }

// Within a salvage a stand is cut free of caps, and all of it is on the ledger.
func TestASalvagedStandIsCutFreeOfCaps(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.stand("NV-01")
		_, err := h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-20", 500, asSalvage))
		h.refused(err, models.Refused, "over-allowance")
		h.warned(h.log(cutOf("TB-01", "2026-02-01", 5, asSalvage)).Warnings, "no salvage of TB-01 on 2026-02-01 is on file")

		req := models.NewSalvage{From: date("2026-02-10"), To: date("2026-02-28"), Authority: "Wrenlow Valley Roads", Why: "a new bridge", By: "OP"}
		salvage, err := h.AddSalvage(h.ctx, keyed("a"), "tb-01", req)
		if must(h, salvage, err); salvage.Stand != "TB-01" || salvage.ID == "" || len(salvage.Warnings) != 0 {
			h.t.Errorf("%+v", salvage)
		}
		again, err := h.AddSalvage(h.ctx, keyed("a"), "tb-01", req)
		h.sameJSON("sent again", salvage, must(h, again, err))
		batch := h.log(cutOf("TB-01", "2026-02-20", 500, asSalvage))
		if batch.ToReview || len(batch.Warnings) != 0 {
			h.t.Errorf("%+v", batch.Warnings)
		}
		if stems, _ := h.ledger("TB-01"); stems != 505 {
			h.t.Errorf("%d stems are on the ledger", stems)
		}
		if view := h.standNow("TB-01"); view.Exceeded != "" || len(view.Rests) != 0 || view.Salvage != nil {
			h.t.Errorf("%+v", view)
		}
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-03-01", 1, asSalvage))
		h.refused(err, models.Refused, "over-allowance", "505 of 40 stems")

		open := models.NewSalvage{To: date("2026-03-05"), Authority: "roads", Why: "a bridge"}
		view, err := h.AddSalvage(h.ctx, unkeyed, "NV-01", open)
		if must(h, view, err); view.StartsOn != date("2026-03-01") {
			h.t.Errorf("%+v", view)
		}
		if shown := h.standNow("NV-01"); shown.Salvage == nil || shown.CountAgain != "" {
			h.t.Errorf("%+v", shown)
		}
		h.log(cutOf("NV-01", "2026-03-01", 30, asSalvage))
		if got := h.allowed("NV-01", allowanceOn("2026-03-02")); got.Allowed < 1000 || !strings.Contains(got.Leave, "as salvage, free of caps. Leave to cut is not on file") {
			h.t.Errorf("%d, %q", got.Allowed, got.Leave)
		}
		list, err := h.Salvages(h.ctx, "TB-01", models.Page{})
		h.sameJSON("the list", []models.SalvageView{salvage}, must(h, list, err).Items)
	})
}

// Closures, rests and protection hold in a salvage as ever.
func TestASalvageLiftsNothingElse(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		h.rest("TB-02", models.NewRest{Why: "browsed hard", To: date("2026-03-02")})
		for _, code := range []string{"TB-01", "TB-02"} {
			view, err := h.AddSalvage(h.ctx, unkeyed, code, models.NewSalvage{To: date("2026-04-30"), Authority: "roads", Why: "a bridge"})
			if must(h, view, err); (len(view.Warnings) == 1) != (code == "TB-02") {
				h.t.Errorf("%s: %q", code, view.Warnings)
			}
		}
		_, err := h.LogBatch(h.ctx, unkeyed, cutOf("TB-02", "2026-03-01", 1))
		h.refused(err, models.Refused, "at-rest")
		closed, err := h.AddClosures(h.ctx, unkeyed, "TB-01", closing(yearly("02-20", "03-01", "lambs")))
		must(h, closed, err)
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-03-01", 1))
		h.refused(err, models.Refused, "closed-season")
		_, err = h.EditTaxon(h.ctx, "Cornus sericea", 1, models.TaxonEdit{Protected: models.SetTo(true)})
		must(h, 0, err)
		h.goTo("2026-03-02 10:00")
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-03-02", 1))
		h.refused(err, models.Refused, "protected")
	})
}

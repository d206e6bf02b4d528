package nursery_test

import (
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
)

func TestAFieldSheetOfAStand(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		_, err := h.EditTaxon(h.ctx, "Cornus sericea", 1, models.TaxonEdit{IdentityMarks: models.SetTo(" Twigs  are red.\n\nBuds in pairs. ")})
		must(h, 0, err)
		h.log(cutOf("TB-01", "2026-02-20", 30))

		sheet, err := h.Sheet(h.ctx, "tb-01", nursery.SheetQuery{Stems: 24, Crew: " C "})
		must(h, sheet, err)
		if sheet.StopAt != 10 || sheet.On != date("2026-03-01") || sheet.MadeOn != sheet.On || sheet.Crew != "C" || sheet.Nursery != "Wrenlow Valley" {
			h.t.Errorf("%+v", sheet)
		}
		h.sameJSON("the marks", []string{"Twigs are red.", "Buds in pairs."}, sheet.IdentityMarks)
		if sheet.Tags[0] != "C-0301-1" || !strings.Contains(sheet.Why, "30 of 40 stems") || !strings.Contains(sheet.Leave, "Wrenlow Valley Parks") {
			h.t.Errorf("%+v", sheet)
		}

		// The tag goes with the batch, once.
		tagged := func(r *models.NewBatch) { r.RecordNumber = sheet.Tags[0] }
		h.log(cutOf("TB-01", "2026-03-01", 5, tagged))
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-03-01", 4, tagged))
		h.refused(err, models.Conflict, "record-number-taken")

		// On a day to come the window is another.
		later, err := h.Sheet(h.ctx, "TB-01", nursery.SheetQuery{On: date("2027-02-10"), Stems: 99, Crew: "C"})
		if must(h, later, err); later.StopAt != 35 || later.MadeOn != date("2026-03-01") || later.Season != "2026/27" {
			h.t.Errorf("%+v", later)
		}
	})
}

func TestAFieldSheetSaysNoCutting(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		h.stand("TB-01")
		sheet, err := h.Sheet(h.ctx, "TB-01", nursery.SheetQuery{Stems: 1, Crew: "C"})
		if must(h, sheet, err); sheet.StopAt != 0 || !strings.Contains(sheet.Why, "was not counted") || len(sheet.IdentityMarks) != 0 {
			h.t.Errorf("%+v", sheet)
		}
		_, err = h.Sheet(h.ctx, "TB-02", nursery.SheetQuery{Stems: 1, Crew: "C"})
		h.refused(err, models.NotFound, "no-such-stand")
		_, err = h.Sheet(h.ctx, "TB-01", nursery.SheetQuery{Crew: "C"})
		h.refused(err, models.Invalid, "invalid", "stems is 0")
		other := nursery.As(h.ctx, models.Caller{Role: models.Manager, LandManager: "Sorrel Flat Ditch Company"})
		_, err = h.Sheet(other, "TB-01", nursery.SheetQuery{Stems: 1, Crew: "C"})
		h.refused(err, models.NotFound, "no-such-stand")
	})
}

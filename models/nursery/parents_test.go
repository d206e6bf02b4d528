package nursery_test

import (
	"math"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
)

func fromPlants(parents ...models.Parent) func(*models.NewBatch) {
	return func(r *models.NewBatch) { r.Parents = parents }
}

// The plants of a batch are kept, shown with it, and add up over the window of the
// stand: 800 stems on 40 plants are 20 each, of which two may be cut.
func TestThePlantsOfBatches(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		h.stand("TB-01")
		h.census("TB-01", "2026-01-01", 800, 40)
		logged := h.log(cutOf("TB-01", "2026-02-10", 3, fromPlants(
			models.Parent{Tag: "D-1", Stems: 2, Cuttings: 6, Sex: models.Female}, models.Parent{Tag: " D  2 ", Stems: 1, Cuttings: 3})))
		h.warned(logged.Warnings, "cut from 2 plants")
		h.warned(logged.Warnings, "plant D-1 gave 6 of the 9 cuttings")
		batch, err := h.Batch(h.ctx, logged.Code)
		must(h, batch, err)
		want := []models.Parent{{Tag: "D-1", Stems: 2, Cuttings: 6, Sex: models.Female}, {Tag: "D 2", Stems: 1, Cuttings: 3, Sex: models.NotDetermined}}
		h.sameJSON("the plants", want, batch.Parents)
		if n := batch.EffectiveParents; n == nil || math.Abs(*n-81.0/45) > 1e-12 || *batch.ParentPlants != 2 {
			h.t.Errorf("effective %v of %v", n, batch.ParentPlants)
		}
		h.log(cutOf("TB-01", "2026-02-12", 2, func(r *models.NewBatch) { r.ParentPlants = ptr(2) }))
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-20", 1, fromPlants(models.Parent{Tag: "d-1", Stems: 1})))
		h.refused(err, models.Refused, "over-allowance", "2 of 2 stems are taken in the 350 days to 2026-02-20 of plant d-1")
		h.log(cutOf("TB-01", "2026-02-20", 1, fromPlants(models.Parent{Tag: "d 2", Stems: 1, Cuttings: 3, Sex: models.Male})))

		answer, err := h.StandParents(h.ctx, "tb-01", nursery.ParentsQuery{On: date("2026-02-20")})
		must(h, answer, err)
		plants := []models.PlantTaken{
			{Tag: "D 2", Stems: 2, Cuttings: 6, Batches: 2, LastOn: date("2026-02-20"), Sex: models.Male, Share: 2.0 / 6},
			{Tag: "D-1", Stems: 2, Cuttings: 6, Batches: 1, LastOn: date("2026-02-10"), Sex: models.Female, Share: 2.0 / 6},
		}
		h.sameJSON("the plants of the stand", plants, answer.Plants)
		if answer.Stems != 6 || answer.Untagged != 2 || answer.From != date("2025-03-08") || *answer.EffectiveParents != 2 {
			h.t.Errorf("%+v", answer)
		}
		for q, stems := range map[nursery.ParentsQuery]int{{}: 6, {On: date("2026-02-11")}: 3, {Season: "2025/26"}: 6, {Season: "2024/25"}: 0} {
			answer, err := h.StandParents(h.ctx, "TB-01", q)
			if must(h, answer, err); answer.Stems != stems {
				h.t.Errorf("%+v: %d stems, want %d", q, answer.Stems, stems)
			}
		}
		_, err = h.StandParents(h.ctx, "TB-01", nursery.ParentsQuery{On: date("2026-02-11"), Season: "2025/26"})
		h.refused(err, models.Invalid, "invalid")
		_, err = h.StandParents(h.ctx, "TB-01", nursery.ParentsQuery{Season: "25"})
		h.refused(err, models.Invalid, "invalid")
		_, err = h.StandParents(h.ctx, "TB-99", nursery.ParentsQuery{})
		h.refused(err, models.NotFound, "no-such-stand")
	})
}

// Of a taxon with female and male plants it is told where the sex of none is known, in
// a day sheet too.
func TestThePlantsOfADaySheet(t *testing.T) {
	each(t, func(h *house) {
		must1(h, func() (models.Taxon, error) {
			return h.AddTaxon(h.ctx, unkeyed, models.NewTaxon{ScientificName: "Salix scouleriana", Dioecious: true})
		})
		h.stand("RS-1", func(r *models.NewStand) { r.Taxon = "Salix scouleriana" })
		h.census("RS-1", "2026-01-01", 800, 40)
		view, err := h.LogDay(h.ctx, unkeyed, []byte("stand,collected_on,stems_cut,cuttings,collected_by,parents\nRS-1,2026-02-10,3,9,RQ,D-1=2; D-2=1\nRS-1,2026-02-10,2,6,TS,D-3=1/3:female;D-4=1/3:male\n"))
		must(h, view, err)
		h.warned(view.Batches[0].Warnings, "sex of none")
		if n := len(view.Batches[1].Parents); n != 2 {
			h.t.Errorf("%+v", view.Batches[1])
		}
	})
}

package nursery_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
)

// What a batch drew on a permit goes with its correction, in the unit of the permit;
// raising it, a day or a person the permit does not cover asks the permit again.
func TestCorrectionsOfWhatIsDrawnOnAPermit(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		inCuttings := newPermit("WV-C", 100, "TB-01")
		inCuttings.Unit, inCuttings.People, inCuttings.ValidFrom = models.InCuttings, []string{"RQ"}, date("2026-02-01")
		h.permit(inCuttings)
		bundles := newPermit("WV-B", 10, "TB-01", "TB-02")
		bundles.Unit = models.InBundles
		h.permit(bundles)
		drawn := func(number string, want int) {
			h.t.Helper()
			if got := h.seePermit(number).Drawn; got != models.DecimalOf(want) {
				h.t.Errorf("%s are drawn on %s, want %d", got, number, want)
			}
		}
		code := h.log(cutOf("TB-01", "2026-02-10", 20, onPermit("WV-C"))).Code
		drawn("WV-C", 60)
		to := func(change func(c *models.Changes)) error {
			_, err := h.Correct(h.ctx, unkeyed, code, correcting(change))
			return err
		}
		h.refused(to(func(c *models.Changes) { c.Cuttings = models.SetTo(101) }), models.Refused, "no-permit", "100 of 100 cuttings are left")
		must(h, 0, to(func(c *models.Changes) { c.Cuttings = models.SetTo(90) }))
		drawn("WV-C", 90)
		must(h, 0, to(func(c *models.Changes) { c.Cuttings, c.StemsCut = models.SetTo(50), models.SetTo(18) }))
		drawn("WV-C", 50)
		h.refused(to(func(c *models.Changes) { c.CollectedOn = models.SetTo(date("2026-01-31")) }), models.Refused, "no-permit", "holds from 2026-02-01")
		h.refused(to(func(c *models.Changes) { c.CollectedBy = models.SetTo("TS") }), models.Refused, "no-permit", "who cut is not among them")
		h.refused(to(func(c *models.Changes) { c.Stand = models.SetTo("TB-02") }), models.Invalid, "permit-misfit", "changes.permit", "WV-B")
		h.refused(to(func(c *models.Changes) { c.Permit = models.SetTo("WV-B") }), models.Invalid, "invalid", "changes.permit_quantity", "bundles")
		must(h, 0, to(func(c *models.Changes) {
			c.Permit, c.PermitQuantity, c.Stand, c.CollectedBy = models.SetTo("wv-b"), models.SetTo(models.DecimalOf(3)), models.SetTo("TB-02"), models.SetTo("TS")
		}))
		drawn("WV-C", 0)
		drawn("WV-B", 3)
		must(h, 0, to(func(c *models.Changes) { c.PermitQuantity = models.SetTo(models.DecimalOf(2)) }))
		drawn("WV-B", 2)
		split, err := h.Split(h.ctx, unkeyed, code, models.NewSplit{On: date("2026-02-12"), Arms: []models.Arm{{Count: 5}}})
		must(h, split, err)
		drawn("WV-B", 2)
		view, err := h.Batch(h.ctx, code)
		if must(h, view, err); view.Permit != "WV-B" || *view.PermitQuantity != models.DecimalOf(2) || view.PermitUnit != models.InBundles {
			h.t.Errorf("%+v", view)
		}
		h.tells(view, "permit from WV-C to WV-B, permit quantity is 3, stand from TB-01 to TB-02")
		must(h, 0, to(func(c *models.Changes) {
			c.Permit, c.PermitQuantity = models.SetNull[string](), models.SetNull[models.Decimal]()
		}))
		drawn("WV-B", 0)
		must(h, 0, to(func(c *models.Changes) {
			c.Permit, c.PermitQuantity = models.SetTo("WV-B"), models.SetTo(models.DecimalOf(4))
		}))
		h.voided(code)
		drawn("WV-B", 0)
	})
}

// What a batch drew on a crew share goes back to it, or is drawn anew, as long as the
// share is held; of one that was returned nothing is held any more.
func TestCorrectionsOfWhatIsDrawnOnAShare(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		share := h.setAside("TB-01", shareOf("C", 10, "2026-02-20", "2026-03-03")).ID
		code := h.log(cutOf("TB-01", "2026-02-22", 10, onShare("C"))).Code
		left := func(want int) {
			h.t.Helper()
			if got := h.shares("TB-01")[0].Left; got != want {
				h.t.Errorf("%d are left of the share, want %d", got, want)
			}
		}
		left(0)
		h.correct(code, stems(7))
		left(3)
		h.wantLines("TB-01", "share 2026-02-20 10 OP", "cut 2026-02-22 10 RQ", "share_drawn 2026-02-20 -10 RQ", "correction 2026-02-22 -3 OP", "correction 2026-02-20 3 OP")
		h.correct(code, stems(9))
		left(1)
		view := h.correct(code, stems(12)) // two more than were set aside
		if !view.ToReview || !strings.Contains(view.RefusedBy, "which had 10 left") {
			h.t.Errorf("%+v", view)
		}
		left(0)
		view = h.correct(code, stems(10))
		if view.ToReview {
			h.t.Errorf("%+v", view)
		}
		move := func(change func(c *models.Changes)) error {
			_, err := h.Correct(h.ctx, unkeyed, code, correcting(change))
			return err
		}
		h.refused(move(func(c *models.Changes) { c.CollectedOn = models.SetTo(date("2026-02-19")) }), models.Invalid, "share-misfit", "changes.collected_on")
		must(h, 0, move(func(c *models.Changes) { c.Stand = models.SetTo("TB-02") }))
		left(10)
		view, err := h.Batch(h.ctx, code)
		if must(h, view, err); view.Crew != "" {
			h.t.Errorf("%+v", view)
		}
		h.tells(view, "share was C and is none, stand from TB-01 to TB-02")
		must(h, 0, move(func(c *models.Changes) { c.Stand, c.Share = models.SetTo("TB-01"), models.SetTo("C") }))
		left(0)
		must(h, 0, move(func(c *models.Changes) { c.Share = models.SetNull[string]() }))
		left(10)
		if got := h.allowed("TB-01", allowanceOn("2026-02-25")); got.Taken != 20 {
			h.t.Errorf("%+v", got)
		}
		must(h, 0, move(func(c *models.Changes) { c.Share = models.SetTo("c") }))
		left(0)
		h.correct(code, stems(6))
		must1(h, func() (models.ShareView, error) {
			return h.ReturnShare(h.ctx, unkeyed, "TB-01", share, models.NewShareReturn{By: "RQ"})
		})
		view = h.correct(code, stems(5))
		if view.Crew != "C" {
			h.t.Errorf("it was taken from the share of %q", view.Crew)
		}
		if got := h.allowed("TB-01", allowanceOn("2026-02-25")); got.Taken != 5 {
			h.t.Errorf("%+v", got)
		}
		if view = h.correct(code, stems(8)); view.Crew != "C" || view.ToReview {
			h.t.Errorf("%+v", view)
		}
		h.voided(code)
		if sums := h.sumsOf("TB-01"); slices.ContainsFunc(valuesOf(sums), func(n int) bool { return n != 0 }) {
			h.t.Errorf("the ledger sums to %v", sums)
		}
		code = h.log(cutOf("TB-01", "2026-02-22", 4)).Code
		h.setAside("TB-01", shareOf("D", 10, "2026-02-20", "2026-03-03"))
		must(h, 0, move(func(c *models.Changes) { c.Share = models.SetTo("D") }))
		left(6)
		h.voided(code)
		left(10)
	})
}

func valuesOf[K comparable, V any](m map[K]V) (values []V) {
	for _, v := range m {
		values = append(values, v)
	}
	return values
}

// The plants a batch was cut from are corrected with it: what each gave counts on the
// day and at the stand it is of now, and no more where it never was.
func TestCorrectionsOfTaggedPlants(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		for _, code := range []string{"TB-01", "TB-02"} {
			h.stand(code, func(r *models.NewStand) {
				r.HarvestRule = &models.NewHarvestRule{PerPlantCap: ptr(models.MustDecimal("0.2"))}
			})
			h.census(code, "2026-01-01", 800, 40) // 4 stems of each plant
		}
		code := h.log(cutOf("TB-01", "2026-02-10", 6, func(r *models.NewBatch) {
			r.Parents = []models.Parent{{Tag: "D-07", Stems: 4}, {Tag: "D-08", Stems: 2}}
		})).Code
		to := func(change func(c *models.Changes)) (models.BatchView, error) {
			return h.Correct(h.ctx, unkeyed, code, correcting(change))
		}
		plants := func(stand, want string) {
			h.t.Helper()
			answer, err := h.StandParents(h.ctx, stand, nursery.ParentsQuery{On: date("2026-03-01")})
			must(h, answer, err)
			var got []string
			for _, p := range answer.Plants {
				got = append(got, fmt.Sprintf("%s %d", p.Tag, p.Stems))
			}
			slices.Sort(got)
			if strings.Join(got, ", ") != want {
				h.t.Errorf("the plants of %s are %q, want %q", stand, got, want)
			}
		}
		plants("TB-01", "D-07 4, D-08 2")
		_, err := to(func(c *models.Changes) { c.StemsCut = models.SetTo(5) })
		h.refused(err, models.Invalid, "contradiction", "changes.parents", "name 6 stems")
		_, err = to(func(c *models.Changes) {
			c.Parents = models.SetTo([]models.Parent{{Tag: "D-07", Stems: 5}, {Tag: "D-08", Stems: 1}})
		})
		h.refused(err, models.Refused, "over-allowance", "of plant D-07")
		view, err := to(func(c *models.Changes) {
			c.Parents = models.SetTo([]models.Parent{{Tag: "D-70", Stems: 4}, {Tag: "D-08", Stems: 1}, {Tag: "D-09", Stems: 1}})
		})
		if must(h, view, err); *view.ParentPlants != 3 || len(view.Parents) != 3 {
			h.t.Errorf("%+v", view)
		}
		h.warned(view.Warnings, "plant D-70 gave 4 of the 6 stems, more than a share of 0.5")
		h.tells(view, "parent plants from 2 to 3, parents from 4 of D-07 and 2 of D-08 to 4 of D-70 and 1 of D-08 and 1 of D-09")
		plants("TB-01", "D-08 1, D-09 1, D-70 4")
		lines := h.linesOf("TB-01")
		if last := lines[len(lines)-1]; last.Stems != 0 || last.Parents != 1 {
			h.t.Errorf("%+v", lines)
		}
		view, err = to(func(c *models.Changes) { c.Stand = models.SetTo("TB-02") })
		must(h, view, err)
		plants("TB-01", "")
		plants("TB-02", "D-08 1, D-09 1, D-70 4")
		must1(h, func() (models.DisturbanceView, error) {
			return h.AddDisturbance(h.ctx, unkeyed, "TB-02", models.NewDisturbance{On: date("2026-02-01"), Kind: "flood"})
		})
		view, err = to(func(c *models.Changes) {
			c.Parents = models.SetTo([]models.Parent{{Tag: "D-71", Stems: 4}, {Tag: "D-08", Stems: 2}})
		})
		if must(h, view, err); *view.ParentPlants != 2 { // fewer plants, and within what each can spare
			h.t.Errorf("%+v", view)
		}
		h.voided(code)
		plants("TB-02", "")
	})
}

// A correction sent again under its key is made once.
func TestACorrectionSentAgainIsOne(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		code := h.log(cutOf("TB-01", "2026-02-10", 24)).Code
		first, err := h.Correct(h.ctx, keyed("a"), code, stems(28))
		must(h, first, err)
		again, err := h.Correct(h.ctx, keyed("a"), code, stems(28))
		h.sameJSON("the correction sent again", first, must(h, again, err))
		if sum, lines := h.ledger("TB-01"); sum != 28 || lines != 2 {
			h.t.Errorf("%d stems in %d lines", sum, lines)
		}
	})
}

// Batches are moved to and fro between stands, on permits that cover several of these, by
// many at once, while others are logged and voided there: no database had to break a
// transaction up, no window and no permit overfills, and ledgers, permits and batches
// agree.
func TestMovesAmongManyWriters(t *testing.T) {
	stands, permits := []string{"TB-01", "TB-02", "TB-03", "TB-04", "TB-05"}, []string{"WV-1", "WV-2", ""}
	each(t, func(h *house) {
		h.counted(stands...)
		h.permit(newPermit("WV-1", 60, stands...))
		h.permit(newPermit("WV-2", 45, "TB-05", "TB-04", "TB-03", "TB-02", "TB-01"))
		var codes []string
		for i := range 10 {
			codes = append(codes, h.log(cutOf(stands[i%5], "2026-02-10", 4, onPermit(permits[i%3]))).Code)
		}
		var mutex sync.Mutex
		begun, asked := 0, 0
		watched := store.Watch(h.ctx, func(statement string) {
			mutex.Lock()
			defer mutex.Unlock()
			if strings.Contains(statement, "nursery") && strings.HasPrefix(statement, "SELECT") {
				begun++
			}
		})
		atOnce(12, func(i int, chance *rand.Rand) {
			for n := range 6 {
				stand, permit, code := stands[chance.IntN(len(stands))], permits[chance.IntN(len(permits))], codes[chance.IntN(len(codes))]
				var err error
				switch {
				case i%3 == 0:
					_, err = h.LogBatch(watched, unkeyed, cutOf(stand, "2026-02-11", 1+chance.IntN(6), onPermit(permit)))
				case i == 1 && n == 3:
					_, err = h.VoidBatch(watched, unkeyed, code, models.NewVoid{Why: "logged twice"})
				default:
					_, err = h.Correct(watched, unkeyed, code, correcting(func(c *models.Changes) {
						c.Stand, c.StemsCut, c.Permit = models.SetTo(stand), models.SetTo(1+chance.IntN(8)), models.SetTo(permit)
					}))
				}
				mutex.Lock()
				asked++
				mutex.Unlock()
				if e := models.AsError(err); err != nil && (e == nil || !slices.Contains([]string{"over-allowance", "no-permit", "nothing-changes", "batch-void", "stale"}, e.Code)) {
					h.t.Error(err)
				}
			}
		})
		if begun != asked {
			h.t.Errorf("%d transactions were begun for %d requests", begun, asked)
		}
		drawn := map[string]int{}
		for _, stand := range stands {
			h.noWindowIsOverfull(stand, 350, 40)
			for _, b := range h.batchesOf(nursery.BatchQuery{Stand: stand}) {
				view, err := h.Batch(h.ctx, b.Code)
				drawn[must(h, view, err).Permit] += b.StemsCut
			}
		}
		for _, number := range permits[:2] {
			if got := h.seePermit(number); got.Drawn != models.DecimalOf(drawn[number]) || got.Left == nil || *got.Left < 0 {
				h.t.Errorf("%s are drawn on %s, and its batches have %d", got.Drawn, number, drawn[number])
			}
		}
	})
}

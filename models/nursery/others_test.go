package nursery_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
)

func byOthers(from, to string, low, high int) models.NewOthersCut {
	return models.NewOthersCut{From: date(from), To: date(to), Low: low, High: high,
		CutBy: "valley basket weavers", Evidence: "cut stubs seen on the bank", By: "OP"}
}

// 40 stems may be cut of 800: with 12 gone to others 28 are left, and a cut of 29
// is refused.
func TestTheCutsOfOthersCountAgainstTheStand(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		view, err := h.AddOthersCut(h.ctx, unkeyed, "tb-01", byOthers("2026-02-03", "2026-02-05", 5, 12))
		if must(h, view, err); view.Stand != "TB-01" || view.High != 12 || len(view.Warnings) != 0 || view.ID == "" {
			h.t.Errorf("%+v", view)
		}
		if got := h.allowed("TB-01", allowanceOn("2026-02-20")); got.Allowed != 28 || got.Taken != 12 {
			h.t.Errorf("%d of %d are allowed, and %d taken", got.Allowed, got.Limit, got.Taken)
		}
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-20", 29))
		h.refused(err, models.Refused, "over-allowance", "12 of 40 stems")
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-01", 29)) // before theirs, in one window with it
		h.refused(err, models.Refused, "over-allowance", "to 2026-02-05")
		h.log(cutOf("TB-01", "2026-02-20", 28))

		list, err := h.OthersCuts(h.ctx, "TB-01", models.Page{})
		must(h, list, err)
		h.sameJSON("the list", []models.OthersCutView{view}, list.Items)
		lines, err := h.Ledger(h.ctx, "TB-01", models.Date{}, models.Page{})
		if must(h, lines, err); len(lines.Items) != 2 {
			h.t.Fatalf("%+v", lines)
		}
		line := lines.Items[1]
		if line.Kind != models.Others || line.Stems != 12 || line.Batch != "" || line.TakenOn != date("2026-02-05") || !strings.Contains(line.Why, "5 to 12 stems cut by others (valley basket weavers)") {
			h.t.Errorf("the line is %+v", line)
		}
		seasons, err := h.Seasons(h.ctx, "TB-01", models.Date{})
		if must(h, seasons, err); len(seasons) != 1 || seasons[0].Stems != 40 || seasons[0].Batches != 1 || *seasons[0].Fraction != 0.05 {
			h.t.Errorf("the seasons are %+v", seasons)
		}
	})
}

// What others cut is never refused: over the limit, on a stand that is closed, was
// never counted or may not be cut at all.
func TestTheCutsOfOthersAreNeverRefused(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.stand("NV-01")
		h.stand("SH-01", func(r *models.NewStand) {
			r.Closures = []models.Closure{{From: "01-01", To: "12-31", EveryYear: true}}
		})
		view, err := h.AddOthersCut(h.ctx, unkeyed, "TB-01", byOthers("2026-02-05", "2026-02-05", 41, 41))
		must(h, view, err)
		h.warned(view.Warnings, "1 over the limit of 40")
		stand, err := h.Stand(h.ctx, "TB-01", false)
		if must(h, stand, err); !strings.Contains(stand.Exceeded, "1 over the limit") {
			h.t.Errorf("the stand is exceeded: %q", stand.Exceeded)
		}
		for _, code := range []string{"NV-01", "SH-01"} {
			must1(h, func() (models.OthersCutView, error) {
				return h.AddOthersCut(h.ctx, unkeyed, code, byOthers("2026-01-05", "2026-02-05", 0, 9))
			})
		}
		_, err = h.EditTaxon(h.ctx, "Cornus sericea", 1, models.TaxonEdit{Protected: models.SetTo(true)})
		must(h, 0, err)
		must1(h, func() (models.OthersCutView, error) {
			return h.AddOthersCut(h.ctx, unkeyed, "TB-01", byOthers("2026-03-01", "2026-03-01", 0, 1))
		})
	})
}

func TestWhatCannotBeACutOfOthers(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		_, err := h.AddOthersCut(h.ctx, unkeyed, "TB-10", byOthers("2026-02-03", "2026-02-05", 5, 12))
		if e := h.refused(err, models.NotFound, "no-such-stand"); len(e.Suggestions) == 0 {
			h.t.Errorf("nothing is near: %v", e)
		}
		_, err = h.AddOthersCut(h.ctx, unkeyed, "TB-01", byOthers("2026-02-05", "2026-03-02", 5, 12))
		h.refused(err, models.Invalid, "in-the-future", "today is 2026-03-01")
		if stems, lines := h.ledger("TB-01"); stems != 0 || lines != 0 {
			h.t.Errorf("%d stems in %d lines are on the ledger", stems, lines)
		}
	})
}

// A land manager enters what others cut on their own land, and knows of no other.
func TestALandManagerEntersTheCutsOfOthers(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		manager := func(land string) models.Caller { return models.Caller{Role: models.Manager, LandManager: land} }
		own, other := nursery.As(h.ctx, manager("wrenlow valley  parks")), nursery.As(h.ctx, manager("Sorrel Flat Ditch Company"))
		must1(h, func() (models.OthersCutView, error) {
			return h.AddOthersCut(own, unkeyed, "TB-01", byOthers("2026-02-05", "2026-02-05", 1, 3))
		})
		_, err := h.AddOthersCut(other, unkeyed, "TB-01", byOthers("2026-02-05", "2026-02-05", 1, 3))
		h.refused(err, models.NotFound, "no-such-stand", "on the land of Sorrel Flat")
		_, err = h.OthersCuts(other, "TB-01", models.Page{})
		h.refused(err, models.NotFound, "no-such-stand")
		if list, err := h.OthersCuts(own, "TB-01", models.Page{}); err != nil || len(list.Items) != 1 {
			h.t.Errorf("%+v, %v", list, err)
		}
	})
}

func TestACutOfOthersSentAgainIsOne(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		req := byOthers("2026-02-03", "2026-02-05", 5, 12)
		first, err := h.AddOthersCut(h.ctx, keyed("a"), "TB-01", req)
		must(h, first, err)
		again, err := h.AddOthersCut(h.ctx, keyed("a"), "TB-01", req)
		h.sameJSON("the cut sent again", first, must(h, again, err))
		if stems, lines := h.ledger("TB-01"); stems != 12 || lines != 1 {
			h.t.Errorf("%d stems in %d lines are on the ledger", stems, lines)
		}
	})
}

// While others' cuts are entered among ours, no batch passes that would overfill
// the window: what is over the limit at the end is theirs.
func TestCutsOfOthersAmongOurs(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		atOnce(8, func(i int, chance *rand.Rand) {
			for range 4 {
				if i == 0 {
					if _, err := h.AddOthersCut(h.ctx, unkeyed, "TB-01", byOthers("2026-02-01", "2026-02-05", 1, 3)); err != nil {
						h.t.Error(err)
					}
					continue
				}
				if _, err := h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", fmt.Sprintf("2026-02-%02d", 1+chance.IntN(20)), 1+chance.IntN(4))); err != nil {
					if problem := wantRefusal(err); problem != nil {
						h.t.Error(problem)
					}
				}
			}
		})
		stems, _ := h.ledger("TB-01")
		ours := 0
		for _, batch := range h.batchesOf(nursery.BatchQuery{Stand: "TB-01"}) {
			ours += batch.StemsCut
		}
		if stems != ours+12 || ours > 40 {
			h.t.Errorf("%d stems are on the ledger, and %d are ours", stems, ours)
		}
		h.fillUp("TB-01", date("2026-02-20"))
		if got := h.allowed("TB-01", allowanceOn("2026-02-20")); got.Allowed != 0 || got.Taken > max(40, ours+12) {
			h.t.Errorf("%d are taken, %d allowed", got.Taken, got.Allowed)
		}
	})
}

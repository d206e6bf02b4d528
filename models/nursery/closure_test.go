package nursery_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
)

func yearly(from, to, reason string) models.Closure {
	return models.Closure{From: from, To: to, EveryYear: true, Reason: reason, Kind: models.Closed}
}

func closing(closures ...models.Closure) models.NewClosures {
	return models.NewClosures{Closures: closures, Why: "nests found", By: "parks"}
}

// What the coordinator closed stays closed when the manager of the land closes more.
func TestALandManagerAddsToWhatIsClosed(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		h.stand("TB-01", func(r *models.NewStand) {
			r.LandManager, r.Closures = "Wrenlow Valley Parks", []models.Closure{yearly("12-15", "01-15", "eagles")}
			r.Latitude, r.Longitude = ptr(46.12345), ptr(-122.54321)
		})
		parks := nursery.As(h.ctx, models.Caller{Token: "t", Name: "parks", Role: models.Manager, LandManager: "Wrenlow Valley Parks"})
		view, err := h.AddClosures(parks, keyed("k"), "tb-01", closing(yearly("04-15", "07-31", "birds nest here")))
		must(h, view, err)
		if view.Version != 2 || len(view.Closures) != 2 || len(view.Warnings) != 0 || *view.Latitude != 46.12345 {
			h.t.Errorf("%+v", view)
		}
		for day, closed := range map[string]bool{"2026-03-31": false, "2026-04-15": true, "2026-12-15": true} {
			if binding := h.allowed("TB-01", allowanceOn(day)).Binding; binding == nil || (binding.Code == "closure") != closed && closed {
				h.t.Errorf("on %s %+v binds", day, binding)
			}
		}
		again, err := h.AddClosures(parks, keyed("k"), "tb-01", closing(yearly("04-15", "07-31", "birds nest here")))
		h.sameJSON("sent again", must(h, again, err), view)
		again, err = h.AddClosures(parks, keyed("l"), "tb-01", closing(yearly("04-15", "07-31", "birds nest here")))
		h.warned(must(h, again, err).Warnings, "no new version")

		dropped, err := h.EditStand(h.as(models.Coordinator), "TB-01", again.Version, models.StandEdit{
			Closures: &[]models.Closure{yearly("12-15", "01-15", "eagles")}, Why: "no nests", By: "OP",
		})
		h.warned(must(h, dropped, err).Warnings, "no longer closed: 04-15..07-31 (birds nest here)")
		versions, err := h.Versions(h.ctx, "TB-01")
		if must(h, versions, err); len(versions.Closures) != 3 || versions.Closures[1].SetBy != "parks" || versions.Closures[1].Why != "nests found" {
			h.t.Errorf("%+v", versions.Closures)
		}
	})
}

func TestClosuresThatAreNotAdded(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		h.stand("TB-01")
		_, err := h.AddClosures(h.ctx, unkeyed, "TB-01", closing())
		h.refused(err, models.Invalid, "invalid", "closures")
		_, err = h.AddClosures(h.ctx, unkeyed, "TB-01", closing(yearly("04-31", "07-31", "")))
		h.refused(err, models.Invalid, "bad-date", "04-31")
		_, err = h.AddClosures(h.ctx, unkeyed, "TB-1", closing(yearly("04-15", "07-31", "")))
		h.refused(err, models.NotFound, "no-such-stand")
		later := closing(yearly("12-15", "01-15", "eagles"))
		later.InForceFrom = date("2026-05-01")
		must1(h, func() (models.StandView, error) { return h.AddClosures(h.ctx, unkeyed, "TB-01", later) })
		view, err := h.AddClosures(h.ctx, unkeyed, "TB-01", closing(yearly("04-15", "07-31", "birds nest")))
		h.warned(must(h, view, err).Warnings, "from 2026-05-01 on, without 04-15..07-31 (birds nest)")
	})
}

// Of many who close a stand at once, none undoes what another did.
func TestClosuresAddedAtOnceAreAllKept(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		h.stand("TB-01")
		atOnce(12, func(i int, _ *rand.Rand) {
			on := fmt.Sprintf("%02d-07", i+1)
			if _, err := h.AddClosures(h.ctx, unkeyed, "TB-01", closing(yearly(on, on, ""))); err != nil {
				h.t.Error(err)
			}
		})
		view, err := h.Stand(h.ctx, "TB-01", false)
		if must(h, view, err); len(view.Closures) != 12 || view.Version != 13 {
			h.t.Errorf("at version %d: %+v", view.Version, view.Closures)
		}
	})
}

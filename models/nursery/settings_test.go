package nursery_test

import (
	"testing"

	"withybed/models"
)

func TestTheStoryOfTheSettings(t *testing.T) {
	each(t, func(h *house) {
		h.goTo("2026-03-01 17:00") // a day later in UTC
		seen, err := h.See(h.ctx)
		if must(h, seen, err).Today != date("2026-03-01") || seen.Version != 1 || seen.Name != "Wrenlow Valley" {
			h.t.Errorf("%+v", seen)
		}
		edited, err := h.Edit(h.ctx, 1, models.NurseryEdit{
			TimeZone: models.SetTo("Asia/Tokyo"), HarvestRule: &models.NewHarvestRule{StandCap: ptr(models.MustDecimal("0.02"))},
			Thresholds: map[string]any{"check_every": 10.0},
		})
		if must(h, edited, err).Today != date("2026-03-02") || edited.Version != 2 || edited.Thresholds.CheckEvery != 10 {
			h.t.Errorf("%+v", edited)
		}
		again, err := h.See(h.ctx)
		h.sameJSON("read again", edited, must(h, again, err))
		_, err = h.Edit(h.ctx, 1, models.NurseryEdit{Name: models.SetTo("Another")})
		h.refused(err, models.Stale, "stale", "at version 2, not 1")
		_, err = h.Edit(h.ctx, 2, models.NurseryEdit{TimeZone: models.SetTo("Mars/Olympus")})
		h.refused(err, models.Invalid, "invalid", "Mars/Olympus")
	})
}

// New defaults rewrite nothing: stands that are there keep theirs.
func TestNewDefaultsAreForNewStands(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		edited, err := h.Edit(h.ctx, 1, models.NurseryEdit{HarvestRule: &models.NewHarvestRule{StandCap: ptr(models.MustDecimal("0.02"))}})
		must(h, edited, err)
		h.stand("TB-02")
		h.census("TB-02", "2026-01-01", 800)
		for stand, limit := range map[string]int{"TB-01": 40, "TB-02": 16} {
			if got := h.allowed(stand, allowanceOn("")); got.Limit != limit {
				h.t.Errorf("the limit of %s is %d, want %d", stand, got.Limit, limit)
			}
		}
	})
}

package nursery_test

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
)

func (h *house) forecast(q nursery.ForecastQuery) models.ForecastReport {
	h.t.Helper()
	r, err := h.RootingForecast(h.ctx, q)
	must(h, r, err)
	return r
}

func TestForecastsOfWhatIsPicked(t *testing.T) {
	each(t, func(h *house) {
		h.trays()
		for what, c := range map[string]struct {
			q     nursery.ForecastQuery
			codes string
		}{
			"all":              {nursery.ForecastQuery{}, "TB-01-2026-1 TB-01-2026-2 TB-02-2025-1 TB-02-2026-1"},
			"a stand":          {nursery.ForecastQuery{RootingPick: nursery.RootingPick{Stand: "TB-01"}}, "TB-01-2026-1 TB-01-2026-2"},
			"a treatment":      {nursery.ForecastQuery{RootingPick: nursery.RootingPick{Treatment: "willow water"}}, "TB-01-2026-2"},
			"named":            {nursery.ForecastQuery{Batches: []string{"tb-01-2026-2", "TB-02-2025-1"}}, "TB-01-2026-2 TB-02-2025-1"},
			"named, elsewhere": {nursery.ForecastQuery{RootingPick: nursery.RootingPick{Stand: "TB-02"}, Batches: []string{"TB-01-2026-2"}}, ""},
		} {
			var codes []string
			for _, b := range h.forecast(c.q).Batches {
				codes = append(codes, b.Batch)
			}
			if got := strings.Join(codes, " "); got != c.codes {
				h.t.Errorf("%s: %q, want %q", what, got, c.codes)
			}
		}
		_, err := h.RootingForecast(h.ctx, nursery.ForecastQuery{Batches: []string{"TB-01-2026-9"}})
		h.refused(err, models.NotFound, "no-such-batch")
		whole, picked := h.forecast(nursery.ForecastQuery{}), h.forecast(nursery.ForecastQuery{Batches: []string{"TB-01-2026-2"}})
		if i := slices.IndexFunc(whole.Batches, func(b models.BatchForecast) bool { return b.Batch == "TB-01-2026-2" }); !reflect.DeepEqual(whole.Batches[i], picked.Batches[0]) {
			h.t.Error("what is picked moves what stands behind a forecast")
		}
	})
}

// A look that was entered after its day could not be forecast from on that day, and
// changes nothing of the days before it was entered.
func TestCalibrationKnowsWhenThingsWereEntered(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.goTo("2026-01-20 10:00")
		code := h.log(cutOf("TB-01", "2026-01-17", 10, stuckOn("2026-01-18", "B2"))).Code
		if c, err := h.RootingCalibration(h.ctx, nursery.CalibrationQuery{}); must(h, c, err).Status != "not_enough_yet" {
			h.t.Errorf("before any look: %+v", c)
		}
		look := func(entered, on string, rooted int) {
			h.goTo(entered + " 18:00")
			view, err := h.Check(h.ctx, unkeyed, code, models.NewCheck{CheckedOn: date(on), Rooted: &rooted})
			must(h, view, err)
		}
		look("2026-02-01", "2026-02-01", 2)
		look("2026-02-15", "2026-02-15", 6)
		look("2026-03-05", "2026-03-01", 9)
		look("2026-03-15", "2026-03-15", 10)
		c, err := h.RootingCalibration(h.ctx, nursery.CalibrationQuery{})
		if must(h, c, err); c.Status != "scored" || c.Origins != 2 || c.LateEntries != 1 || c.Held.Looks != 5 || c.Held.Batches != 1 {
			h.t.Errorf("%+v", c)
		}
		if len(c.ByLevel) != 1 || c.ByLevel[0].Level != "prior" {
			h.t.Errorf("one batch is no pool: %+v", c.ByLevel)
		}
	})
}

package nursery_test

import (
	"testing"

	"withybed/models"
)

// One batch from the cut to the pot, entry by entry.
func TestFromTheCutToThePot(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		code := h.log(cutOf("TB-01", "2026-01-17", 24)).Code
		h.entries(code)
		before, err := h.Batch(h.ctx, code)
		must(h, before, err)
		h.slips(code)
		after, err := h.Batch(h.ctx, code)
		h.sameJSON("after slips", before, must(h, after, err))
	})
}

func (h *house) entries(code string) {
	h.t.Helper()
	for i, step := range []struct {
		name  string
		enter func() (models.BatchView, error)
		want  models.Tally
		stage models.Stage
	}{
		{"soaked", func() (models.BatchView, error) {
			return h.Move(h.ctx, unkeyed, code, models.NewMove{On: date("2026-01-17"), To: models.ToSoak, Count: 60})
		}, models.Tally{Made: 72, InHand: 12, Soaking: 60}, models.StageCut},
		{"given away", func() (models.BatchView, error) {
			return h.Move(h.ctx, unkeyed, code, models.NewMove{On: date("2026-01-18"), To: models.ToUsed, Count: 8, Use: "staked"})
		}, models.Tally{Made: 72, InHand: 4, Soaking: 60, Used: 8}, models.StageCut},
		{"lost", func() (models.BatchView, error) {
			return h.Move(h.ctx, unkeyed, code, models.NewMove{On: date("2026-01-18"), To: models.ToLost, Count: 4, Cause: models.Dried})
		}, models.Tally{Made: 72, Soaking: 60, Used: 8, LostWaiting: 4}, models.StageSoaking},
		{"stuck", func() (models.BatchView, error) {
			return h.Stick(h.ctx, unkeyed, code, models.NewSticking{StuckOn: date("2026-01-20"), Count: 60, Tray: warmTray("B2")})
		}, models.Tally{Made: 72, Used: 8, LostWaiting: 4, Stuck: 60, Unrooted: 60}, models.StageStuck},
		{"looked at", func() (models.BatchView, error) {
			return h.Check(h.ctx, unkeyed, code, models.NewCheck{CheckedOn: date("2026-02-03"), Rooted: ptr(20), PottingRoots: ptr(5), Lost: models.Losses{models.RottedBase: 3}, CheckedBy: "RQ"})
		}, models.Tally{Made: 72, Used: 8, LostWaiting: 4, Stuck: 60, Unrooted: 37, Rooted: 20, PottingRoots: 5, LostUnrooted: 3, EverRooted: 20}, models.StageRooting},
		{"looked at again", func() (models.BatchView, error) {
			return h.Check(h.ctx, unkeyed, code, models.NewCheck{CheckedOn: date("2026-02-17"), Rooted: ptr(40), PottingRoots: ptr(30), LostRooted: &models.Losses{models.Eaten: 1}})
		}, models.Tally{Made: 72, Used: 8, LostWaiting: 4, Stuck: 60, Unrooted: 16, Rooted: 40, PottingRoots: 30, LostUnrooted: 3, LostRooted: 1, EverRooted: 41}, models.StageRooting},
		{"potted", func() (models.BatchView, error) {
			return h.Pot(h.ctx, unkeyed, code, models.NewPotting{PottedOn: date("2026-02-20"), Count: 42, PottedBy: "RQ"})
		}, models.Tally{Made: 72, Used: 8, LostWaiting: 4, Stuck: 60, Unrooted: 14, LostUnrooted: 3, LostRooted: 1, Potted: 42, EverRooted: 43}, models.StageRooting},
	} {
		view, err := step.enter()
		must(h, view, err)
		got := view.Counts
		got.LostByCause, got.PottingRoots = nil, step.want.PottingRoots
		h.sameJSON(step.name, step.want, got)
		if view.Version != i+2 || len(view.History) != i+2 {
			h.t.Errorf("%s: version %d with %d lines of history", step.name, view.Version, len(view.History))
		}
		if step.stage != view.Stage {
			h.t.Errorf("%s: the stage is %s, want %s", step.name, view.Stage, step.stage)
		}
	}
	view, err := h.Batch(h.ctx, code)
	if must(h, view, err); view.Rooting.Stuck != 60 || view.Rooting.EverRooted != 43 || view.Rooting.On != date("2026-02-20") {
		h.t.Errorf("rooting is %+v", view.Rooting)
	}
}

// slips are entries that cannot be; none of them leaves a trace.
func (h *house) slips(code string) {
	h.t.Helper()
	_, err := h.Stick(h.ctx, unkeyed, code, models.NewSticking{StuckOn: date("2026-02-20"), Count: 1})
	h.refused(err, models.Invalid, "already-stuck")
	_, err = h.Move(h.ctx, unkeyed, code, models.NewMove{On: date("2026-02-20"), To: models.ToSoak, Count: 1})
	h.refused(err, models.Invalid, "too-many-cuttings")
	_, err = h.Check(h.ctx, unkeyed, code, models.NewCheck{CheckedOn: date("2026-02-21"), Rooted: ptr(0), Unrooted: ptr(13)})
	h.refused(err, models.Invalid, "unbalanced")
	_, err = h.Check(h.ctx, unkeyed, code, models.NewCheck{CheckedOn: date("2026-03-02")})
	h.refused(err, models.Invalid, "in-the-future")
	_, err = h.Pot(h.ctx, unkeyed, code, models.NewPotting{PottedOn: date("2026-02-21"), Count: 15})
	h.refused(err, models.Invalid, "too-many-potted")
	_, err = h.Review(h.ctx, unkeyed, code, models.NewReview{Accept: true, Reason: "fine"})
	h.refused(err, models.Invalid, "not-to-review")
	for _, enter := range []func(string) error{
		func(code string) error { _, err := h.Stick(h.ctx, unkeyed, code, models.NewSticking{}); return err },
		func(code string) error { _, err := h.Move(h.ctx, unkeyed, code, models.NewMove{}); return err },
		func(code string) error { _, err := h.Check(h.ctx, unkeyed, code, models.NewCheck{}); return err },
		func(code string) error { _, err := h.Pot(h.ctx, unkeyed, code, models.NewPotting{}); return err },
		func(code string) error { _, err := h.Split(h.ctx, unkeyed, code, models.NewSplit{}); return err },
		func(code string) error { _, err := h.Decide(h.ctx, unkeyed, code, models.NewDecision{}); return err },
	} {
		h.refused(enter("TB-01-2026-9"), models.NotFound, "no-such-batch", code)
	}
}

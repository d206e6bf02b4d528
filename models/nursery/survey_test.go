package nursery_test

import (
	"strings"
	"testing"

	"withybed/models"
)

func TestTheStoryOfSurveys(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		h.stand("TB-01")
		plots := models.Plots{PlotAreaM2: 4, StandAreaM2: 400, Counts: []int{12, 7, 0, 15, 9, 4, 11, 6, 8, 13}}
		view, err := h.AddSurvey(h.ctx, unkeyed, "tb-01", models.NewSurvey{SurveyedOn: date("2026-01-10"), Method: models.PlotCount, Plots: &plots})
		must(h, view, err)
		if view.Stand != "TB-01" || view.Estimate != 850 || view.LowerBound.Float() < 663.1 || view.LowerBound.Float() > 663.3 || view.StemDefinition == "" {
			h.t.Errorf("%+v", view)
		}
		h.warned(view.Warnings, "taken as random")
		h.census("TB-01", "2026-01-05", 900)
		_, err = h.AddSurvey(h.ctx, unkeyed, "TB-01", models.NewSurvey{SurveyedOn: date("2026-03-02"), Method: models.Census, Stems: ptr(1)})
		h.refused(err, models.Invalid, "in-the-future")
		_, err = h.AddSurvey(h.ctx, unkeyed, "TB-9", models.NewSurvey{SurveyedOn: date("2026-03-01"), Method: models.Census, Stems: ptr(1)})
		h.refused(err, models.NotFound, "no-such-stand")

		list, err := h.Surveys(h.ctx, "TB-01", models.Page{})
		must(h, list, err)
		if len(list.Items) != 2 || list.Items[0].SurveyedOn != date("2026-01-10") || list.Items[0].Plots.Placement != models.Random {
			h.t.Errorf("%+v", list)
		}
		stand, err := h.Stand(h.ctx, "TB-01", false)
		if must(h, stand, err); stand.Survey.SurveyedOn != date("2026-01-10") {
			h.t.Errorf("the latest survey is of %s", stand.Survey.SurveyedOn)
		}
	})
}

func TestTheStoryOfADisturbance(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		none, err := h.Disturbances(h.ctx, "TB-01")
		if must(h, none, err); none == nil || len(none) > 0 {
			h.t.Errorf("%+v", none)
		}
		event, err := h.AddDisturbance(h.ctx, unkeyed, "TB-01", models.NewDisturbance{On: date("2026-02-10"), Kind: "flood", By: "OP"})
		must(h, event, err)
		h.log(cutOf("TB-01", "2026-02-09", 4))
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-10", 4))
		h.refused(err, models.Refused, "survey-expired", "flood on 2026-02-10")
		h.census("TB-01", "2026-02-11", 200)
		if got := h.allowed("TB-01", allowanceOn("2026-02-11")); got.Limit != 10 || got.Taken != 4 || got.Allowed != 6 {
			h.t.Errorf("after a new count: %+v", got)
		}
		list, err := h.Disturbances(h.ctx, "TB-01")
		if must(h, list, err); len(list) != 1 || list[0].Kind != "flood" || list[0].ReportedBy != "OP" {
			h.t.Errorf("%+v", list)
		}
		_, err = h.AddDisturbance(h.ctx, unkeyed, "TB-01", models.NewDisturbance{On: date("2026-02-10"), Kind: "picnic"})
		h.refused(err, models.Invalid, "invalid", "picnic")
		_, err = h.AddDisturbance(h.ctx, unkeyed, "TB-2", models.NewDisturbance{On: date("2026-02-10"), Kind: "flood"})
		h.refused(err, models.NotFound, "no-such-stand")
	})
}

// A survey entered later can show that a past cut was too much. It is entered,
// the stand is marked, and nothing is undone; also where the window that was
// overfilled reaches back beyond the one that ends today.
func TestALaterCountCanShowThatTooMuchWasTaken(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		h.stand("TB-01")
		h.census("TB-01", "2025-01-01", 1000)
		h.log(cutOf("TB-01", "2025-02-20", 30))
		h.log(cutOf("TB-01", "2025-12-01", 20))
		for _, warning := range h.census("TB-01", "2025-01-15", 1000).Warnings {
			h.t.Errorf("nothing was too much, and it warns: %s", warning)
		}
		view := h.census("TB-01", "2025-11-01", 800)
		h.warned(view.Warnings, "50 stems were taken in the 350 days to 2025-12-01, 10 over the limit of 40")
		stand, err := h.Stand(h.ctx, "TB-01", false)
		if must(h, stand, err); !strings.Contains(stand.Exceeded, "10 over the limit of 40") {
			h.t.Errorf("the stand says %q", stand.Exceeded)
		}
		if stems, lines := h.ledger("TB-01"); stems != 50 || lines != 2 {
			h.t.Errorf("the ledger has %d stems in %d lines", stems, lines)
		}
		h.goTo("2027-03-01 10:00")
		stand, err = h.Stand(h.ctx, "TB-01", false)
		if must(h, stand, err); stand.Exceeded != "" {
			h.t.Errorf("a window later the stand says %q", stand.Exceeded)
		}
	})
}

package nursery_test

import (
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
)

func (h *house) corrections(stand string) []models.CorrectionView {
	h.t.Helper()
	list, err := h.Corrections(h.ctx, stand, models.Page{})
	return must(h, list, err).Items
}

// A survey is corrected by another in its place: the caps go by that, batches keep the
// shares they have, and the one that was corrected is corrected no more.
func TestASurveyIsCorrected(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		h.stand("TB-01")
		first := h.census("TB-01", "2026-01-01", 800)
		code := h.log(cutOf("TB-01", "2026-01-10", 30)).Code
		h.goTo("2026-03-02 10:00")
		recount := models.NewSurveyCorrection{Why: "two figures were swapped", By: "OP",
			Survey: &models.NewSurvey{SurveyedOn: date("2026-01-01"), Method: models.Census, Stems: ptr(500), SurveyedBy: "OP"}}
		seen := len(h.outbox())
		view, err := h.CorrectSurvey(h.ctx, unkeyed, "tb-01", first.ID, recount)
		if must(h, view, err); view.Survey == nil || view.Survey.Estimate != 500 || *view.ReplacedBy != view.Survey.ID || view.Void || view.SubjectID != first.ID ||
			view.Before["stems"] != 800.0 || view.After["stems"] != 500.0 || view.Before["surveyed_by"] != nil || view.Stand != "TB-01" {
			h.t.Errorf("%+v", view)
		}
		h.warned(view.Warnings, "30 stems were taken in the 350 days to 2026-01-10, 5 over the limit of 25")
		h.mailed(&seen, ": TB-01 is over its limit")
		if got := h.allowed("TB-01", allowanceOn("2026-02-20")); got.Allowed != 0 || got.Limit != 25 {
			h.t.Errorf("%+v", got)
		}
		q := allowanceOn("2026-02-20")
		q.KnownOn = date("2026-03-01")
		if got := h.allowed("TB-01", q); got.Allowed != 10 || got.Limit != 40 {
			h.t.Errorf("as it was known the day before %+v", got)
		}
		batch, err := h.Batch(h.ctx, code)
		if must(h, batch, err); *batch.HarvestFraction != 0.0375 || batch.Survey == nil || batch.Survey.ID != first.ID {
			h.t.Errorf("%+v", batch)
		}
		batch = h.correct(code, correcting(func(c *models.Changes) { c.Note = models.SetTo("north end") }))
		if *batch.HarvestFraction != 0.0375 {
			h.t.Errorf("a note changed the share to %v", *batch.HarvestFraction)
		}
		if batch = h.correct(code, stems(25)); *batch.HarvestFraction != 0.05 || batch.Survey.ID != view.Survey.ID {
			h.t.Errorf("%+v", batch)
		}
		list, err := h.Surveys(h.ctx, "TB-01", models.Page{})
		if must(h, list, err); len(list.Items) != 2 || list.Items[0].ReplacedBy != "" || list.Items[1].ReplacedBy != view.Survey.ID {
			h.t.Errorf("%+v", list.Items)
		}
		_, err = h.CorrectSurvey(h.ctx, unkeyed, "TB-01", first.ID, recount)
		h.refused(err, models.Conflict, "corrected-already", view.Survey.ID)

		void, err := h.CorrectSurvey(h.ctx, unkeyed, "TB-01", view.Survey.ID, models.NewSurveyCorrection{Void: true, Why: "it was the stand upstream"})
		if must(h, void, err); !void.Void || void.Survey != nil || void.Before["stems"] != 500.0 {
			h.t.Errorf("%+v", void)
		}
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-20", 1))
		h.refused(err, models.Invalid, "before-first-survey", "was never surveyed")
		if all := h.corrections("TB-01"); len(all) != 4 || all[0].Subject != models.OfSurvey || !all[0].Void || all[1].Batch != code {
			h.t.Errorf("%+v", all)
		}
	})
}

func TestSurveysThatCannotBeCorrectedSo(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		survey := h.census("TB-01", "2026-01-02", 700)
		of := func(change func(*models.NewSurveyCorrection)) models.NewSurveyCorrection {
			req := models.NewSurveyCorrection{Why: "a slip", Survey: &models.NewSurvey{SurveyedOn: date("2026-01-01"), Method: models.Census, Stems: ptr(500)}}
			change(&req)
			return req
		}
		for _, c := range []struct {
			survey string
			req    models.NewSurveyCorrection
			kind   models.Kind
			code   string
			says   string
		}{
			{"s-9", of(func(*models.NewSurveyCorrection) {}), models.NotFound, "no-such-survey", "list its surveys"},
			{survey.ID, of(func(r *models.NewSurveyCorrection) { r.Why = "" }), models.Invalid, "invalid", "why is missing"},
			{survey.ID, of(func(r *models.NewSurveyCorrection) { r.Survey = nil }), models.Invalid, "missing", "the whole survey"},
			{survey.ID, of(func(r *models.NewSurveyCorrection) { r.Void = true }), models.Invalid, "contradiction", "without a survey"},
			{survey.ID, of(func(r *models.NewSurveyCorrection) { r.Survey.SurveyedOn = date("2026-03-02") }), models.Invalid, "in-the-future", "survey.surveyed_on"},
			{survey.ID, of(func(r *models.NewSurveyCorrection) {
				r.Survey = &models.NewSurvey{SurveyedOn: date("2026-01-02"), Method: models.Census, Stems: ptr(700), SurveyedBy: "OP"}
			}), models.Invalid, "nothing-changes", "recorded so already"},
		} {
			_, err := h.CorrectSurvey(h.ctx, unkeyed, "TB-01", c.survey, c.req)
			h.refused(err, c.kind, c.code, c.says)
		}
		view, err := h.CorrectSurvey(h.ctx, unkeyed, "TB-01", survey.ID, of(func(*models.NewSurveyCorrection) {}))
		must(h, view, err)
		h.warned(view.Warnings, "another survey of 2026-01-01 stands")
	})
}

// What is kept of a stand is voided one by one, and counts no more; on a day before that
// it is known still.
func TestRecordsOfStandsAreVoided(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		cut, err := h.AddOthersCut(h.ctx, unkeyed, "TB-01", byOthers("2026-02-03", "2026-02-05", 5, 12))
		must(h, cut, err)
		flood, err := h.AddDisturbance(h.ctx, unkeyed, "TB-01", models.NewDisturbance{On: date("2026-02-10"), Kind: "flood", By: "RQ"})
		must(h, flood, err)
		rest, err := h.AddRest(h.ctx, unkeyed, "TB-01", models.NewRest{From: date("2026-02-01"), Why: "browsed"})
		must(h, rest, err)
		salvage, err := h.AddSalvage(h.ctx, unkeyed, "TB-02", models.NewSalvage{From: date("2026-02-01"), To: date("2026-04-01"), Authority: "roads", Why: "dug away"})
		must(h, salvage, err)
		look, err := h.CheckPlaceForNests(h.ctx, unkeyed, "Wrenlow Bend", models.NewNestCheck{On: date("2026-02-20"), NestsFound: true, By: "RQ"})
		must(h, look, err)
		cleaned := [2]models.ToolCleaningView{}
		for i, day := range []string{"2026-02-18", "2026-02-20"} {
			view, err := h.LogToolCleaning(h.ctx, unkeyed, "TB-02", models.NewToolCleaning{On: date(day), How: "alcohol on blades", By: "RQ"})
			cleaned[i] = must(h, view, err)
		}
		h.goTo("2026-03-02 10:00")
		void := func(stand string, subject models.Subject, id string) models.CorrectionView {
			h.t.Helper()
			view, err := h.CorrectStand(h.ctx, unkeyed, stand, models.NewStandCorrection{Subject: subject, SubjectID: id, Why: "it was upstream", By: "OP"})
			if must(h, view, err); !view.Void || view.Subject != subject || view.SubjectID != id || len(view.Before) == 0 || view.Stand != stand {
				h.t.Errorf("%+v", view)
			}
			return view
		}
		if view := void("TB-01", models.OfOthersCut, cut.ID); view.Before["high"] != 12.0 {
			h.t.Errorf("%+v", view)
		}
		lines := h.linesOf("TB-01")
		if last := lines[len(lines)-1]; last.Kind != models.Voided || last.Stems != -12 || last.TakenOn != date("2026-02-05") || *last.Corrects != lines[0].ID || last.EnteredBy != "OP" {
			h.t.Errorf("%+v", lines)
		}
		void("TB-01", models.OfDisturbance, flood.ID)
		void("TB-01", models.OfRest, rest.ID)
		void("TB-02", models.OfSalvage, salvage.ID)
		void("TB-02", models.OfNestCheck, look.ID)
		if view := void("TB-02", models.OfToolCleaning, cleaned[1].ID); view.Before["how"] != "alcohol on blades" {
			h.t.Errorf("%+v", view)
		}
		if stand := h.standNow("TB-02"); stand.ToolCleaning == nil || stand.ToolCleaning.ID != cleaned[0].ID {
			h.t.Errorf("the latest cleaning is %+v", stand.ToolCleaning)
		}
		cleanings, err := h.ToolCleanings(h.ctx, "TB-02", models.Page{})
		if must(h, cleanings, err); len(cleanings.Items) != 2 || !cleanings.Items[0].Void || cleanings.Items[1].Void {
			h.t.Errorf("%+v", cleanings)
		}
		if got := h.allowed("TB-01", allowanceOn("2026-02-20")); got.Allowed != 40 {
			h.t.Errorf("%+v", got)
		}
		if got := h.allowed("TB-02", allowanceOn("2026-02-20")); got.Allowed != 40 {
			h.t.Errorf("%+v", got)
		}
		before := allowanceOn("2026-02-20")
		before.KnownOn = date("2026-03-01")
		if got := h.allowed("TB-01", before); got.Allowed != 0 || got.Taken != 12 {
			h.t.Errorf("as it was known %+v", got)
		}
		list, err := h.Disturbances(h.ctx, "TB-01")
		if must(h, list, err); len(list) != 1 || !list[0].Void || list[0].ID != flood.ID {
			h.t.Errorf("%+v", list)
		}
		cuts, err := h.OthersCuts(h.ctx, "TB-01", models.Page{})
		if must(h, cuts, err); len(cuts.Items) != 1 || !cuts.Items[0].Void {
			h.t.Errorf("%+v", cuts)
		}
		survey := h.census("TB-01", "2026-03-02", 100)
		if view := void("TB-01", models.OfSurvey, survey.ID); view.Before["stems"] != 100.0 {
			h.t.Errorf("%+v", view)
		}
		for _, c := range []struct {
			req  models.NewStandCorrection
			kind models.Kind
			code string
		}{
			{models.NewStandCorrection{Subject: models.OfOthersCut, SubjectID: cut.ID, Why: "x"}, models.Conflict, "corrected-already"},
			{models.NewStandCorrection{Subject: models.OfRest, SubjectID: rest.ID, Why: "x"}, models.Conflict, "corrected-already"},
			{models.NewStandCorrection{Subject: models.OfOthersCut, SubjectID: "o-9", Why: "x"}, models.Unknown, "unknown-record"},
			{models.NewStandCorrection{Subject: models.OfSalvage, SubjectID: "o-9", Why: "x"}, models.Unknown, "unknown-record"},
			{models.NewStandCorrection{Subject: models.OfToolCleaning, SubjectID: cleaned[0].ID, Why: "x"}, models.Unknown, "unknown-record"},
			{models.NewStandCorrection{Subject: models.OfBatch, SubjectID: "o-9", Why: "x"}, models.Invalid, "invalid"},
			{models.NewStandCorrection{Subject: models.OfRest, SubjectID: " ", Why: "x"}, models.Invalid, "invalid"},
			{models.NewStandCorrection{Subject: models.OfRest, SubjectID: "x"}, models.Invalid, "invalid"},
		} {
			_, err := h.CorrectStand(h.ctx, unkeyed, "TB-01", c.req)
			h.refused(err, c.kind, c.code)
		}
	})
}

// A look over a whole place that never was opened every stand there.
func TestALookOverAPlaceThatNeverWas(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02", "TB-03")
		closed, err := h.ClosePlace(h.ctx, unkeyed, "Wrenlow Bend", placeClosing(lookFirst("03-01", "03-31", "owls")))
		must(h, closed, err)
		look, err := h.CheckPlaceForNests(h.ctx, unkeyed, "Wrenlow Bend", models.NewNestCheck{By: "RQ"})
		must(h, look, err)
		for _, code := range []string{"TB-01", "TB-02"} {
			h.setAside(code, shareOf("C", 6, "2026-03-02", "2026-03-04"))
		}
		seen := len(h.outbox())
		view, err := h.CorrectStand(h.ctx, unkeyed, "TB-02", models.NewStandCorrection{Subject: models.OfNestCheck, SubjectID: look.ID, Why: "it was the bend upstream", By: "OP"})
		if must(h, view, err); len(view.Warnings) != 2 {
			h.t.Errorf("it warns of %q", view.Warnings)
		}
		h.warned(view.Warnings, "the share of C (6 stems left, 2026-03-02 to 2026-03-04) no longer fits on 2026-03-02")
		for i, code := range []string{"TB-02", "TB-01"} {
			if letters := h.outbox()[seen:]; len(letters) != 2 || !strings.Contains(letters[i].Subject, "crew shares that no longer fit: "+code) {
				h.t.Errorf("the letters are %+v", letters)
			}
		}
	})
}

// Land managers see what was corrected of a stand on their land, and no batch; people
// are shown by their codes, also in what was changed.
func TestWhoSeesCorrections(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.reader("OP", "olga@wrenlow.example")
		code := h.log(cutOf("TB-01", "2026-02-10", 4)).Code
		req := correcting(func(c *models.Changes) { c.CollectedBy = models.SetTo("Tam Yarrow") })
		req.By = "Olga P"
		h.correct(code, req)
		cut, err := h.AddOthersCut(h.ctx, unkeyed, "TB-01", byOthers("2026-02-03", "2026-02-05", 5, 12))
		must(h, cut, err)
		must1(h, func() (models.CorrectionView, error) {
			return h.CorrectStand(h.ctx, unkeyed, "TB-01", models.NewStandCorrection{Subject: models.OfOthersCut, SubjectID: cut.ID, Why: "ours", By: "op"})
		})
		as := func(role models.Role) []models.CorrectionView {
			list, err := h.Corrections(nursery.As(h.ctx, models.Caller{Role: role, LandManager: "Wrenlow Valley Parks"}), "TB-01", models.Page{})
			return must(h, list, err).Items
		}
		if all := as(models.Manager); len(all) != 1 || all[0].Subject != models.OfOthersCut || all[0].CorrectedBy != "OP" {
			h.t.Errorf("%+v", all)
		}
		lead := as(models.Lead)
		if len(lead) != 2 || lead[1].CorrectedBy != models.NotListed || lead[1].After["collected_by"] != models.NotListed || lead[1].Before["collected_by"] != models.NotListed {
			h.t.Errorf("%+v", lead)
		}
		if own := as(models.Coordinator); own[1].CorrectedBy != "Olga P" || own[1].After["collected_by"] != "Tam Yarrow" {
			h.t.Errorf("%+v", own)
		}
		shown, err := h.Batch(nursery.As(h.ctx, models.Caller{Role: models.Volunteer}), code)
		if must(h, shown, err); shown.Corrections[0].After["collected_by"] != models.NotListed {
			h.t.Errorf("%+v", shown.Corrections)
		}
		h.tells(shown, "someone not on the list corrected the cut: collected by from someone not on the list to someone not on the list")
	})
}

package nursery_test

import (
	"encoding/json"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
)

func (h *house) rest(stand string, req models.NewRest) models.RestView {
	h.t.Helper()
	view, err := h.AddRest(h.ctx, unkeyed, stand, req)
	return must(h, view, err)
}

func (h *house) standNow(stand string) models.StandView {
	h.t.Helper()
	view, err := h.Stand(h.ctx, stand, false)
	return must(h, view, err)
}

// A stand at rest is not cut until the rest is over or was given its end, which is a new
// record in its place.
func TestAStandRestsUntilItsEndIsGiven(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		rest := h.rest("tb-01", models.NewRest{From: date("2026-02-10"), Why: "browsed hard", By: "OP"})
		if rest.Stand != "TB-01" || rest.ID == "" || !rest.EndsOn.IsZero() || !rest.SetAt.Equal(h.at) {
			h.t.Errorf("%+v", rest)
		}
		h.log(cutOf("TB-01", "2026-02-09", 2))
		h.log(cutOf("TB-02", "2026-02-20", 2))
		_, err := h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-20", 2))
		h.refused(err, models.Refused, "at-rest", "rests from 2026-02-10 until the coordinator gives its end (browsed hard)", "not before the rest has an end")
		view := h.standNow("TB-01")
		if !view.AtRest || len(view.Rests) != 1 || view.Rests[0].ID != rest.ID {
			h.t.Errorf("%+v", view)
		}

		h.goTo("2026-03-02 10:00")
		ended, err := h.EndRest(h.ctx, unkeyed, "TB-01", rest.ID, models.NewRestEnd{To: date("2026-02-15"), Why: "it grew well", By: "OP"})
		if must(h, ended, err); ended.EndsOn != date("2026-02-15") || ended.ID == rest.ID || !ended.SetAt.Equal(rest.SetAt) || ended.EnteredAt.Equal(rest.EnteredAt) {
			h.t.Errorf("%+v", ended)
		}
		h.log(cutOf("TB-01", "2026-02-20", 2))
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-15", 2))
		h.refused(err, models.Refused, "at-rest", "to 2026-02-15", "would be possible from 2026-02-16")
		if view := h.standNow("TB-01"); view.AtRest || len(view.Rests) != 0 {
			h.t.Errorf("%+v", view.Rests)
		}

		list, err := h.Rests(h.ctx, "TB-01", models.Page{})
		if must(h, list, err); len(list.Items) != 2 || list.Items[0].ID != ended.ID || list.Items[1].ReplacedBy != ended.ID || list.Items[0].ReplacedBy != "" {
			h.t.Errorf("%+v", list.Items)
		}
		told, err := h.Corrections(h.ctx, "TB-01", models.Page{})
		if must(h, told, err); len(told.Items) != 1 || told.Items[0].SubjectID != rest.ID || *told.Items[0].ReplacedBy != ended.ID || told.Items[0].Why != "it grew well" || told.Items[0].CorrectedBy != "OP" {
			h.t.Fatalf("%+v", told.Items)
		}
		if c := told.Items[0]; len(c.Before) != 0 || c.After["to"] != "2026-02-15" {
			h.t.Errorf("%v after %v", c.After, c.Before)
		}
		for _, gone := range []string{rest.ID, "elsewhere"} {
			_, err = h.EndRest(h.ctx, unkeyed, "TB-01", gone, models.NewRestEnd{To: date("2026-02-12"), Why: "x"})
			h.refused(err, models.NotFound, "no-such-rest", "TB-01")
		}
		_, err = h.EndRest(h.ctx, unkeyed, "TB-02", ended.ID, models.NewRestEnd{To: date("2026-02-12"), Why: "x"})
		h.refused(err, models.NotFound, "no-such-rest", "TB-02")
		// By what was known before the end was given, the stand rests still.
		known := nursery.AllowanceQuery{On: date("2026-02-20"), KnownOn: date("2026-03-01")}
		if got := h.allowed("TB-01", known); got.Allowed != 0 || got.Binding.Code != "rest" {
			h.t.Errorf("as known on 1 March: %+v", got.Binding)
		}
	})
}

func TestARestSentAgainIsOne(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		req := models.NewRest{Why: "browsed hard", To: date("2026-04-01")}
		first, err := h.AddRest(h.ctx, keyed("a"), "TB-01", req)
		must(h, first, err)
		again, err := h.AddRest(h.ctx, keyed("a"), "TB-01", req)
		h.sameJSON("the rest sent again", first, must(h, again, err))
		end := models.NewRestEnd{To: date("2026-03-20"), Why: "x"}
		ended, err := h.EndRest(h.ctx, keyed("b"), "TB-01", first.ID, end)
		must(h, ended, err)
		again, err = h.EndRest(h.ctx, keyed("b"), "TB-01", first.ID, end)
		h.sameJSON("the end sent again", ended, must(h, again, err))
		if list, err := h.Rests(h.ctx, "TB-01", models.Page{}); err != nil || len(list.Items) != 2 {
			h.t.Errorf("%+v, %v", list, err)
		}
	})
}

// Stems over a limit begin a rest on the day after they were cut, which stops what is
// cut later, within one day sheet too, until its end is given in the review.
func TestWhatIsCutOverALimitSetsTheStandAtRest(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		sheet := "stand,collected_on,stems_cut,cuttings,collected_by,already_cut,reason\n" +
			"TB-01,2026-02-10,50,90,RQ,true,two crews cut on one morning\nTB-01,2026-02-10,1,3,RQ,true,the same morning\nTB-01,2026-02-11,1,3,TS,true,nobody knew\n"
		day, err := h.LogDay(h.ctx, unkeyed, []byte(sheet))
		must(h, day, err)
		over := day.Batches[0]
		h.warned(over.Warnings, "TB-01 rests from 2026-02-11 until the coordinator gives the end")
		if against := day.Batches[2].RefusedBy; !strings.Contains(against, "rests from 2026-02-11") {
			h.t.Errorf("the next day is against %q", against)
		}
		view := h.standNow("TB-01")
		if len(view.Rests) != 3 || view.Rests[0].StartsOn != date("2026-02-11") || view.Rests[0].Why != "batch TB-01-2026-1 was cut over a limit" || view.Rests[0].SetBy != "RQ" || view.Exceeded == "" {
			h.t.Fatalf("%+v", view)
		}
		open, err := h.Review(h.ctx, unkeyed, over.Code, models.NewReview{Reason: "ask the second crew", By: "OP"})
		h.warned(must(h, open, err).Warnings, "the rest has no end yet")
		_, err = h.Review(h.ctx, unkeyed, over.Code, models.NewReview{Accept: true, Reason: "counted again", RestUntil: date("2026-02-10")})
		h.refused(err, models.Invalid, "out-of-order", "rest_until")
		accepted, err := h.Review(h.ctx, unkeyed, over.Code, models.NewReview{Accept: true, Reason: "counted again", By: "OP", RestUntil: date("2026-09-30")})
		if must(h, accepted, err); accepted.ToReview || len(accepted.Warnings) != 0 {
			h.t.Errorf("%+v", accepted)
		}
		for _, later := range day.Batches[1:] {
			accepted, err = h.Review(h.ctx, unkeyed, later.Code, models.NewReview{Accept: true, Reason: "counted again", By: "OP", RestUntil: date("2026-06-30")})
			must(h, accepted, err)
		}
		view = h.standNow("TB-01")
		if len(view.Rests) != 3 || view.Rests[0].EndsOn != date("2026-09-30") || view.Rests[2].EndsOn != date("2026-06-30") {
			h.t.Errorf("%+v", view.Rests)
		}
		_, err = h.Review(h.ctx, unkeyed, over.Code, models.NewReview{Accept: true, Reason: "again", RestUntil: date("2026-05-30")})
		h.refused(err, models.Invalid, "not-to-review")
		told, err := h.Corrections(h.ctx, "TB-01", models.Page{})
		if must(h, told, err); len(told.Items) != 3 || told.Items[2].Why != "counted again" || told.Items[2].CorrectedBy != "OP" || told.Items[2].Subject != models.OfRest {
			h.t.Errorf("%+v", told.Items)
		}
	})
}

// What is against a rule but within the limits begins no rest, and has none to end.
func TestWhatIsWithinTheLimitsBeginsNoRest(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.rest("TB-01", models.NewRest{From: date("2026-02-01"), To: date("2026-02-10"), Why: "browsed hard"})
		batch := h.log(cutOf("TB-01", "2026-02-05", 5, alreadyCut))
		if !batch.ToReview || len(h.standNow("TB-01").Rests) != 0 {
			h.t.Errorf("%+v", batch)
		}
		_, err := h.Review(h.ctx, unkeyed, batch.Code, models.NewReview{Accept: true, Reason: "so be it", RestUntil: date("2026-03-30")})
		h.refused(err, models.Invalid, "invalid", "rest_until", "began no rest of TB-01")
		view, err := h.Review(h.ctx, unkeyed, batch.Code, models.NewReview{Accept: true, Reason: "so be it"})
		if must(h, view, err); len(view.Warnings) != 0 {
			h.t.Errorf("%q", view.Warnings)
		}
	})
}

// A count that is entered later shows that too much was taken. It marks the stand, and
// sets it at no rest.
func TestALaterCountSetsNoRest(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.log(cutOf("TB-01", "2026-02-10", 40))
		survey := h.census("TB-01", "2026-02-05", 200)
		h.warned(survey.Warnings, "30 over the limit of 10")
		if view := h.standNow("TB-01"); view.Exceeded == "" || view.AtRest || len(view.Rests) != 0 {
			h.t.Errorf("%+v", view)
		}
	})
}

// What was set aside for a crew before a rest is cut in it; setting a rest tells of it.
// Nothing is set aside in a rest.
func TestARestStopsNoCrewThatWasThereBefore(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		share, err := h.AddShare(h.ctx, unkeyed, "TB-01", models.NewShare{Crew: "C", Stems: 6, From: date("2026-03-01"), To: date("2026-03-20"), By: "OP"})
		must(h, share, err)
		h.goTo("2026-03-02 10:00")
		rest := h.rest("TB-01", models.NewRest{From: date("2026-03-02"), Why: "browsed hard", By: "OP"})
		h.warned(rest.Warnings, "a rest does not stop what was set aside before it")
		_, err = h.AddShare(h.ctx, unkeyed, "TB-01", models.NewShare{Crew: "D", Stems: 1, From: date("2026-03-02"), To: date("2026-03-09")})
		h.refused(err, models.Refused, "at-rest")
		h.goTo("2026-03-03 10:00")
		ofShare := func(r *models.NewBatch) { r.Share = share.ID }
		h.log(cutOf("TB-01", "2026-03-03", 2, ofShare))
		// Its end was given later, and does not make it younger than the share.
		ended, err := h.EndRest(h.ctx, unkeyed, "TB-01", rest.ID, models.NewRestEnd{To: date("2026-03-09"), Why: "it grew well"})
		must(h, ended, err)
		h.log(cutOf("TB-01", "2026-03-03", 3, ofShare))
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-03-03", 2, ofShare))
		h.refused(err, models.Refused, "at-rest", "the share of C has 1 stem left")
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-03-03", 1))
		h.refused(err, models.Refused, "at-rest")
	})
}

// An elder rest whose end is given later stops a share that was set aside in between.
func TestAnEndMakesARestNoYounger(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		rest := h.rest("TB-01", models.NewRest{From: date("2026-03-10"), To: date("2026-03-31"), Why: "browsed hard"})
		h.goTo("2026-03-02 10:00")
		_, err := h.AddShare(h.ctx, unkeyed, "TB-01", models.NewShare{Crew: "C", Stems: 6, From: date("2026-03-05"), To: date("2026-03-20")})
		h.refused(err, models.Refused, "at-rest", "2026-03-10")
		share, err := h.AddShare(h.ctx, unkeyed, "TB-01", models.NewShare{Crew: "C", Stems: 6, From: date("2026-03-05"), To: date("2026-03-09")})
		must(h, share, err)
		h.goTo("2026-03-04 10:00")
		ended, err := h.EndRest(h.ctx, unkeyed, "TB-01", rest.ID, models.NewRestEnd{To: date("2026-03-20"), Why: "it grew well"})
		if must(h, ended, err); !ended.SetAt.Equal(rest.SetAt) || ended.SetAt.After(share.EnteredAt) {
			h.t.Errorf("set at %v, and the share at %v", ended.SetAt, share.EnteredAt)
		}
	})
}

// Whoever is named in what is kept of a stand is settled by the list of people, and
// shown to others by code alone.
func TestPeopleInWhatIsKeptOfAStand(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.onList(rowan())
		coordinator := h.as(models.Coordinator)
		rest, err := h.AddRest(coordinator, unkeyed, "TB-01", models.NewRest{Why: "browsed", By: " rq "})
		if must(h, rest, err); rest.SetBy != "RQ" || len(rest.Warnings) != 0 {
			h.t.Errorf("%+v", rest)
		}
		tam := "Tam, the younger"
		_, err = h.EndRest(coordinator, unkeyed, "TB-01", rest.ID, models.NewRestEnd{To: date("2026-05-01"), Why: "grown", By: tam})
		must(h, 0, err)
		salvage, err := h.AddSalvage(coordinator, unkeyed, "TB-01", models.NewSalvage{To: date("2026-05-01"), Authority: "roads", Why: "a bridge", By: tam})
		h.warned(must(h, salvage, err).Warnings, "by")
		look, err := h.AddNestCheck(h.as(models.Volunteer), unkeyed, "TB-01", models.NewNestCheck{By: tam})
		if h.warned(must(h, look, err).Warnings, "by"); look.CheckedBy != models.NotListed {
			h.t.Errorf("a volunteer is shown %q", look.CheckedBy)
		}
		place, err := h.ClosePlace(coordinator, unkeyed, "Wrenlow Bend", models.NewPlaceClosures{Closures: []models.Closure{yearly("04-15", "07-31", "")}, Why: "nests", By: tam})
		h.warned(must(h, place, err).Warnings, "by")
		cleaning, err := h.LogToolCleaning(h.as(models.Volunteer), unkeyed, "TB-01", models.NewToolCleaning{By: tam, How: "brushed"})
		if h.warned(must(h, cleaning, err).Warnings, "by"); cleaning.CleanedBy != models.NotListed {
			h.t.Errorf("a volunteer is shown %q", cleaning.CleanedBy)
		}
		for _, role := range []models.Role{models.Coordinator, models.Volunteer, models.Reader, models.Manager} {
			ctx := h.as(role)
			for what, ask := range map[string]func() (any, error){
				"stand":     func() (any, error) { return h.Stand(ctx, "TB-01", false) },
				"stands":    func() (any, error) { return h.Stands(ctx, nursery.StandQuery{}) },
				"salvages":  func() (any, error) { return h.Salvages(ctx, "TB-01", models.Page{}) },
				"nests":     func() (any, error) { return h.NestChecks(ctx, "TB-01", models.Page{}) },
				"cleanings": func() (any, error) { return h.ToolCleanings(ctx, "TB-01", models.Page{}) },
				"place":     func() (any, error) { return h.PlaceClosures(ctx, "Wrenlow Bend") },
				"allowance": func() (any, error) { return h.Allowance(ctx, "TB-01", allowanceOn("2026-03-01")) },
			} {
				answer, err := ask()
				text, _ := json.Marshal(must(h, answer, err))
				named := strings.Contains(string(text), "Tam")
				if named && role != models.Coordinator || !named && role == models.Coordinator && what != "allowance" {
					h.t.Errorf("to a %s the %s says %s", role, what, text)
				}
			}
		}
	})
}

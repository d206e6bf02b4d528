package nursery_test

import (
	"context"
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

func newPermit(number string, stems int, stands ...string) models.NewPermit {
	return models.NewPermit{
		Number: number, Stands: stands, By: "OP",
		PermitTerms: models.PermitTerms{
			Kind: models.PermitPaper, Issuer: "Wrenlow Valley Parks", Quantity: ptr(models.DecimalOf(stems)),
			ValidFrom: date("2025-11-01"), ValidTo: date("2026-04-30"),
		},
	}
}

func (h *house) permit(req models.NewPermit) models.PermitView {
	h.t.Helper()
	view, err := h.AddPermit(h.ctx, unkeyed, req)
	return must(h, view, err)
}

func (h *house) seePermit(number string) models.PermitView {
	h.t.Helper()
	view, err := h.Permit(h.ctx, number)
	return must(h, view, err)
}

func (h *house) editPermit(number string, edit models.PermitEdit) models.PermitView {
	h.t.Helper()
	if edit.Why == "" {
		edit.Why = "a new paper came"
	}
	view, err := h.EditPermit(h.ctx, number, h.seePermit(number).Version, edit)
	return must(h, view, err)
}

func onPermit(number string) func(*models.NewBatch) {
	return func(r *models.NewBatch) { r.Permit = number }
}

func (h *house) numbersOf(ctx func(*house) nursery.PermitQuery) []string {
	h.t.Helper()
	list, err := h.Permits(h.ctx, ctx(h))
	must(h, list, err)
	var numbers []string
	for _, v := range list.Items {
		numbers = append(numbers, v.Number)
	}
	return numbers
}

// Only the nursery's own batches draw on a permit, at whatever stand it covers; one that
// never was draws nothing.
func TestWhatDrawsOnAPermit(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02", "TB-03")
		if got := h.permit(newPermit("WV-2026-12", 30, "tb-02", "TB-01", "TB-02")); got.Unit != models.InStems || !slices.Equal(got.Stands, []string{"TB-01", "TB-02"}) || !got.Holds || got.EnteredBy != "OP" || len(got.Warnings) != 0 {
			h.t.Errorf("%+v", got)
		}
		batch := h.log(cutOf("TB-01", "2026-02-01", 12, onPermit("wv-2026-12")))
		if batch.Permit != "WV-2026-12" || *batch.PermitQuantity != models.DecimalOf(12) || batch.PermitUnit != models.InStems {
			h.t.Errorf("%+v", batch)
		}
		h.tells(batch, "RQ cut 12 stems and made 36 cuttings, on permit WV-2026-12")
		shown, err := h.Batch(h.ctx, batch.Code)
		h.sameJSON("the batch", batch, must(h, shown, err))
		h.log(cutOf("TB-02", "2026-02-01", 10, onPermit("WV-2026-12")))
		h.log(cutOf("TB-01", "2026-02-01", 3))
		must1(h, func() (models.OthersCutView, error) {
			return h.AddOthersCut(h.ctx, unkeyed, "TB-02", byOthers("2026-02-01", "2026-02-01", 5, 5))
		})
		if got := h.seePermit("WV-2026-12"); got.Drawn != models.DecimalOf(22) || *got.Left != models.DecimalOf(8) {
			h.t.Errorf("%s are drawn and %s left", got.Drawn, got.Left)
		}
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-02", "2026-02-02", 9, onPermit("WV-2026-12")))
		h.refused(err, models.Refused, "no-permit", "8 of 30 stems are left on permit WV-2026-12 of Wrenlow Valley Parks")
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-03", "2026-02-02", 1, onPermit("WV-2026-12")))
		h.refused(err, models.Invalid, "permit-misfit", "no permit on file covers TB-03")
		if got := h.allowed("TB-02", allowanceOn("2026-02-20")); !strings.Contains(got.Leave, "with 8 of 30 stems left, to 2026-04-30") {
			h.t.Errorf("it says %q", got.Leave)
		}

		h.voided(batch.Code)
		if got := h.seePermit("WV-2026-12"); got.Drawn != models.DecimalOf(10) {
			h.t.Errorf("with a void batch %s are drawn", got.Drawn)
		}
		h.log(cutOf("TB-02", "2026-02-02", 20, onPermit("WV-2026-12")))
	})
}

// A stand that is cut on a permit only is not cut without one. Stems that are gone are
// recorded, and reviewed.
func TestAStandThatNeedsAPermit(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		stand, err := h.EditStand(h.ctx, "TB-01", 1, models.StandEdit{PermitRequired: models.SetTo(models.PermitNeeded), GatheringPlaceOf: models.SetTo("the Sedge River people")})
		if must(h, stand, err); stand.PermitRequired != models.PermitNeeded || stand.GatheringPlaceOf != "the Sedge River people" {
			h.t.Errorf("%+v", stand)
		}
		h.warned(stand.Warnings, "such places are kept off shared maps")
		const missing = "A permit is required, and none on file covers this cut: ask the land manager (Wrenlow Valley Parks). It is a gathering place of the Sedge River people, and their consent is not on file: ask them first."
		if got := h.allowed("TB-01", allowanceOn("2026-02-20")); got.Allowed != 0 || got.Binding.Code != "permit" || !strings.HasSuffix(got.Leave, missing) {
			h.t.Errorf("%+v", got)
		}
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-01", 4))
		h.refused(err, models.Refused, "no-permit", "a permit is required, and the batch names none", "not without a permit that covers it")
		gone := h.log(cutOf("TB-01", "2026-02-01", 4, alreadyCut))
		if gone.State != models.ToReview || !strings.Contains(gone.RefusedBy, "a permit is required, and the batch names none") || gone.Permit != "" || gone.PermitQuantity != nil {
			h.t.Errorf("%+v", gone)
		}

		h.permit(newPermit("WV-1", 5, "TB-01"))
		consent := h.permit(models.NewPermit{Number: "SR-4", Stands: []string{"TB-01"}, PermitTerms: models.PermitTerms{
			Kind: models.ConsentPaper, Issuer: "the Sedge River people", ValidFrom: date("2026-01-01"), Conditions: "ask again each autumn"}})
		if consent.Left != nil || consent.Unit != "" {
			h.t.Errorf("%+v", consent)
		}
		if got := h.allowed("TB-01", allowanceOn("2026-02-20")); got.Allowed != 5 || !strings.Contains(got.Leave, "On file is permit WV-1") || !strings.HasSuffix(got.Leave, "on these terms: ask again each autumn.") {
			h.t.Errorf("%+v", got)
		}
		h.log(cutOf("TB-01", "2026-02-01", 5, onPermit("WV-1")))
		over := h.log(cutOf("TB-01", "2026-02-01", 2, onPermit("WV-1"), alreadyCut))
		if over.State != models.ToReview || *over.PermitQuantity != models.DecimalOf(2) {
			h.t.Errorf("%+v", over)
		}
		seen := h.seePermit("WV-1")
		if *seen.Left != 0 || seen.Drawn != models.DecimalOf(7) {
			h.t.Errorf("%+v", seen)
		}
		h.warned(seen.Warnings, "7 stems are drawn on it, 2 more than its 5")
		reminder, err := h.Remind(h.ctx, unkeyed, models.NewReminder{})
		must(h, reminder, err)
		if len(reminder.Body.Review) != 2 || !strings.Contains(reminder.Body.Review[1].Text, "a permit is required, and the batch names none") {
			h.t.Errorf("to review are %+v", reminder.Body.Review)
		}
	})
}

// A protected taxon is cut on an authority that is on file, and on no other permit.
func TestProtectedTaxaAreCutOnAnAuthority(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		_, err := h.EditTaxon(h.ctx, "Cornus sericea", 1, models.TaxonEdit{Protected: models.SetTo(true)})
		must(h, 0, err)
		h.permit(newPermit("WV-1", 5, "TB-01"))
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-01", 4, onPermit("WV-1")))
		h.refused(err, models.Refused, "protected", "permit WV-1 of Wrenlow Valley Parks names no authority to cut it")
		h.editPermit("WV-1", models.PermitEdit{Authority: models.SetTo("valley conservation board")})
		h.log(cutOf("TB-01", "2026-02-01", 4, onPermit("WV-1")))
	})
}

func TestPermitsThatCannotBe(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.permit(newPermit("WV-1", 5, "TB-01"))
		for _, c := range []struct {
			change     func(*models.NewPermit)
			kind       models.Kind
			code, says string
		}{
			{func(r *models.NewPermit) { r.Number = " wv-1" }, models.Conflict, "taken", "the number wv-1 is taken"},
			{func(r *models.NewPermit) { r.Stands = []string{"TB-01", "TB-10"} }, models.Unknown, "unknown-stand", `there is no stand "TB-10"`},
			{func(r *models.NewPermit) { r.Stands = nil }, models.Invalid, "invalid", "name at least one stand it covers"},
			{func(r *models.NewPermit) { r.Taxa = []string{"Cornus sericia"} }, models.Unknown, "unknown-taxon", "(near: Cornus sericea)"},
			{func(r *models.NewPermit) { r.ValidTo = date("2025-10-31") }, models.Invalid, "out-of-order", "before the first day"},
		} {
			req := newPermit("WV-2", 5, "TB-01")
			c.change(&req)
			_, err := h.AddPermit(h.ctx, unkeyed, req)
			h.refused(err, c.kind, c.code, c.says)
		}
		_, err := h.Permit(h.ctx, "WV-3")
		if e := h.refused(err, models.NotFound, "no-such-permit"); !slices.Equal(e.Suggestions, []string{"WV-1"}) {
			h.t.Errorf("near are %q", e.Suggestions)
		}
		if got := h.numbersOf(func(*house) nursery.PermitQuery { return nursery.PermitQuery{} }); !slices.Equal(got, []string{"WV-1"}) {
			h.t.Errorf("on file are %q", got)
		}
	})
}

// An edit is of the version that was read, keeps the terms before, and may lower the
// quantity below what is drawn: nothing that was cut is undone.
func TestAPermitIsChanged(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		h.permit(newPermit("WV-1", 30, "TB-01", "TB-02"))
		h.log(cutOf("TB-01", "2026-02-01", 12, onPermit("WV-1")))
		h.goTo("2026-03-02 09:00")
		got := h.editPermit("WV-1", models.PermitEdit{
			Quantity: models.SetTo(models.DecimalOf(10)), Stands: models.SetTo([]string{"tb-01"}), People: models.SetTo([]string{"RQ"}), Why: "half was taken back", By: "OP"})
		if got.Version != 2 || *got.Left != 0 || !slices.Equal(got.Stands, []string{"TB-01"}) {
			h.t.Errorf("%+v", got)
		}
		h.warned(got.Warnings, "12 stems are drawn on it, 2 more than its 10")
		h.warned(got.Warnings, "TB-02 is covered no longer")
		if len(got.Earlier) != 1 || *got.Earlier[0].Terms.Quantity != models.DecimalOf(30) || !slices.Equal(got.Earlier[0].Stands, []string{"TB-01", "TB-02"}) ||
			got.Earlier[0].Why != "half was taken back" || got.Earlier[0].ChangedBy != "OP" || !got.Earlier[0].ChangedAt.Equal(h.at) {
			h.t.Errorf("before it was %+v", got.Earlier)
		}
		shown := h.seePermit("WV-1")
		got.Warnings = shown.Warnings // those of the change are told with it alone
		h.sameJSON("the permit", shown, got)
		_, err := h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-02", 1, onPermit("WV-1")))
		h.refused(err, models.Refused, "no-permit", "0 of 10 stems are left")
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-02", "2026-02-02", 1, onPermit("WV-1")))
		h.refused(err, models.Invalid, "permit-misfit")
		_, err = h.EditPermit(h.ctx, "WV-1", 1, models.PermitEdit{Paper: models.SetTo("folder 3"), Why: "found"})
		h.refused(err, models.Stale, "stale", "permit WV-1 was changed meanwhile and is at version 2, not 1")
		_, err = h.EditPermit(h.ctx, "WV-1", 2, models.PermitEdit{Unit: models.SetTo(models.InKG), Why: "weighed"})
		h.refused(err, models.Invalid, "permit-drawn", "batches draw 12 stems on it")
		_, err = h.EditPermit(h.ctx, "WV-1", 2, models.PermitEdit{Stands: models.SetTo([]string{"TB-09"}), Why: "moved"})
		h.refused(err, models.Unknown, "unknown-stand")
		_, err = h.EditPermit(h.ctx, "WV-7", 1, models.PermitEdit{Why: "moved"})
		h.refused(err, models.NotFound, "no-such-permit")
		same := h.editPermit("wv-1", models.PermitEdit{People: models.SetTo([]string{" RQ"}), Paper: models.SetNull[string]()})
		if same.Version != 2 || len(same.Earlier) != 1 {
			h.t.Errorf("%+v", same)
		}
		h.warned(same.Warnings, "everything is as it was")
		back := h.editPermit("WV-1", models.PermitEdit{Stands: models.SetTo([]string{"TB-02", "TB-01"}), Quantity: models.SetNull[models.Decimal]()})
		if back.Left != nil || !slices.Equal(back.Stands, []string{"TB-01", "TB-02"}) || len(back.Earlier) != 2 {
			h.t.Errorf("%+v", back)
		}
		h.log(cutOf("TB-02", "2026-02-02", 1, onPermit("WV-1")))
	})
}

func TestAPermitSentAgainIsOne(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		key := nursery.Once{Route: "POST /v1/permits", Key: "a"}
		first, err := h.AddPermit(h.ctx, key, newPermit("WV-1", 5, "TB-01"))
		must(h, first, err)
		again, err := h.AddPermit(h.ctx, key, newPermit("WV-1", 5, "TB-01"))
		h.sameJSON("the permit sent again", first, must(h, again, err))
		_, err = h.AddPermit(h.ctx, key, newPermit("WV-1", 6, "TB-01"))
		h.refused(err, models.Conflict, "key-reused")
	})
}

// A land manager sees the permits that cover a stand on their land, with no other
// stands.
func TestALandManagerSeesThePermitsOfTheirLand(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		h.stand("SF-01", func(r *models.NewStand) { r.LandManager = "Sorrel Flat Ditch Company" })
		h.permit(newPermit("WV-1", 5, "TB-01", "SF-01"))
		h.permit(newPermit("WV-2", 5, "TB-02"))
		h.editPermit("WV-1", models.PermitEdit{Stands: models.SetTo([]string{"TB-01", "TB-02", "SF-01"})})
		theirs := nursery.As(h.ctx, models.Caller{Role: models.Manager, LandManager: "sorrel flat  ditch company"})
		list, err := h.Permits(theirs, nursery.PermitQuery{})
		if must(h, list, err); len(list.Items) != 1 || list.Items[0].Number != "WV-1" || !slices.Equal(list.Items[0].Stands, []string{"SF-01"}) {
			h.t.Errorf("%+v", list.Items)
		}
		view, err := h.Permit(theirs, "wv-1")
		if must(h, view, err); !slices.Equal(view.Stands, []string{"SF-01"}) || !slices.Equal(view.Earlier[0].Stands, []string{"SF-01"}) {
			h.t.Errorf("%+v", view)
		}
		for _, number := range []string{"WV-2", "WV-3"} {
			_, err = h.Permit(theirs, number)
			if e := h.refused(err, models.NotFound, "no-such-permit", "for the land of sorrel flat"); len(e.Suggestions) != 0 {
				h.t.Errorf("near are %q", e.Suggestions)
			}
		}
		_, err = h.Permits(theirs, nursery.PermitQuery{Stand: "TB-01"})
		if e := h.refused(err, models.Unknown, "unknown-stand"); len(e.Suggestions) != 0 {
			h.t.Errorf("near are %q", e.Suggestions)
		}
		list, err = h.Permits(theirs, nursery.PermitQuery{Stand: "sf-01"})
		if must(h, list, err); len(list.Items) != 1 {
			h.t.Errorf("%+v", list.Items)
		}
		parks := nursery.As(h.ctx, models.Caller{Role: models.Manager, LandManager: "Wrenlow Valley Parks"})
		view, err = h.Permit(parks, "WV-1")
		if must(h, view, err); !slices.Equal(view.Stands, []string{"TB-01", "TB-02"}) || !slices.Equal(view.Earlier[0].Stands, []string{"TB-01"}) {
			h.t.Errorf("%+v", view)
		}
		h.editPermit("WV-1", models.PermitEdit{Stands: models.SetTo([]string{"TB-01"})})
		_, err = h.Permit(theirs, "WV-1")
		h.refused(err, models.NotFound, "no-such-permit")
	})
}

// Those who may cut are codes on the list; to others than coordinators any other text is
// someone not on it, in the sentence about leave and on paper as well.
func TestPermitsNamePeopleByCode(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		must1(h, func() (models.PersonView, error) { return h.AddPerson(h.ctx, unkeyed, models.NewPerson{Code: "RQ"}) })
		req := newPermit("WV-1", 20, "TB-01")
		req.People = []string{"rq", "Tam Yarrow"}
		view := h.permit(req)
		if !slices.Equal(view.People, []string{"RQ", "Tam Yarrow"}) {
			h.t.Errorf("the people are %q", view.People)
		}
		h.warned(view.Warnings, `people[1] is "Tam Yarrow", which is no code on the list of people`)
		h.editPermit("WV-1", models.PermitEdit{Paper: models.SetTo("folder 3"), By: "Tam Yarrow"})
		volunteer := nursery.As(h.ctx, models.Caller{Token: "v", Role: models.Volunteer})
		view, err := h.Permit(volunteer, "WV-1")
		must(h, view, err)
		list, err := h.Permits(volunteer, nursery.PermitQuery{})
		must(h, list, err)
		for _, v := range append(list.Items, view) {
			if !slices.Equal(v.People, []string{"RQ", models.NotListed}) || v.EnteredBy != models.NotListed ||
				!slices.Equal(v.Earlier[0].Terms.People, []string{"RQ", models.NotListed}) || v.Earlier[0].ChangedBy != models.NotListed {
				h.t.Errorf("a volunteer sees %+v", v)
			}
		}
		if coordinator := h.seePermit("WV-1"); coordinator.People[1] != "Tam Yarrow" || coordinator.EnteredBy != "OP" {
			h.t.Errorf("%+v", coordinator)
		}
		answer, err := h.Allowance(volunteer, "TB-01", allowanceOn("2026-02-20"))
		if must(h, answer, err); !strings.Contains(answer.Leave, "for RQ, not on the list") {
			h.t.Errorf("a volunteer is told %q", answer.Leave)
		}
		sheet, err := h.Sheet(h.ctx, "TB-01", nursery.SheetQuery{Stems: 4, Crew: "C"})
		if must(h, sheet, err); strings.Contains(sheet.Leave, "Tam") || !strings.Contains(sheet.Leave, "permit WV-1") {
			h.t.Errorf("the sheet says %q", sheet.Leave)
		}
		h.log(cutOf("TB-01", "2026-02-01", 2, onPermit("WV-1"), func(r *models.NewBatch) { r.CollectedBy = "rq, Tam Yarrow" }))
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-01", 2, onPermit("WV-1"), func(r *models.NewBatch) { r.CollectedBy = "OP" }))
		if e := h.refused(err, models.Refused, "no-permit", "is for the people it names, and who cut is not among them"); strings.Contains(e.Error(), "Tam") {
			h.t.Errorf("it says %q", e.Error())
		}
	})
}

func TestTheReminderNamesPermitsThatEnd(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		h.goTo("2026-03-02 08:00")
		ending := newPermit("WV-1", 30, "TB-01", "TB-02")
		ending.ValidTo = date("2026-06-30")
		later := newPermit("WV-2", 30, "TB-01")
		later.ValidTo = date("2026-07-01")
		gone := newPermit("WV-3", 30, "TB-01")
		gone.ValidTo = date("2026-03-01")
		for _, req := range []models.NewPermit{ending, later, gone} {
			h.permit(req)
		}
		h.log(cutOf("TB-01", "2026-03-01", 12, onPermit("WV-1")))
		first, err := h.Remind(h.ctx, unkeyed, models.NewReminder{})
		must(h, first, err)
		want := []models.PermitNotice{
			{Permit: "WV-3", EndsOn: date("2026-03-01"), Text: "permit WV-3 of Wrenlow Valley Parks ended on 2026-03-01: cut no more on it", Crossed: true},
			{Permit: "WV-1", EndsOn: date("2026-06-30"), Text: "permit WV-1 of Wrenlow Valley Parks ends on 2026-06-30, in 120 days, with 18 of 30 stems left. It covers TB-01, TB-02", Crossed: true},
		}
		h.sameJSON("the permits that end", want, first.Body.Permits)
		if !strings.Contains(first.Text, "Permits that end") || !strings.Contains(first.Text, "WV-1 (new)") {
			h.t.Errorf("the text says\n%s", first.Text)
		}
		h.goTo("2026-03-09 08:00")
		second, err := h.Remind(h.ctx, unkeyed, models.NewReminder{})
		if must(h, second, err); len(second.Body.Permits) != 2 || second.Body.Permits[0].Permit != "WV-1" || second.Body.Permits[0].Crossed || !second.Body.Permits[1].Crossed {
			h.t.Errorf("the week after there end %+v", second.Body.Permits)
		}
		kept, err := h.Reminder(h.ctx, first.Week)
		h.sameJSON("the reminder that is kept", want, must(h, kept, err).Body.Permits)
	})
}

// However many cut at however many stands, on one permit not a stem more is drawn than
// it allows, and to the last stem it is.
func TestManyWritersDrawOnOnePermit(t *testing.T) {
	stands := []string{"TB-01", "TB-02", "TB-03", "TB-04"}
	each(t, func(h *house) {
		h.counted(stands...)
		h.permit(newPermit("WV-1", 60, stands...))
		cut := func(stand string, stems int) error {
			_, err := h.LogBatch(h.ctx, unkeyed, cutOf(stand, "2026-02-01", stems, onPermit("WV-1")))
			return err
		}
		atOnce(16, func(_ int, chance *rand.Rand) {
			for most := range 4 {
				if err := wantNoPermit(cut(stands[chance.IntN(len(stands))], 1+chance.IntN(5-most))); err != nil {
					h.t.Error(err)
				}
			}
		})
		atOnce(8, func(i int, _ *rand.Rand) {
			for {
				err := cut(stands[i%len(stands)], 1)
				if problem := wantNoPermit(err); problem != nil {
					h.t.Error(problem)
				}
				if err != nil {
					return
				}
			}
		})
		stems := 0
		for _, stand := range stands {
			n, _ := h.ledger(stand)
			stems += n
		}
		if got := h.seePermit("WV-1"); stems != 60 || got.Drawn != models.DecimalOf(60) || *got.Left != 0 || len(got.Warnings) != 0 {
			h.t.Errorf("%d stems were cut on it, and %s are drawn", stems, got.Drawn)
		}
	})
}

// wantNoPermit says what is wrong with an answer that should be a batch, or a refusal
// for want of room on a permit or stems at a stand.
func wantNoPermit(err error) error {
	if e := models.AsError(err); err != nil && (e == nil || e.Kind != models.Refused || e.Code != "no-permit" && e.Code != "over-allowance") {
		return fmt.Errorf("the error is no refusal: %w", err)
	}
	return nil
}

// Day sheets that name stands in different orders and draw on permits that cover several
// of them wait for each other, while permits are changed: no transaction had to begin
// anew, as one that the database broke up does.
func TestDaySheetsOnPermitsWaitForEachOther(t *testing.T) {
	const sheets, edits = 12, 8
	stands := []string{"TB-01", "TB-02", "TB-03", "TB-04"}
	each(t, func(h *house) {
		h.counted(stands...)
		h.permit(newPermit("WV-1", 100, "TB-03", "TB-01"))
		h.permit(newPermit("WV-2", 100, "TB-02", "TB-04", "TB-01"))
		h.permit(newPermit("WV-3", 40, "TB-04", "TB-03", "TB-02", "TB-01"))
		var mutex sync.Mutex
		begun, done, drawn := 0, 0, map[string]int{}
		watched := store.Watch(h.ctx, func(statement string) {
			mutex.Lock()
			defer mutex.Unlock()
			if strings.Contains(statement, "nursery") && strings.HasPrefix(statement, "SELECT") {
				begun++
			}
		})
		on := map[string][]string{"TB-01": {"WV-1", "WV-2", "WV-3"}, "TB-02": {"WV-2", "WV-3"}, "TB-03": {"WV-1", "WV-3"}, "TB-04": {"WV-2", "WV-3"}}
		atOnce(sheets+2, func(i int, chance *rand.Rand) {
			if i >= sheets {
				h.changeByTurns(watched, edits)
				return
			}
			sheet, draws := "stand,collected_on,stems_cut,cuttings,collected_by,permit\n", map[string]int{}
			for _, at := range chance.Perm(len(stands)) {
				numbers := on[stands[at]]
				number := numbers[chance.IntN(len(numbers))]
				sheet += fmt.Sprintf("%s,2026-02-%02d,1,3,RQ,%s\n", stands[at], 1+chance.IntN(20), number)
				draws[number]++
			}
			_, err := h.LogDay(watched, unkeyed, []byte(sheet))
			if problem := wantNoPermit(err); problem != nil {
				h.t.Error(problem)
			}
			mutex.Lock()
			defer mutex.Unlock()
			done++
			for number, n := range draws {
				if err == nil {
					drawn[number] += n
				}
			}
		})
		if want := sheets + 2*edits; begun != want || done != sheets {
			h.t.Errorf("%d transactions were begun for %d sheets and %d edits", begun, done, 2*edits)
		}
		for number, n := range drawn {
			if got := h.seePermit(number); got.Drawn != models.DecimalOf(n) {
				h.t.Errorf("%s are drawn on %s, and %d were entered", got.Drawn, number, n)
			}
		}
	})
}

// changeByTurns changes where the paper of a permit is, and which stands it covers, as
// far as another change does not come first.
func (h *house) changeByTurns(ctx context.Context, n int) {
	for i := range n {
		stands := []string{"TB-04", "TB-03", "TB-02", "TB-01"}
		edit := models.PermitEdit{Paper: models.SetTo(fmt.Sprintf("folder %d", i)), Stands: models.SetTo(stands), Why: "moved"}
		view, err := h.Permit(h.ctx, "WV-3")
		if err != nil {
			h.t.Error(err)
			return
		}
		if _, err = h.EditPermit(ctx, "WV-3", view.Version, edit); err != nil && models.AsError(err).Code != "stale" {
			h.t.Error(err)
		}
	}
}

// A batch is judged before its permit is changed or after: it never draws on one that no
// longer covers its stand, or more than the quantity it found.
func TestAPermitChangesBetweenCuts(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		h.permit(newPermit("WV-1", 40, "TB-01", "TB-02"))
		var after sync.Map
		atOnce(10, func(i int, chance *rand.Rand) {
			if i == 0 {
				view, err := h.EditPermit(h.ctx, "WV-1", 1, models.PermitEdit{Stands: models.SetTo([]string{"TB-01"}), Quantity: models.SetTo(models.DecimalOf(20)), Why: "half was taken back"})
				if err != nil {
					h.t.Error(err)
				}
				after.Store("drawn", view.Drawn)
				return
			}
			for range 4 {
				stand := []string{"TB-01", "TB-02"}[chance.IntN(2)]
				_, err := h.LogBatch(h.ctx, unkeyed, cutOf(stand, "2026-02-01", 1+chance.IntN(2), onPermit("WV-1")))
				if e := models.AsError(err); err != nil && (e == nil || e.Code != "no-permit" && e.Code != "permit-misfit") {
					h.t.Error(err)
				}
			}
		})
		then, _ := after.Load("drawn")
		if got := h.seePermit("WV-1"); got.Drawn > max(models.DecimalOf(20), then.(models.Decimal)) {
			h.t.Errorf("%s were drawn when it was changed to 20, and %s at the end", then, got.Drawn)
		}
		_, err := h.LogBatch(h.ctx, unkeyed, cutOf("TB-02", "2026-02-01", 1, onPermit("WV-1")))
		h.refused(err, models.Invalid, "permit-misfit")
	})
}

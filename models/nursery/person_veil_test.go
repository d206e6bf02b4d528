package nursery_test

import (
	"context"
	"encoding/json"
	"regexp"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
)

// told is what the writes of a story answer, with the people they name: each with
// who as the person who did it.
func (h *house) told(ctx context.Context, who string) map[string][]string {
	h.t.Helper()
	warnings := map[string][]string{}
	batch := func(name string) func(models.BatchView, error) models.BatchView {
		return func(view models.BatchView, err error) models.BatchView {
			h.t.Helper()
			warnings[name] = must(h, view, err).Warnings
			return view
		}
	}
	survey, err := h.AddSurvey(ctx, unkeyed, "TB-01", models.NewSurvey{SurveyedOn: date("2026-01-02"), Method: models.Census, Stems: ptr(900), SurveyedBy: who})
	warnings["survey"] = must(h, survey, err).Warnings
	first := batch("batch")(h.LogBatch(ctx, unkeyed, cutOf("TB-01", "2026-01-17", 4, stuckOn("2026-01-18", "B1"), func(r *models.NewBatch) {
		r.CollectedBy, r.IdentifiedBy, r.StuckBy = who, who, who
	})))
	batch("check")(h.Check(ctx, unkeyed, first.Code, models.NewCheck{CheckedOn: date("2026-02-10"), Rooted: ptr(6), CheckedBy: who}))
	batch("potting")(h.Pot(ctx, unkeyed, first.Code, models.NewPotting{PottedOn: date("2026-02-12"), Count: 5, PottedBy: who}))
	batch("decision")(h.Decide(ctx, unkeyed, first.Code, models.NewDecision{On: date("2026-02-13"), Action: models.Keep, Until: date("2026-03-09"), By: who, Why: "callus"}))
	sheet, err := h.LogDay(ctx, unkeyed, []byte("stand,collected_on,stems_cut,cuttings,collected_by\nTB-01,2026-01-18,2,6,\""+who+"\"\n"))
	warnings["day"] = must(h, sheet, err).Batches[0].Warnings
	waiting := sheet.Batches[0].Code
	split, err := h.Split(ctx, unkeyed, waiting, models.NewSplit{On: date("2026-01-19"), Arms: []models.Arm{{Count: 2, Tray: models.Tray{Bench: "B1", StuckBy: who}}}})
	warnings["split"] = must(h, split, err).Batch.Warnings
	batch("sticking")(h.Stick(ctx, unkeyed, waiting, models.NewSticking{StuckOn: date("2026-01-19"), Count: 4, Tray: models.Tray{StuckBy: who}}))
	over := batch("over")(h.LogBatch(ctx, unkeyed, cutOf("TB-01", "2026-01-20", 100, alreadyCut, func(r *models.NewBatch) { r.CollectedBy = who })))
	batch("review")(h.Review(ctx, unkeyed, over.Code, models.NewReview{Reason: "count again", By: who}))
	stand, err := h.EditStand(ctx, "TB-01", 1, models.StandEdit{
		HarvestRule: &models.NewHarvestRule{StandCap: ptr(models.MustDecimal("0.04"))}, Closures: &[]models.Closure{{From: "04-15", To: "07-31", EveryYear: true}},
		Why: "the manager's terms", By: who})
	warnings["stand"] = must(h, stand, err).Warnings
	event, err := h.AddDisturbance(ctx, unkeyed, "TB-01", models.NewDisturbance{On: date("2026-02-20"), Kind: "flood", By: who})
	warnings["disturbance"] = must(h, event, err).Warnings
	return warnings
}

// shown is all that a role reads of the story, as JSON, by what was asked for.
func (h *house) shown(role models.Role) map[string]string {
	h.t.Helper()
	ctx := nursery.As(h.ctx, models.Caller{Role: role, LandManager: "Wrenlow Valley Parks"})
	all := map[string]string{}
	keep := func(name string, answer any, err error) {
		h.t.Helper()
		text, writeErr := json.Marshal(answer)
		if err != nil || writeErr != nil {
			h.t.Fatal(name, err, writeErr)
		}
		all[name] = string(text)
	}
	for _, code := range []string{"TB-01-2026-1", "TB-01-2026-2", "TB-01-2026-4"} {
		view, err := h.Batch(ctx, code)
		keep("history of "+code, view.History, err)
		view.History = nil
		keep(code, view, nil)
	}
	ledger, err := h.Ledger(ctx, "TB-01", models.Date{}, models.Page{})
	keep("ledger", ledger, err)
	surveys, err := h.Surveys(ctx, "TB-01", models.Page{})
	keep("surveys", surveys, err)
	events, err := h.Disturbances(ctx, "TB-01")
	keep("disturbances", events, err)
	versions, err := h.Versions(ctx, "TB-01")
	keep("versions", versions, err)
	stand, err := h.Stand(ctx, "TB-01", false)
	keep("stand", stand, err)
	stands, err := h.Stands(ctx, nursery.StandQuery{})
	keep("stands", stands, err)
	reminder, err := h.Remind(ctx, unkeyed, models.NewReminder{})
	keep("reminder", reminder, err)
	return all
}

// leaving are the texts that leave the house, whoever asks for them.
func leaving(what string) bool {
	return what == "ledger" || what == "reminder" || strings.HasPrefix(what, "history")
}

const tam = "Tam, the younger"

func TestEveryWriteSettlesThePeopleItNames(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.onList(rowan())
		for what, warnings := range h.told(h.ctx, " rq ") {
			for _, w := range warnings {
				if strings.Contains(w, models.NotListed) {
					h.t.Errorf("the %s warns of a code: %s", what, w)
				}
			}
		}
		for what, text := range h.shown(models.Reader) {
			if !strings.Contains(text, "RQ") || strings.Contains(text, "rq") {
				h.t.Errorf("the %s does not show the code as the list spells it: %s", what, text)
			}
		}
	})
}

func TestEveryWriteWarnsOfNamesThatAreNoCode(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.onList(rowan())
		for what, warnings := range h.told(h.as(models.Coordinator), tam) {
			n := 0
			for _, w := range warnings {
				if strings.Contains(w, tam) && strings.Contains(w, "kept as written") {
					n++
				}
			}
			want := 1
			if what == "batch" {
				want = 3 // who cut, who identified, who stuck
			}
			if n != want {
				h.t.Errorf("the %s has %d warnings of a name, want %d: %q", what, n, want, warnings)
			}
		}
	})
}

func TestNamesAreShownToCoordinatorsAlone(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.onList(rowan())
		h.told(h.ctx, tam)
		for _, role := range []models.Role{"", models.Coordinator, models.Lead, models.Volunteer, models.Reader, models.Manager} {
			for what, text := range h.shown(role) {
				named := (role == "" || role == models.Coordinator) && !leaving(what)
				if strings.Contains(text, tam) != named || strings.Contains(text, models.NotListed) == named {
					h.t.Errorf("the %s is shown to a %q as %s", what, role, text)
				}
			}
		}
	})
}

// What the veil hides from one who writes is in the record all the same.
func TestWhatAVolunteerWritesIsKept(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.onList(rowan())
		view, err := h.LogBatch(h.as(models.Volunteer), unkeyed, cutOf("TB-01", "2026-01-17", 4, stuckOn("2026-01-18", "B1"), func(r *models.NewBatch) {
			r.CollectedBy, r.StuckBy = tam, tam
		}))
		if must(h, view, err); view.CollectedBy != models.NotListed || view.Sticking.StuckBy != models.NotListed {
			h.t.Errorf("the volunteer is shown %q, stuck by %q", view.CollectedBy, view.Sticking.StuckBy)
		}
		h.warned(view.Warnings, tam)
		kept, err := h.Batch(h.ctx, view.Code)
		if must(h, kept, err); kept.CollectedBy != tam || kept.Sticking.StuckBy != tam {
			h.t.Errorf("kept is %q, stuck by %q", kept.CollectedBy, kept.Sticking.StuckBy)
		}
	})
}

func TestWithNobodyOnTheListAllIsAsWritten(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		for what, warnings := range h.told(h.ctx, tam) {
			if strings.Contains(strings.Join(warnings, " "), tam) {
				h.t.Errorf("the %s warns %q", what, warnings)
			}
		}
		for what, text := range h.shown(models.Reader) {
			if !strings.Contains(text, tam) || strings.Contains(text, models.NotListed) {
				h.t.Errorf("the %s is shown as %s", what, text)
			}
		}
	})
}

// codesOfPeople is the statement that reads the codes, and no more of anyone.
var codesOfPeople = regexp.MustCompile(`(?i)^select .?code.? from .?people`)

// Whoever reads, the codes of people are read once, and not for each row.
func TestTheCodesOfPeopleAreReadOnce(t *testing.T) {
	each(t, func(h *house) {
		h.onList(rowan())
		h.counted("TB-01", "TB-02", "TB-03")
		for i, code := range []string{"TB-01", "TB-02", "TB-03"} {
			h.log(cutOf(code, date("2026-01-17").Add(i).String(), 100, alreadyCut))
		}
		for name, use := range map[string]func(ctx context.Context) error{
			"stands":   func(ctx context.Context) error { _, err := h.Stands(ctx, nursery.StandQuery{}); return err },
			"reminder": func(ctx context.Context) error { _, err := h.Remind(ctx, unkeyed, models.NewReminder{}); return err },
			"ledger": func(ctx context.Context) error {
				_, err := h.Ledger(ctx, "TB-01", models.Date{}, models.Page{})
				return err
			},
			"sheet": func(ctx context.Context) error {
				_, err := h.LogDay(ctx, unkeyed, []byte("stand,collected_on,stems_cut,cuttings,collected_by,already_cut,reason\nTB-01,2026-01-20,1,3,rq,yes,late\nTB-02,2026-01-20,1,3,Tam,yes,late\n"))
				return err
			},
		} {
			read := 0
			ctx := store.Watch(h.as(models.Lead), func(statement string) {
				if codesOfPeople.MatchString(statement) {
					read++
				}
			})
			if err := use(ctx); err != nil || read != 1 {
				h.t.Errorf("the %s reads the list of people %d times (%v)", name, read, err)
			}
		}
	})
}

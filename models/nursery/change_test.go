package nursery_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
)

// write is one request of each kind that changes something, in an order in which
// each finds what it needs. Those that are edits take no key.
type write struct {
	name string
	edit bool
	do   func(h *house, ctx context.Context, o nursery.Once) error
}

// makes says that a request makes something that its path does not name.
func (w write) makes() bool {
	for _, path := range []string{"taxa", "stands", "surveys", "disturbances", "others-cuts", "batches", "batches again", "days", "splits", "reminders", "people", "tokens"} {
		if !w.edit && strings.HasSuffix(w.name, "/"+path) {
			return true
		}
	}
	return false
}

// tells says that the record of changes keeps what was sent.
func (w write) tells() bool { return w.edit || strings.HasSuffix(w.name, "/closures") }

// only is a use case without its answer.
func only[T any](_ T, err error) error { return err }

const tagged = "TB-01-2026-1"

var writes = []write{
	{"POST /v1/taxa", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.AddTaxon(ctx, o, models.NewTaxon{ScientificName: "Cornus sericea"}))
	}},
	{"PATCH /v1/taxa", true, func(h *house, ctx context.Context, _ nursery.Once) error {
		return only(h.EditTaxon(ctx, "Cornus sericea", 1, models.TaxonEdit{Family: models.SetTo("Cornaceae")}))
	}},
	{"PATCH /v1/nursery", true, func(h *house, ctx context.Context, _ nursery.Once) error {
		return only(h.Edit(ctx, 1, models.NurseryEdit{Name: models.SetTo("Wrenlow Valley")}))
	}},
	{"POST /v1/stands", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.AddStand(ctx, o, models.NewStand{Code: "TB-01", Name: "Wrenlow Bend", Taxon: "Cornus sericea"}))
	}},
	{"PATCH /v1/stands/TB-01", true, func(h *house, ctx context.Context, _ nursery.Once) error {
		return only(h.EditStand(ctx, "TB-01", 1, models.StandEdit{Place: models.SetTo("Wrenlow Bend")}))
	}},
	{"POST /v1/stands/TB-01/closures", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.AddClosures(ctx, o, "TB-01", models.NewClosures{Closures: []models.Closure{{From: "04-15", To: "07-31", EveryYear: true}}}))
	}},
	{"POST /v1/stands/TB-01/disturbances", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.AddDisturbance(ctx, o, "TB-01", models.NewDisturbance{On: date("2025-12-20"), Kind: "beaver"}))
	}},
	{"POST /v1/stands/TB-01/surveys", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.AddSurvey(ctx, o, "TB-01", models.NewSurvey{SurveyedOn: date("2026-01-01"), Method: models.Census, Stems: ptr(800)}))
	}},
	{"POST /v1/stands/TB-01/others-cuts", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.AddOthersCut(ctx, o, "TB-01", byOthers("2026-01-03", "2026-01-05", 1, 2)))
	}},
	{"POST /v1/batches", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.LogBatch(ctx, o, cutOf("TB-01", "2026-01-10", 20)))
	}},
	{"POST /v1/batches again", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.LogBatch(ctx, o, cutOf("TB-01", "2026-01-11", 30, alreadyCut)))
	}},
	{"POST /v1/days", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.LogDay(ctx, o, []byte("stand,collected_on,stems_cut,cuttings,collected_by,already_cut,reason\nTB-01,2026-01-12,1,3,RQ,true,gone\nTB-01,2026-01-12,2,6,TS,true,gone\n")))
	}},
	{"POST /v1/batches/b/reviews", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.Review(ctx, o, "TB-01-2026-2", models.NewReview{Accept: true, Reason: "counted again"}))
	}},
	{"POST /v1/batches/b/moves", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.Move(ctx, o, tagged, models.NewMove{On: date("2026-01-10"), To: models.ToSoak, Count: 60}))
	}},
	{"POST /v1/batches/b/splits", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.Split(ctx, o, tagged, models.NewSplit{On: date("2026-01-12"), Arms: []models.Arm{{Count: 10}, {Count: 10}}}))
	}},
	{"POST /v1/batches/b/stickings", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.Stick(ctx, o, tagged, models.NewSticking{StuckOn: date("2026-01-12"), Count: 40, Tray: warmTray("B2")}))
	}},
	{"POST /v1/batches/b/checks", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.Check(ctx, o, tagged, models.NewCheck{CheckedOn: date("2026-02-10"), Rooted: ptr(30)}))
	}},
	{"POST /v1/batches/b/pottings", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.Pot(ctx, o, tagged, models.NewPotting{PottedOn: date("2026-02-20"), Count: 20}))
	}},
	{"POST /v1/batches/b/decisions", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.Decide(ctx, o, tagged, models.NewDecision{On: date("2026-03-01"), Action: models.CloseBatch, Why: "done"}))
	}},
	{"POST /v1/reminders", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.Remind(ctx, o, models.NewReminder{}))
	}},
	{"POST /v1/people", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.AddPerson(ctx, o, models.NewPerson{Code: "ZZ"}))
	}},
	{"PATCH /v1/people/ZZ", true, func(h *house, ctx context.Context, _ nursery.Once) error {
		return only(h.EditPerson(ctx, "ZZ", 1, models.PersonEdit{Name: models.SetTo("Z. Zephyr")}))
	}},
	{"POST /v1/people/ZZ/erasures", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.ErasePerson(ctx, o, "ZZ"))
	}},
	{"POST /v1/tokens", false, func(h *house, ctx context.Context, o nursery.Once) error {
		_, err := h.AddToken(ctx, o, models.NewToken{Name: "desk", Role: models.Coordinator})
		if e := models.AsError(err); e != nil && e.Code == "token-already-shown" {
			return nil // this is how it is answered when it is sent again
		}
		return err
	}},
	{"POST /v1/tokens/desk/revocations", false, func(h *house, ctx context.Context, o nursery.Once) error {
		return only(h.RevokeToken(ctx, o, "desk"))
	}},
}

// changes are all lines of the record, the latest first.
func (h *house) changes(by string) (all []models.Change) {
	h.t.Helper()
	page := models.Page{Limit: 7}
	for {
		list, err := h.Changes(h.ctx, by, page)
		must(h, list, err)
		all = append(all, list.Items...)
		if list.Next == "" {
			return all
		}
		page.After = list.Next
	}
}

func olga(request string) models.Caller {
	return models.Caller{Token: "t-1", Name: "Olga P", Role: models.Coordinator, Request: request, RequestID: "r of " + request}
}

// Every kind of write leaves one line; sent again under its key it leaves none, and
// refused it leaves none.
func TestEveryWriteLeavesOneLine(t *testing.T) {
	each(t, func(h *house) {
		lines := 0
		for i, w := range writes {
			ctx := nursery.As(h.ctx, olga(w.name))
			once := nursery.Once{Route: w.name, Key: fmt.Sprintf("key-%d", i)}
			if err := w.do(h, ctx, once); err != nil {
				h.t.Fatalf("%s: %v", w.name, err)
			}
			lines++
			all := h.changes("")
			if len(all) != lines {
				h.t.Fatalf("%s: %d lines, want %d", w.name, len(all), lines)
			}
			if c := all[0]; c.Request != w.name || c.MadeBy != "Olga P" || c.Role != models.Coordinator || c.RequestID != "r of "+w.name || !c.MadeAt.Equal(h.at) {
				h.t.Errorf("%s: the line is %+v", w.name, c)
			}
			if _, made := all[0].Detail["made"]; made != w.makes() || w.tells() != (len(all[0].Detail) > 0 && !made) {
				h.t.Errorf("%s: the detail is %v", w.name, all[0].Detail)
			}
			err := w.do(h, ctx, once)
			if (err != nil) != w.edit {
				h.t.Errorf("%s: sent again: %v", w.name, err)
			}
			if n := len(h.changes("")); n != lines {
				h.t.Fatalf("%s: sent again it leaves %d lines", w.name, n-lines)
			}
		}
	})
}

func TestWhatChangesNothingLeavesNoLine(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		ctx := nursery.As(h.ctx, olga("POST /v1/somewhere"))
		_, err := h.LogBatch(ctx, keyed("over"), cutOf("TB-01", "2026-02-01", 41))
		h.refused(err, models.Refused, "over-allowance")
		_, err = h.AddOthersCut(ctx, keyed("future"), "TB-01", byOthers("2026-02-05", "2026-03-02", 1, 2))
		h.refused(err, models.Invalid, "in-the-future")
		_, err = h.EditStand(ctx, "TB-01", 7, models.StandEdit{Place: models.SetTo("X")})
		h.refused(err, models.Stale, "stale")
		_, err = h.Sheet(ctx, "TB-01", nursery.SheetQuery{Stems: 3, Crew: "C"})
		must(h, 0, err)
		if all := h.changes(""); len(all) != 0 {
			h.t.Errorf("the record has %+v", all)
		}
		must1(h, func() (models.ReminderView, error) { return h.Remind(ctx, unkeyed, models.NewReminder{}) })
		must1(h, func() (models.ReminderView, error) { return h.Remind(ctx, unkeyed, models.NewReminder{}) })
		if all := h.changes(""); len(all) != 1 {
			h.t.Errorf("a reminder that was found leaves a line: %+v", all)
		}
		must1(h, func() (bool, error) { return h.WriteFlags(h.ctx) }) // by the nursery itself
		if all := h.changes(""); len(all) != 1 {
			h.t.Errorf("a job leaves a line: %+v", all)
		}
	})
}

func TestChangesOfOneMaker(t *testing.T) {
	each(t, func(h *house) {
		for i, name := range []string{"Olga P", "desk", "Olga P", "olga p"} {
			caller := olga("POST /v1/taxa")
			caller.Name = name
			must1(h, func() (models.Taxon, error) {
				return h.AddTaxon(nursery.As(h.ctx, caller), unkeyed, models.NewTaxon{ScientificName: fmt.Sprintf("Cornus no%d", i)})
			})
		}
		if n := len(h.changes("Olga P")); n != 2 {
			h.t.Errorf("%d lines of Olga P, want 2", n)
		}
		if n := len(h.changes("nobody")); n != 0 {
			h.t.Errorf("%d lines of nobody", n)
		}
		_, err := h.Changes(h.ctx, "", models.Page{After: "nonsense"})
		h.refused(err, models.Invalid, "bad-cursor")
	})
}

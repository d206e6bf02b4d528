package nursery_test

import (
	"testing"

	"withybed/models"
	"withybed/models/nursery"
)

// TestAReportAsItWasKnown asks on later days what was known on earlier ones: a cut
// entered late, and a count entered late, were not.
func TestAReportAsItWasKnown(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01") // today is 2026-03-01, 40 stems may be cut
		h.log(cutOf("TB-01", "2026-02-10", 30))
		h.goTo("2026-03-05 10:00")
		late := models.NewOthersCut{From: date("2026-02-11"), To: date("2026-02-12"), Low: 2, High: 8, CutBy: "weavers", Evidence: "stubs", Ours: true}
		must1(h, func() (models.OthersCutView, error) { return h.AddOthersCut(h.ctx, unkeyed, "TB-01", late) })
		asked := func(known string) nursery.AllowanceQuery {
			return nursery.AllowanceQuery{On: date("2026-03-01"), KnownOn: date(known)}
		}
		for known, allowed := range map[string]int{"2026-03-01": 10, "2026-03-04": 10, "2026-03-05": 2} {
			if got := h.allowed("TB-01", asked(known)); got.Allowed != allowed {
				h.t.Errorf("as known on %s %d stems are allowed, want %d: %s", known, got.Allowed, allowed, got.Leave)
			}
		}
		for known, lines := range map[string]int{"2026-03-01": 1, "2026-03-05": 2} {
			list := must2(h, func() (models.List[models.LedgerLine], error) {
				return h.Ledger(h.ctx, "TB-01", date(known), models.Page{})
			})
			if len(list.Items) != lines {
				h.t.Errorf("as known on %s the ledger has %d lines, want %d", known, len(list.Items), lines)
			}
		}
		for known, want := range map[string]string{"2026-02-28": "", "2026-03-01": "TB-01 10", "2026-03-05": "TB-01 2"} {
			board := h.board(nursery.BoardQuery{On: date("2026-03-01"), KnownOn: date(known)})
			if onBoard(board) != want {
				h.t.Errorf("as known on %s: %s", known, onBoard(board))
			}
			if want == "" {
				continue
			}
			course := must2(h, func() (models.Course, error) {
				return h.Course(h.ctx, "TB-01", nursery.CourseQuery{From: date("2026-03-01"), KnownOn: date(known)})
			})
			taken := map[string]int{"TB-01 10": 30, "TB-01 2": 38}[want]
			if course.Today != date(known) || course.Points[0].Taken != taken {
				h.t.Errorf("as known on %s: %+v", known, course.Points[0])
			}
		}
		seasons := must2(h, func() ([]models.SeasonTaken, error) { return h.Seasons(h.ctx, "TB-01", date("2026-03-02")) })
		if len(seasons) != 1 || seasons[0].Stems != 30 {
			h.t.Errorf("the seasons as known before: %+v", seasons)
		}
		_, err := h.Allowance(h.ctx, "TB-01", nursery.AllowanceQuery{KnownOn: date("2026-03-06")})
		h.refused(err, models.Invalid, "in-the-future")
	})
}

// TestAStandThatWasNotKnown asks about a stand as it was known on the day before it was
// entered: there is no answer to that, in any report.
func TestAStandThatWasNotKnown(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		for _, known := range []models.Date{date("2026-02-28"), date("2026-03-01")} {
			for name, ask := range map[string]func() error{
				"allowance": func() error {
					_, err := h.Allowance(h.ctx, "TB-01", nursery.AllowanceQuery{KnownOn: known})
					return err
				},
				"ledger":  func() error { _, err := h.Ledger(h.ctx, "TB-01", known, models.Page{}); return err },
				"seasons": func() error { _, err := h.Seasons(h.ctx, "TB-01", known); return err },
				"course": func() error {
					_, err := h.Course(h.ctx, "TB-01", nursery.CourseQuery{KnownOn: known})
					return err
				},
				"parents": func() error {
					_, err := h.StandParents(h.ctx, "TB-01", nursery.ParentsQuery{KnownOn: known})
					return err
				},
			} {
				err := ask()
				switch {
				case known == date("2026-02-28"):
					h.refused(err, models.Invalid, "not-known-then", "known_on", "TB-01 was entered on 2026-03-01")
				case err != nil:
					h.t.Errorf("%s as known on the day of its entry: %v", name, err)
				}
			}
		}
	})
}

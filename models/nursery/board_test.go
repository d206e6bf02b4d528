package nursery_test

import (
	"fmt"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
)

// onBoard are the stands of a board with what is left of each.
func onBoard(b models.Board) string {
	var words []string
	for _, r := range b.Stands {
		left := "free"
		if r.Left != nil {
			left = fmt.Sprint(*r.Left)
		}
		words = append(words, r.Stand+" "+left)
	}
	return strings.Join(words, ", ")
}

func (h *house) board(q nursery.BoardQuery) models.Board {
	h.t.Helper()
	board, err := h.Board(h.ctx, q)
	return must(h, board, err)
}

// Each stand may give 40 stems of 800.
func TestTheBoard(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02", "TB-03")
		h.stand("NV-01", func(r *models.NewStand) { r.Place, r.LandManager = "Sedge Flat", "Sorrel Flat Ditch Company" })
		h.log(cutOf("TB-01", "2026-02-10", 30))
		h.log(cutOf("TB-02", "2026-02-10", 45, alreadyCut))
		board := h.board(nursery.BoardQuery{})
		if got := onBoard(board); got != "TB-03 40, TB-01 10, NV-01 0, TB-02 0" || board.On != date("2026-03-01") {
			h.t.Errorf("on %s: %s", board.On, got)
		}
		if over := board.Stands[3]; over.Over != 5 || !strings.Contains(over.Exceeded, "5 over the limit of 40") || over.Taken != 45 || over.State != models.StandAtRest {
			h.t.Errorf("%+v", over)
		}
		row := board.Stands[1]
		if row.Taken != 30 || row.Limit != 40 || row.SurveyAge == nil || *row.SurveyAge != 59 || !row.SurveyGood || row.Survey.SurveyedOn != date("2026-01-01") {
			h.t.Errorf("%+v", row)
		}
		for q, want := range map[nursery.BoardQuery]string{
			{On: date("2026-02-09")}:                         "TB-03 40, TB-01 10, NV-01 0, TB-02 0",
			{On: date("2027-02-10")}:                         "TB-01 40, TB-03 40, NV-01 0, TB-02 0",
			{Place: "wrenlow  BEND"}:                         "TB-03 40, TB-01 10, TB-02 0",
			{LandManager: "sorrel flat ditch company"}:       "NV-01 0",
			{Taxon: "cornus  sericea", Place: "Sedge Flat"}:  "NV-01 0",
			{Place: "nowhere"}:                               "",
			{LandManager: "Wrenlow Valley Parks", Place: ""}: "TB-03 40, TB-01 10, TB-02 0",
		} {
			if got := onBoard(h.board(q)); got != want {
				h.t.Errorf("%+v: %s, want %s", q, got, want)
			}
		}
		_, err := h.Board(h.ctx, nursery.BoardQuery{Taxon: "Cornus serica"})
		h.refused(err, models.Unknown, "unknown-taxon")
	})
}

// A land manager sees their own land alone.
func TestALandManagersBoard(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.stand("NV-01", func(r *models.NewStand) { r.LandManager = "Sorrel Flat Ditch Company" })
		ctx := nursery.As(h.ctx, models.Caller{Role: models.Manager, LandManager: "sorrel flat  ditch company"})
		for _, asked := range []string{"", "Sorrel Flat Ditch Company"} {
			board, err := h.Board(ctx, nursery.BoardQuery{LandManager: asked})
			if must(h, board, err); onBoard(board) != "NV-01 0" {
				h.t.Errorf("%q: %s", asked, onBoard(board))
			}
		}
		_, err := h.Board(ctx, nursery.BoardQuery{LandManager: "Wrenlow Valley Parks"})
		h.refused(err, models.Forbidden, "not-for-role", "sorrel flat")
	})
}

// The board takes as many statements for sixty stands as for one, and what is told of a
// stand is what the questions about it alone answer.
func TestTheBoardIsReadTogether(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		statements := func() (n int, board models.Board) {
			board, err := h.Board(store.Watch(h.ctx, func(string) { n++ }), nursery.BoardQuery{})
			return n, must(h, board, err)
		}
		h.stand("TB-00")
		h.census("TB-00", "2026-01-01", 800, 40)
		one, _ := statements()
		for i := 1; i < 60; i++ {
			code := fmt.Sprintf("TB-%02d", i)
			h.stand(code)
			h.census(code, "2026-01-01", 100*i, 40)
			if stems := i % 7; stems > 0 && stems < 5*i/2 {
				h.log(cutOf(code, "2026-02-10", min(stems, 5*i), func(r *models.NewBatch) { r.ParentPlants = ptr(20) }))
			}
		}
		sixty, board := statements()
		if one != sixty || one == 0 || len(board.Stands) != 60 {
			h.t.Errorf("%d statements for one stand, and %d for %d", one, sixty, len(board.Stands))
		}
		for _, r := range board.Stands[:5] {
			a := h.allowed(r.Stand, nursery.AllowanceQuery{Parents: ptr(models.MaxCount)})
			if a.Allowed != *r.Left || a.Limit != r.Limit || a.Taken != r.Taken {
				h.t.Errorf("%s: %d of %d are left, %d taken, and %d of %d, %d", r.Stand, *r.Left, r.Limit, r.Taken, a.Allowed, a.Limit, a.Taken)
			}
		}
	})
}

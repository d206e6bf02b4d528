package nursery_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/store"
)

const dayHeader = "stand,collected_on,stems_cut,cuttings,collected_by,stuck_on,bench,record_number\n"

func TestADaySheetIsLoggedWhole(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		sheet := []byte(dayHeader +
			"TB-02,2026-02-01,4,12,RQ,,,\n" +
			"tb-01,2026-02-01,8,24,OP,2026-02-02,B2,T-1\n" +
			"TB-02,2026-02-01,4,12,RQ,,,T-1\n" +
			"TB-02,2026-01-31,4,12,RQ,,,T-1\n")
		view, err := h.LogDay(h.ctx, keyed("a"), sheet)
		must(h, view, err)
		var codes []string
		for _, b := range view.Batches {
			codes = append(codes, b.Code)
		}
		if want := []string{"TB-02-2026-1", "TB-01-2026-1", "TB-02-2026-2", "TB-02-2026-3"}; !slices.Equal(codes, want) {
			h.t.Errorf("the batches are %q, want %q", codes, want)
		}
		h.warned(view.Batches[2].Warnings, "as batch TB-02-2026-1")
		if *view.Batches[2].StandFraction != 0.01 || view.Batches[1].Counts.Stuck != 24 {
			h.t.Errorf("%+v", view.Batches)
		}
		again, err := h.LogDay(h.ctx, keyed("a"), sheet)
		h.sameJSON("sent again", view, must(h, again, err))
		_, err = h.LogDay(h.ctx, keyed("a"), append(sheet, '\n'))
		h.refused(err, models.Conflict, "key-reused")
		if stems, lines := h.ledger("TB-02"); stems != 12 || lines != 3 {
			h.t.Errorf("%d stems in %d lines", stems, lines)
		}
	})
}

func TestADaySheetWithProblemsIsNotLoggedAtAll(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		_, err := h.LogDay(h.ctx, keyed("a"), []byte(dayHeader+
			"TB-01,2026-02-01,4,12,RQ,,,T-1\n"+ // good
			"TB-03,2026-02-01,4,-12,RQ,,,\n"+ // no such stand, and more
			"TB-01,2026-02-01,four,12,RQ,,,\n"+
			"TB-01,2026-02-01,5,12,,,,T-1\n"+ // nobody, and it is told before the tag
			"TB-01,2026-02-01,6,12,RQ,,,T-1\n"+ // the tag of line 2
			"TB-01,2026-02-01\n"+
			"TB-02,2026-02-01,41,99,RQ,,,\n"+ // over the allowance
			"TB-02,2026-02-01,4,12,RQ,2026-01-31,B2,\n"))
		e := h.refused(err, models.Unknown, "unknown-stand", "no row of the day sheet was entered")
		var lines []string
		for _, f := range e.Fields {
			lines = append(lines, f.Name)
		}
		want := []string{"line 3: stand", "line 3: cuttings", "line 4: stems_cut", "line 5: collected_by", "line 6: record_number", "line 7: row", "line 8: stems_cut", "line 9: stuck_on"}
		if !slices.Equal(lines, want) {
			h.t.Errorf("told are %q, want %q", lines, want)
		}
		for _, stand := range []string{"TB-01", "TB-02"} {
			if _, lines := h.ledger(stand); lines != 0 {
				h.t.Errorf("%d lines of %s were entered", lines, stand)
			}
		}
		must1(h, func() (models.DayView, error) {
			return h.LogDay(h.ctx, keyed("a"), []byte(dayHeader+"TB-01,2026-02-01,4,12,RQ,,,T-1\n")) // what was refused holds no key
		})
	})
}

func TestRowsThatOnlyTogetherAreTooMuch(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		_, err := h.LogDay(h.ctx, unkeyed, []byte(dayHeader+
			"TB-01,2026-02-01,30,90,RQ,,,\n"+
			"TB-01,2026-02-02,11,33,RQ,,,\n"+
			"TB-01,2026-01-20,10,30,RQ,,,\n"+
			"TB-01,2026-01-20,1,3,RQ,,,\n"))
		e := h.refused(err, models.Refused, "over-allowance", "30 of 40 stems")
		if *e.Allowed != 10 || e.Binding.Code != "stand" || len(e.Fields) != 2 || e.Fields[0].Name != "line 3: stems_cut" || e.Fields[1].Name != "line 5: stems_cut" {
			h.t.Errorf("%+v", e)
		}
		if _, lines := h.ledger("TB-01"); lines != 0 {
			h.t.Errorf("%d lines were entered", lines)
		}
	})
}

func TestALongDaySheet(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02", "TB-03")
		var sheet strings.Builder
		sheet.WriteString(dayHeader)
		for i := range 120 {
			fmt.Fprintf(&sheet, "TB-0%d,2026-02-%02d,1,3,RQ,,,T-%d\n", 1+i%3, 1+i%28, i)
		}
		view, err := h.LogDay(h.ctx, unkeyed, []byte(sheet.String()))
		if must(h, view, err); len(view.Batches) != 120 {
			h.t.Errorf("%d batches", len(view.Batches))
		}
		for _, stand := range []string{"TB-01", "TB-02", "TB-03"} {
			if stems, _ := h.ledger(stand); stems != 40 {
				h.t.Errorf("%d stems of %s", stems, stand)
			}
		}
		_, err = h.LogDay(h.ctx, unkeyed, []byte("stand,stems\nTB-01,4\n"))
		h.refused(err, models.Invalid, "unknown-column")
		_, err = h.LogDay(h.ctx, unkeyed, nil)
		h.refused(err, models.Malformed, "malformed")
	})
}

// A sheet takes as many statements for fifty rows as for one, also where every
// row names a stand that is not there.
func TestADaySheetTakesOneNumberOfStatements(t *testing.T) {
	each(t, func(h *house) {
		codes := make([]string, 50)
		for i := range codes {
			codes[i] = fmt.Sprintf("TB-%02d", i+1)
		}
		h.counted(codes...)
		goodRow := func(i int) string {
			return fmt.Sprintf("TB-%02d,2026-02-%02d,1,3,RQ,2026-02-28,B2,\n", 1+i%50, 1+i%28)
		}
		strayRow := func(i int) string { return fmt.Sprintf("QX-%02d,2026-02-01,1,3,RQ,,,\n", 1+i%50) }
		if few, many := h.sheetStatements(1, goodRow), h.sheetStatements(50, goodRow); few != many || few == 0 {
			h.t.Errorf("one row takes %d statements and fifty %d", few, many)
		}
		if few, many := h.sheetStatements(1, strayRow), h.sheetStatements(50, strayRow); few != many {
			h.t.Errorf("one stray row takes %d statements and fifty %d", few, many)
		}
	})
}

// sheetStatements counts the statements of a sheet of n rows.
func (h *house) sheetStatements(n int, row func(i int) string) (taken int) {
	h.t.Helper()
	sheet := dayHeader
	for i := range n {
		sheet += row(i)
	}
	view, err := h.LogDay(store.Watch(h.ctx, func(string) { taken++ }), unkeyed, []byte(sheet))
	if e := models.AsError(err); err != nil && (e == nil || e.Code != "unknown-stand" || len(e.Fields) != n) {
		h.t.Fatal(err)
	}
	if err == nil && len(view.Batches) != n {
		h.t.Errorf("%d batches of %d rows", len(view.Batches), n)
	}
	return taken
}

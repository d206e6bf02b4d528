package cli

import (
	"strings"
	"testing"

	"charm.land/lipgloss/v2"
	"github.com/charmbracelet/x/ansi"
	"pgregory.net/rapid"

	"withybed/models/documents"
)

func TestTable(t *testing.T) {
	got := layTable([]column{col("BATCH"), numCol("COUNT"), textCol("WHY")}, [][]string{
		{"MB-03-2026-7", "4", "rotted since the last look, more than a fifth of it"},
		{"MB-03-2026-12", "120", "fine"},
	}, 50, false)
	want := `BATCH          COUNT  WHY
MB-03-2026-7       4  rotted since the last look,
                      more than a fifth of it
MB-03-2026-12    120  fine
`
	if got != want {
		t.Errorf("\n%s not\n%s", got, want)
	}
}

// Whatever stands in a table, it keeps the width that its codes and numbers
// leave it, breaks none of them, and says the same with colour as without.
func TestTablesFit(t *testing.T) {
	columns := []column{col("BATCH"), numCol("COUNT"), textCol("TAXON"), textCol("WHY")}
	rapid.Check(t, func(t *rapid.T) {
		row := rapid.Custom(func(t *rapid.T) []string {
			return []string{
				rapid.StringMatching(`[A-Z]{2}-[0-9]{2}-2026-[0-9]{1,3}`).Draw(t, "batch"),
				rapid.StringMatching(`[0-9]{1,8}`).Draw(t, "count"),
				rapid.StringMatching(`[A-Zé][a-z]{2,10} [a-z]{2,12}`).Draw(t, "taxon"),
				rapid.StringMatching(`([a-zé,]{1,11} ){0,20}[a-z]{1,9}`).Draw(t, "why"),
			}
		})
		rows := rapid.SliceOfN(row, 1, 6).Draw(t, "rows")
		width := rapid.IntRange(60, 140).Draw(t, "width")
		plainly := layTable(columns, rows, width, false)
		for line := range strings.Lines(plainly) {
			if lipgloss.Width(strings.TrimRight(line, "\n")) > width {
				t.Fatalf("%q is wider than %d", line, width)
			}
		}
		for _, row := range rows {
			if !strings.Contains(plainly, row[0]) || !strings.Contains(plainly, row[1]) {
				t.Fatalf("%q is broken in\n%s", row, plainly)
			}
		}
		if coloured := ansi.Strip(layTable(columns, rows, width, true)); trimLines(coloured) != plainly {
			t.Fatalf("colour changes what is said:\n%s\n%s", coloured, plainly)
		}
	})
}

func TestPlainKeepsTerminalsSafe(t *testing.T) {
	if got := documents.Printable("a\x1b[2Jb\tc\u009bd\ne"); got != "a\uFFFD[2Jb\uFFFDc\uFFFDd\ne" {
		t.Errorf("%q", got)
	}
	laid := layTable([]column{textCol("NOTE")}, [][]string{{"one\ntwo\x07"}}, 80, false)
	if laid != "NOTE\none two\uFFFD\n" {
		t.Errorf("%q", laid)
	}
}

func TestColour(t *testing.T) {
	for _, c := range []struct {
		env  Env
		want bool
	}{
		{Env{Width: 80}, true},
		{Env{}, false},
		{Env{Width: 80, Vars: map[string]string{"NO_COLOR": "1"}}, false},
		{Env{Width: 80, Vars: map[string]string{"TERM": "dumb"}}, false},
	} {
		if got := c.env.coloured(); got != c.want {
			t.Errorf("%+v is coloured: %t", c.env, got)
		}
	}
}

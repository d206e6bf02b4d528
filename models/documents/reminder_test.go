package documents_test

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/documents"
)

var rewrite = flag.Bool("rewrite", false, "write the golden texts anew")

func day(text string) models.Date { return models.MustDate(text) }

// fullReminder says something in every part.
func fullReminder() models.Reminder {
	due := func(flag models.Flag, batch, taxon, bench string, count int, urgent bool, since, reason string) models.DueItem {
		return models.DueItem{
			Batch: batch, Taxon: taxon, Flag: flag, Reason: reason,
			Bench: bench, Count: count, Urgent: urgent, Since: day(since),
		}
	}
	return models.Reminder{
		Week: day("2026-02-09"), On: day("2026-02-10"), CoversFrom: day("2026-01-26"), Scheduled: true,
		Body: models.Notices{
			Review: []models.ReviewNotice{{
				Batch: "MB-03-2026-7",
				Text:  "14 stems cut at MB-03 on 2026-01-31 by RQ; recorded against a rule: 50 of 50 stems are taken; reason: two crews cut on the same morning",
			}},
			PotUp: []models.DueItem{
				due(models.FlagPotUp, "TR-01-2026-2", "Physocarpus capitatus", "", 1, false, "2026-02-09", "1 of 2 live cuttings had potting roots on 2026-02-09, 50 %: a tray is potted up from 50 %"),
				due(models.FlagPotUp, "MB-03-2026-2", "Cornus sericea", "B2", 36, false, "2026-02-07", "36 of 72 live cuttings had potting roots on 2026-02-07, 50 %: a tray is potted up from 50 %"),
				due(models.FlagPotUp, "MB-03-2026-1", "Cornus sericea", "B2", 40, true, "2026-02-07", "4 of 72 live cuttings looked at on 2026-02-07 had roots that are too long already: pot up now"),
				due(models.FlagPotUp, "HS-02-2026-1", "Populus trichocarpa", "B1", 30, false, "2026-02-07", "30 rooted cuttings in medium have waited"),
			},
			Due: []models.DueItem{
				due(models.FlagSoak, "HS-02-2026-4", "Salix scouleriana", "", 50, true, "2026-02-05", "50 cuttings in soak since 2026-01-24, 17 days of at most 14 for dormant willow and cottonwood: take them out now"),
				due(models.FlagCheck, "MB-04-2026-1", "Symphoricarpos albus", "B1", 60, false, "2026-02-09", "last looked at on 2026-01-26, 15 days ago: in medium a look is due every 14 days"),
			},
			Coming: []models.DueItem{
				due(models.FlagDecide, "MB-04-2025-9", "Lonicera involucrata", "B3", 12, false, "2026-02-14", "12 cuttings unrooted after 85 days in the warm"),
			},
			Stands: []models.StandNotice{
				{Stand: "MB-03", Name: "Mallow Bend, upper bank", Text: "50 of 50 stems are taken in the 350 days to 2026-02-10, 100 %: none is left", Crossed: true},
				{Stand: "TR-01", Name: "Wrenlow Road", Text: "42 of 50 stems are taken in the 350 days to 2026-02-10, 84 %: within the count 8 are left"},
			},
			Expiring: []models.StandNotice{
				{Stand: "HS-02", Name: "Heron Slough", Text: "the survey of 2024-10-20 is good to 2026-03-04, 22 days more: count the stand before cutting after that", Crossed: true},
			},
			Permits: []models.PermitNotice{
				{Permit: "WV-2026-12", EndsOn: day("2026-03-31"), Text: "permit WV-2026-12 of Wrenlow Valley Parks ends on 2026-03-31, in 49 days, with 24 of 200 stems left. It covers MB-03, TR-01"},
				{Permit: "SR-4", EndsOn: day("2026-02-06"), Text: "the consent SR-4 of the Sedge River people ended on 2026-02-06: ask them again before you cut", Crossed: true},
			},
		},
	}
}

func TestReminderText(t *testing.T) {
	week := models.Reminder{Week: day("2026-02-09"), On: day("2026-02-09"), CoversFrom: day("2026-02-09")}
	checks := week
	checks.Body.Due = fullReminder().Body.Due[1:]
	cases := []struct {
		name     string
		reminder models.Reminder
		width    int
	}{
		{"full", fullReminder(), 80},
		{"narrow", fullReminder(), 1}, // no less than 40
		{"checks", checks, 0},
		{"empty", week, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			wantGolden(t, "reminder-"+c.name+".txt", documents.ReminderText("Wrenlow Valley Native Plants", c.reminder, c.width))
		})
	}
}

func wantGolden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *rewrite {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s:\n%s\nwant:\n%s", name, got, want)
	}
}

// TestReminderTextLosesNothing wants every word of every notice in the text, and
// no line beyond the width but one long word.
func TestReminderTextLosesNothing(t *testing.T) {
	word := rapid.StringMatching(`[a-zäß0-9]{1,30}`)
	sentence := rapid.Custom(func(t *rapid.T) string {
		return strings.Join(rapid.SliceOfN(word, 1, 30).Draw(t, "words"), " ")
	})
	rapid.Check(t, func(t *rapid.T) {
		r := fullReminder()
		width := rapid.IntRange(40, 120).Draw(t, "width")
		reason, notice := sentence.Draw(t, "reason"), sentence.Draw(t, "notice")
		r.Body.Due[0].Reason, r.Body.Stands[0].Text = reason, notice
		text := documents.ReminderText("Wrenlow Valley", r, width)
		for _, line := range strings.Split(text, "\n") {
			if utf8.RuneCountInString(line) > width && strings.Contains(strings.TrimSpace(line), " ") {
				t.Fatalf("%q is wider than %d", line, width)
			}
			if strings.TrimRight(line, " ") != line {
				t.Fatalf("%q ends in a space", line)
			}
		}
		flat := strings.Join(strings.Fields(text), " ")
		for _, part := range []string{reason, notice, r.Body.Review[0].Batch, r.Body.Coming[0].Reason} {
			if !strings.Contains(flat, part) {
				t.Fatalf("the text lacks %q", part)
			}
		}
	})
}

func TestReviewNotice(t *testing.T) {
	r := &models.BatchRecord{Batch: models.Batch{
		Code: "MB-03-2026-7", StemsCut: 14, CollectedOn: day("2026-01-31"), CollectedBy: "RQ",
		RefusedBy: "50 of 50 stems are taken.", Reason: "two crews cut on the same morning",
	}, Stand: "MB-03"}
	want := "14 stems cut at MB-03 on 2026-01-31 by RQ; recorded against a rule: 50 of 50 stems are taken; reason: two crews cut on the same morning"
	if got := documents.ReviewNotice(r); got.Batch != r.Code || got.Text != want {
		t.Errorf("%+v, want %q", got, want)
	}
	r.Reviews = []models.Review{{Reason: "count again"}}
	if got := documents.ReviewNotice(r); got.Text != want+"; still open: count again" {
		t.Errorf("after a review: %q", got.Text)
	}
	r.StemsCut, r.CollectedBy, r.Reviews[0].Accepted = 1, "", true
	if got := documents.ReviewNotice(r); !strings.HasPrefix(got.Text, "1 stem cut at MB-03 on 2026-01-31; recorded") {
		t.Errorf("one stem, nobody named: %q", got.Text)
	}
}

package rules_test

import (
	"testing"

	"withybed/models"
	"withybed/models/rules"
)

// potOn is the pot up flag of a day in short, or empty.
func potOn(t *testing.T, r *models.BatchRecord, on string) string {
	t.Helper()
	if item := find(dueOn(t, r, on), models.FlagPotUp); item != nil {
		return short(*item)
	}
	return ""
}

func TestPotUp(t *testing.T) {
	tray := func(changes ...change) *models.BatchRecord {
		return batchWith(append([]change{stuck("2026-01-18")}, changes...)...)
	}
	jar := func(changes ...change) *models.BatchRecord {
		return batchWith(append([]change{stuck("2026-01-18", water)}, changes...)...)
	}
	cases := []struct {
		name  string
		batch *models.BatchRecord
		on    string
		want  string
	}{
		{"35 of 72 are not half", tray(looked("2026-02-07", 40, 35)), "2026-02-07", ""},
		{"36 are", tray(looked("2026-02-07", 40, 36)), "2026-02-07", "pot_up 36 since 2026-02-07"},
		{"of the live ones, not of those stuck", tray(lostThen("2026-02-07", 40, 30, 12)), "2026-02-07", "pot_up 30 since 2026-02-07"},
		{"overlong ones are ready and urgent", tray(looked("2026-02-07", 40, 36, 4)), "2026-02-07", "pot_up 36 since 2026-02-07 urgent"},
		{"and do not wait for the others", tray(looked("2026-02-07", 40, 5, 1)), "2026-02-07", "pot_up 5 since 2026-02-07 urgent"},
		{"the next look says otherwise", tray(looked("2026-02-07", 40, 36), looked("2026-02-08", 40, 30)), "2026-02-08", ""},

		{"ungraded, thirteen days after found", tray(looked("2026-02-07", 40)), "2026-02-20", ""},
		{"ungraded, fourteen", tray(looked("2026-02-07", 40)), "2026-02-21", "pot_up 40 since 2026-02-21"},
		{"ungraded in water, six", jar(looked("2026-01-28", 40)), "2026-02-03", ""},
		{"ungraded in water, seven", jar(looked("2026-01-28", 40)), "2026-02-04", "pot_up 40 since 2026-02-04"},
		{"graded unready do not ripen", tray(looked("2026-02-07", 40, 30)), "2026-02-21", ""},
		{"ripe ones of two looks add up", tray(looked("2026-02-01", 20), looked("2026-02-07", 36)), "2026-02-21", "pot_up 36 since 2026-02-21"},
		{"a look that does not examine roots grades nothing", tray(looked("2026-02-07", 40, 36), looked("2026-02-08")), "2026-02-08", "pot_up 36 since 2026-02-07"},

		{"half of those examined", tray(looked("2026-02-01", 40, 0), examined("2026-02-07", 10, 6, 5)), "2026-02-07", "pot_up 36 since 2026-02-07"},
		{"less than half of those", tray(looked("2026-02-01", 40, 0), examined("2026-02-07", 10, 6, 4)), "2026-02-07", ""},
		{"half of an odd tray", tray(lostThen("2026-02-01", 40, 0, 3), examined("2026-02-07", 10, 6, 5)), "2026-02-07", "pot_up 35 since 2026-02-07"},
		{"examined before any was known to be rooted", tray(examined("2026-02-07", 10, 6, 5)), "2026-02-07", "pot_up 36 since 2026-02-07"},

		{"waited 41 days since none were rooted", tray(looked("2026-02-01", 0), looked("2026-02-15", 20, 0)), "2026-03-14", ""},
		{"waited 42", tray(looked("2026-02-01", 0), looked("2026-02-15", 20, 0)), "2026-03-15", "pot_up 20 since 2026-03-15"},
		{"42 since sticking", tray(looked("2026-02-15", 20, 0)), "2026-03-01", "pot_up 20 since 2026-03-01"},
		{"found later than that, since found", tray(looked("2026-03-10", 20, 0)), "2026-03-10", "pot_up 20 since 2026-03-10"},
		{"waited 20 days in water", jar(looked("2026-01-25", 20, 0)), "2026-02-07", ""},
		{"waited 21 in water", jar(looked("2026-01-25", 20, 0)), "2026-02-08", "pot_up 20 since 2026-02-08"},
		{"none rooted, none waited", tray(looked("2026-02-01", 0)), "2026-12-31", ""},

		{"potted, it clears itself", tray(looked("2026-02-07", 40, 36), potted("2026-02-08", 36)), "2026-02-08", ""},
		{"the rest waits for its own days", tray(looked("2026-02-01", 20, 20), looked("2026-02-15", 40, 36), potted("2026-02-16", 20)), "2026-02-16", ""},
		{"closed", tray(looked("2026-02-07", 40, 36), decided("2026-02-08", models.CloseBatch, "")), "2026-02-08", ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got := potOn(t, c.batch, c.on); got != c.want {
				t.Errorf("on %s: %q, want %q", c.on, got, c.want)
			}
		})
	}
}

// lostThen is a look after which fewer are left, graded.
func lostThen(on string, rooted, ready, gone int) change {
	return func(r *models.BatchRecord) {
		c := checkOf(r, on, []int{rooted, ready})
		c.Lost = models.Losses{models.Dried: gone}
		c.LostRooted = models.Losses{}
		r.Checks = append(r.Checks, c)
	}
}

func TestDirectStuckIsNeverPottedUp(t *testing.T) {
	r := batchWith(purpose(models.DirectStick), stuck("2026-01-18"), looked("2026-02-07", 72, 72, 9))
	for d := day("2026-02-07"); d.Before(day("2026-08-01")); d = d.Add(1) {
		if got := potOn(t, r, d.String()); got != "" {
			t.Fatalf("on %s: %s", d, got)
		}
	}
	if find(dueOn(t, r, "2026-02-21"), models.FlagCheck) == nil {
		t.Error("direct-stuck cuttings are still looked at")
	}
}

func TestReadyShareIsExact(t *testing.T) {
	set := rules.DefaultSettings()
	for _, c := range []struct {
		share       string
		ready, live int
		want        bool
	}{
		{"0.29", 29, 100, true}, {"0.29", 28, 100, false}, {"0.07", 7, 100, true},
		{"1", 71, 72, false}, {"1", 72, 72, true}, {"0.0001", 1, 72, true},
	} {
		set.Thresholds.ReadyShare = models.MustDecimal(c.share)
		r := batchWith(func(r *models.BatchRecord) { r.Cuttings = c.live }, stuck("2026-01-18"), looked("2026-02-07", c.ready, c.ready))
		due := find(rules.Flags(r, tell(t, r, day("2026-02-07")), set), models.FlagPotUp) != nil
		if due != c.want {
			t.Errorf("%d ready of %d at a share of %s: due is %v", c.ready, c.live, c.share, due)
		}
	}
}

func TestReasonsOfPotting(t *testing.T) {
	tray := func(changes ...change) *models.BatchRecord {
		return batchWith(append([]change{stuck("2026-01-18")}, changes...)...)
	}
	cases := []struct {
		batch *models.BatchRecord
		on    string
		want  string
	}{
		{tray(looked("2026-02-07", 40, 36)), "2026-02-09",
			"36 of 72 live cuttings had potting roots on 2026-02-07, 50 %: a tray is potted up from 50 %"},
		{tray(examined("2026-02-07", 10, 6, 5)), "2026-02-07",
			"5 of 10 cuttings examined had potting roots on 2026-02-07, 50 %: a tray is potted up from 50 %"},
		{tray(looked("2026-02-07", 40)), "2026-02-21",
			"40 of 72 live cuttings found rooted 14 days ago or longer, 55 %: a tray is potted up from 50 %"},
		{tray(looked("2026-02-07", 20, 20), examined("2026-02-08", 10), looked("2026-02-09", 40, 36, 3)), "2026-02-09",
			"3 of 72 live cuttings looked at on 2026-02-09 had roots that are too long already: pot up now"},
		{tray(looked("2026-02-15", 20, 0)), "2026-03-02",
			"20 rooted cuttings in medium, the first found on 2026-02-15 and rooted at some time after 2026-01-18, 43 days ago: they wait at most 42 days"},
	}
	for _, c := range cases {
		got := find(dueOn(t, c.batch, c.on), models.FlagPotUp)
		if got == nil || got.Reason != c.want {
			t.Errorf("on %s: %+v, want the reason %q", c.on, got, c.want)
		}
	}
}

// TestGradedAndRipeTogether needs a story that no entries of today's kinds make:
// some graded, others found since without a grade.
func TestGradedAndRipeTogether(t *testing.T) {
	r := batchWith(stuck("2026-01-18"))
	story := tell(t, r, day("2026-02-24"))
	story.Tally.Unrooted, story.Tally.Rooted = 32, 40
	story.Grade = &rules.Grade{On: day("2026-02-01"), Live: 72, Rooted: 20, Ready: 20}
	story.Tray = []rules.Found{
		{After: day("2026-01-18"), By: day("2026-02-01"), Count: 20},
		{After: day("2026-02-01"), By: day("2026-02-10"), Count: 20},
	}
	got := find(rules.Flags(r, story, rules.DefaultSettings()), models.FlagPotUp)
	want := "20 of 72 live cuttings had potting roots on 2026-02-01, and 20 more found rooted 14 days ago or longer, together 55 %: a tray is potted up from 50 %"
	if got == nil || got.Reason != want || got.Count != 40 || got.Since != day("2026-02-24") {
		t.Errorf("%+v, want 40 since 2026-02-24, %q", got, want)
	}
}

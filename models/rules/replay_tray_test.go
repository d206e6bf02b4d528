package rules

import (
	"strconv"
	"testing"

	"github.com/google/go-cmp/cmp"

	"withybed/models"
)

func itoa(n int) string { return strconv.Itoa(n) }

// wantBalance checks both equations of the tally and what hangs together with it.
func wantBalance(t failer, s *Story) {
	t.Helper()
	c := s.Tally
	if sum := c.Waiting() + c.LostWaiting + c.Used + c.ToSisters + c.Stuck; sum != c.Made {
		t.Fatalf("%d made, but %d have a place: %+v", c.Made, sum, c)
	}
	if sum := c.Unrooted + c.Rooted + c.LostUnrooted + c.Withdrawn + c.LostRooted + c.Potted; sum != c.Stuck {
		t.Fatalf("%d stuck, but %d have a place: %+v", c.Stuck, sum, c)
	}
	if c.EverRooted != c.Rooted+c.Potted+c.LostRooted {
		t.Fatalf("ever rooted does not add up: %+v", c)
	}
	if lost := c.LostWaiting + c.LostUnrooted + c.LostRooted; c.LostByCause.Sum() != lost {
		t.Fatalf("%d lost, but by cause %v", lost, c.LostByCause)
	}
	for _, n := range []int{c.InHand, c.Soaking, c.Refrigerator, c.ColdStore, c.LostWaiting, c.Used, c.ToSisters, c.Unrooted, c.Rooted,
		c.LostUnrooted, c.LostRooted, c.Withdrawn, c.Potted, c.PottingRoots, c.UnrootedAtEnd} {
		if n < 0 {
			t.Fatalf("a count is below zero: %+v", c)
		}
	}
	wantFound(t, s)
	wantGrade(t, s)
}

type failer interface {
	Helper()
	Fatalf(format string, args ...any)
}

func wantFound(t failer, s *Story) {
	t.Helper()
	found, inTray := 0, 0
	for _, f := range s.Found {
		found += f.Count
		if !f.After.Before(f.By) {
			t.Fatalf("found between %s and %s, which is no time at all", f.After, f.By)
		}
	}
	for _, f := range s.Tray {
		inTray += f.Count
		if f.Count < 1 {
			t.Fatalf("an empty row in the tray: %v", s.Tray)
		}
	}
	if found != s.Tally.EverRooted || inTray != s.Tally.Rooted {
		t.Fatalf("found %d of %d ever rooted, %d of %d rooted in the tray", found, s.Tally.EverRooted, inTray, s.Tally.Rooted)
	}
}

func wantGrade(t failer, s *Story) {
	t.Helper()
	g := s.Grade
	if s.Tally.PottingRoots > s.Tally.Rooted {
		t.Fatalf("%d with potting roots of %d rooted", s.Tally.PottingRoots, s.Tally.Rooted)
	}
	if g == nil {
		return
	}
	if g.Overlong < 0 || g.Overlong > g.Ready || g.Ready > g.Rooted || g.Rooted > g.Live {
		t.Fatalf("a grade that cannot be: %+v", *g)
	}
	if !g.Partial && (g.Live != s.Tally.Live() || g.Rooted != s.Tally.Rooted || g.Ready != s.Tally.PottingRoots) {
		t.Fatalf("the grade %+v does not fit the tray %+v", *g, s.Tally)
	}
}

// trayTally is the part of a tally that a check moves.
type trayTally struct{ Unrooted, Rooted, LostUnrooted, LostRooted, Withdrawn, Potted, Ever int }

func trayOn(t testing.TB, r *models.BatchRecord) trayTally {
	c := storyOn(t, r, lateDay).Tally
	return trayTally{c.Unrooted, c.Rooted, c.LostUnrooted, c.LostRooted, c.Withdrawn, c.Potted, c.EverRooted}
}

// rootedBatch is 72 stuck, of which 30 rooted and 40 unrooted stand in the tray
// on 1 February.
func rootedBatch(t testing.TB) *models.BatchRecord {
	return mustEnter(t, dogwoodBatch(), stickingOn("2026-01-18", 72),
		lookOn("2026-02-01", 30, models.Losses{models.RottedBase: 2}))
}

func TestChecksMoveTheTray(t *testing.T) {
	lost := func(n int) models.Losses { return models.Losses{models.RottedBase: n} }
	given := func(l models.Losses) *models.Losses { return &l }
	on := dayOf("2026-02-15")
	cases := []struct {
		name string
		req  models.NewCheck
		want trayTally
	}{
		{"nothing new", models.NewCheck{Rooted: countOf(30)}, trayTally{40, 30, 2, 0, 0, 0, 30}},
		{"more rooted", models.NewCheck{Rooted: countOf(35)}, trayTally{35, 35, 2, 0, 0, 0, 35}},
		{"more rooted, some lost", models.NewCheck{Rooted: countOf(35), Lost: lost(3)}, trayTally{32, 35, 5, 0, 0, 0, 35}},
		{"unrooted balances", models.NewCheck{Rooted: countOf(35), Lost: lost(3), Unrooted: countOf(32)}, trayTally{32, 35, 5, 0, 0, 0, 35}},
		{"some withdrawn", models.NewCheck{Rooted: countOf(35), Withdrawn: 4, Unrooted: countOf(31)}, trayTally{31, 35, 2, 0, 4, 0, 35}},
		{"a shortfall comes out of the lost", models.NewCheck{Rooted: countOf(28), Lost: lost(3)}, trayTally{39, 28, 3, 2, 0, 0, 30}},
		{"all the lost were rooted", models.NewCheck{Rooted: countOf(27), Lost: lost(3)}, trayTally{40, 27, 2, 3, 0, 0, 30}},
		{"lost rooted ones given", models.NewCheck{Rooted: countOf(28), Lost: lost(3), LostRooted: given(lost(5))}, trayTally{34, 28, 5, 5, 0, 0, 33}},
		{"given as none", models.NewCheck{Rooted: countOf(30), Lost: lost(3), LostRooted: given(models.Losses{})}, trayTally{37, 30, 5, 0, 0, 0, 30}},
		{"rooted and lost since", models.NewCheck{Rooted: countOf(0), LostRooted: given(lost(33))}, trayTally{37, 0, 2, 33, 0, 0, 33}},
		{"roots not examined", models.NewCheck{Lost: lost(3), LostRooted: given(lost(1)), Withdrawn: 2}, trayTally{35, 29, 5, 1, 2, 0, 30}},
		{"roots not examined, unrooted balances", models.NewCheck{Lost: lost(3), Unrooted: countOf(37)}, trayTally{37, 30, 5, 0, 0, 0, 30}},
		{"nothing counted", models.NewCheck{Note: "looks well"}, trayTally{40, 30, 2, 0, 0, 0, 30}},
		{"a part of the tray", models.NewCheck{Examined: countOf(10), Rooted: countOf(6), Lost: lost(2), Withdrawn: 1}, trayTally{40, 30, 2, 0, 0, 0, 30}},
		{"all dead", models.NewCheck{Rooted: countOf(0), Unrooted: countOf(0), Lost: lost(70)}, trayTally{0, 0, 42, 30, 0, 0, 30}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			c.req.CheckedOn = on
			r := mustEnter(t, rootedBatch(t), c.req)
			if diff := cmp.Diff(c.want, trayOn(t, r)); diff != "" {
				t.Error(diff)
			}
			wantBalance(t, storyOn(t, r, lateDay))
		})
	}
}

func TestChecksThatDoNotBalance(t *testing.T) {
	lost := models.Losses{models.RottedBase: 3}
	cases := []struct {
		name  string
		req   models.NewCheck
		code  string
		words []string
	}{
		{"unrooted does not fit", models.NewCheck{Rooted: countOf(32), Unrooted: countOf(30), Lost: lost}, "unbalanced",
			[]string{"unrooted does not balance: 32 rooted + 30 unrooted + 3 lost make 65, but 70 stood in the tray on 2026-02-01"}},
		{"withdrawn counts", models.NewCheck{Rooted: countOf(32), Unrooted: countOf(36), Withdrawn: 3}, "unbalanced",
			[]string{"32 rooted + 36 unrooted + 0 lost + 3 withdrawn make 71, but 70 stood"}},
		{"more rooted than stood", models.NewCheck{Rooted: countOf(68), Lost: lost}, "unbalanced",
			[]string{"rooted does not balance: 68 rooted + 3 lost make 71, but 70 stood in the tray on 2026-02-01"}},
		{"roots not examined", models.NewCheck{Unrooted: countOf(40), Lost: lost}, "unbalanced",
			[]string{"40 unrooted + 3 lost make 43, but 40 unrooted stood"}},
		{"more unrooted lost than stood", models.NewCheck{Lost: models.Losses{models.Heat: 41}}, "unbalanced",
			[]string{"lost does not balance: 41 lost is 41, but 40 unrooted stood"}},
		{"more rooted lost than stood", models.NewCheck{LostRooted: &models.Losses{models.Heat: 31}}, "too-many-cuttings",
			[]string{"lost_rooted is 31", "only 30 rooted"}},
		{"rooted ones vanish", models.NewCheck{Rooted: countOf(26), Lost: lost}, "ever-rooted-falls",
			[]string{"rooted is 26", "with 3 lost", "leaves 1 of the 30"}},
		{"with lost rooted ones given", models.NewCheck{Rooted: countOf(28), Lost: lost, LostRooted: &models.Losses{}}, "ever-rooted-falls",
			[]string{"with 0 lost", "leaves 2 of the 30"}},
		{"more examined than live", models.NewCheck{Examined: countOf(71)}, "too-many-cuttings", []string{"examined is 71", "70 live"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			c.req.CheckedOn = dayOf("2026-02-15")
			_, err := enterInto(rootedBatch(t), c.req)
			wantRefusal(t, err, c.code, c.words...)
		})
	}
}

func TestOnTheDayOfSticking(t *testing.T) {
	r := mustEnter(t, dogwoodBatch(), stickingOn("2026-01-18", 72), lookOn("2026-01-18", 0, nil))
	if story := storyOn(t, r, lateDay); story.Checks != 1 || story.LastCheck != dayOf("2026-01-18") {
		t.Errorf("a look without counts is kept: %+v", story)
	}
}

func TestLosesByCause(t *testing.T) {
	r := mustEnter(t, rootedBatch(t), lookOn("2026-02-15", 28, models.Losses{models.Eaten: 2, models.RottedBase: 1, models.Frost: 0}),
		models.NewDecision{On: dayOf("2026-04-01"), Action: models.Discard})
	got := storyOn(t, r, lateDay).Tally
	want := models.Losses{models.RottedBase: 3, models.Eaten: 2, models.Discarded: 39}
	if diff := cmp.Diff(want, got.LostByCause); diff != "" {
		t.Error(diff)
	}
	if got.LostRooted != 2 || got.LostUnrooted != 42 || got.Unrooted != 0 {
		t.Errorf("got %+v", got)
	}
}

func TestPottingFindsRootedOnes(t *testing.T) {
	r := mustEnter(t, rootedBatch(t), pottingOn("2026-03-01", 33))
	if diff := cmp.Diff(trayTally{37, 0, 2, 0, 0, 33, 33}, trayOn(t, r)); diff != "" {
		t.Error(diff)
	}
	story := storyOn(t, r, lateDay)
	want := []Found{
		{After: dayOf("2026-01-18"), By: dayOf("2026-02-01"), Count: 30},
		{After: dayOf("2026-02-01"), By: dayOf("2026-03-01"), Count: 3},
	}
	if diff := cmp.Diff(want, story.Found, cmp.Comparer(sameDay)); diff != "" {
		t.Error(diff)
	}
	if len(story.Tray) != 0 || story.LastLook != dayOf("2026-03-01") || story.LastFull != dayOf("2026-02-01") {
		t.Errorf("got tray %v, last look %s, last full check %s", story.Tray, story.LastLook, story.LastFull)
	}
}

// A lift that comes before a later look, or after too many were lost, cannot be.
func TestLiftsThatCannotBe(t *testing.T) {
	lifted := func(day string, count int) models.Split {
		return models.Split{SplitOn: dayOf(day), Count: count, Source: models.FromTray, Entry: 9}
	}
	cases := []struct {
		name  string
		split models.Split
		code  string
		words string
	}{
		{"before sticking", lifted("2026-01-17", 1), "before-sticking", "2026-01-18"},
		{"more than are unrooted", lifted("2026-02-02", 41), "too-many-cuttings", "only 40 unrooted cuttings stood in the tray on 2026-02-01"},
		{"more than wait", models.Split{SplitOn: dayOf("2026-02-02"), Count: 1, Source: models.FromWaiting, Entry: 9}, "too-many-cuttings", "of 72 cuttings only 0"},
		{"before the sister's cuttings were there", lifted("2026-01-10", 1), "out-of-order", "begins on 2026-01-17"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := rootedBatch(t)
			r.Splits = append(r.Splits, c.split)
			_, err := Replay(r, lateDay)
			wantRefusal(t, err, c.code, c.words)
		})
	}
}

// A sister that was lifted later begins later, whenever its stems were cut.
func TestASisterBeginsWhenItWasSplitOff(t *testing.T) {
	r := dogwoodBatch()
	r.WaitingFrom = dayOf("2026-04-01")
	_, err := enterInto(r, stickingOn("2026-03-31", 72))
	wantRefusal(t, err, "out-of-order", "2026-04-01")
	mustEnter(t, r, stickingOn("2026-04-01", 72))
}

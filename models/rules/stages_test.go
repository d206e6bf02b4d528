package rules

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"withybed/models"
)

// lateDay is the today of tests that do not ask about it.
var lateDay = models.MustDate("2027-01-01")

func dayOf(text string) models.Date { return models.MustDate(text) }

func countOf(n int) *int { return &n }

// dogwoodBatch is 72 cuttings made on 17 January.
func dogwoodBatch() *models.BatchRecord {
	return &models.BatchRecord{Batch: models.Batch{
		Code: "MB-03-2026-7", CollectedOn: dayOf("2026-01-17"), WaitingFrom: dayOf("2026-01-17"),
		StemsCut: 24, Cuttings: 72, CollectedBy: "RQ", Kind: models.Hardwood, Version: 1,
	}}
}

// enterInto makes an entry of a request and adds it to a record, as a use case
// does.
func enterInto(r *models.BatchRecord, req any) ([]string, error) {
	var warnings []string
	var err error
	next := r.Version + 1
	switch req := req.(type) {
	case models.NewSticking:
		var s models.Sticking
		if s, warnings, err = Stick(r, req, lateDay); err == nil {
			s.Entry, r.Sticking = next, &s
		}
	case models.NewMove:
		var m models.Move
		if m, warnings, err = MoveCuttings(r, req, lateDay); err == nil {
			m.Entry = next
			r.Moves = append(r.Moves, m)
		}
	case models.NewCheck:
		var c models.Check
		if c, warnings, err = Check(r, req, lateDay); err == nil {
			c.Entry = next
			r.Checks = append(r.Checks, c)
		}
	case models.NewPotting:
		var k models.Potting
		if k, warnings, err = Pot(r, req, lateDay); err == nil {
			k.Entry = next
			r.Pottings = append(r.Pottings, k)
		}
	case models.NewSplit:
		var sisters []Sister
		if sisters, warnings, err = SplitArms(r, req, lateDay); err == nil {
			for i, s := range sisters {
				addSplit(r, &s, next, i)
			}
		}
	case models.NewDecision:
		var d models.Decision
		var sister *Sister
		if d, sister, warnings, err = Decide(r, req, lateDay); err == nil {
			d.Entry = next
			r.Decisions = append(r.Decisions, d)
			if sister != nil {
				addSplit(r, sister, next, 0)
			}
		}
	default:
		panic(fmt.Sprintf("no maker for %T", req))
	}
	if err == nil {
		r.Version = next
	}
	return warnings, err
}

func addSplit(r *models.BatchRecord, s *Sister, number, arm int) {
	split := s.Split
	split.Entry, split.ID = number, fmt.Sprintf("%d-%d", number, arm)
	r.Splits = append(r.Splits, split)
}

func mustEnter(t failer, r *models.BatchRecord, reqs ...any) *models.BatchRecord {
	t.Helper()
	for _, req := range reqs {
		if _, err := enterInto(r, req); err != nil {
			t.Fatalf("entering %T %+v: %v", req, req, err)
		}
	}
	return r
}

func storyOn(t testing.TB, r *models.BatchRecord, on models.Date) *Story {
	t.Helper()
	story, err := Replay(r, on)
	if err != nil {
		t.Fatalf("replaying to %s: %v", on, err)
	}
	return story
}

// wantRefusal checks the code of an error and that its sentence holds words.
func wantRefusal(t testing.TB, err error, code string, words ...string) {
	t.Helper()
	e := models.AsError(err)
	if e == nil {
		t.Fatalf("got error %v, want one of code %s", err, code)
	}
	if e.Code != code || e.Kind != models.Invalid {
		t.Fatalf("got %s/%s (%v), want invalid/%s", e.Kind, e.Code, e, code)
	}
	for _, w := range words {
		if !strings.Contains(e.Error(), w) {
			t.Errorf("%q does not say %q", e.Error(), w)
		}
	}
}

func stickingOn(day string, count int) models.NewSticking {
	return models.NewSticking{StuckOn: dayOf(day), Count: count}
}

func moveOn(day string, to models.MoveTo, count int) models.NewMove {
	m := models.NewMove{On: dayOf(day), To: to, Count: count}
	if to == models.ToLost {
		m.Cause = models.Dried
	}
	return m
}

func pottingOn(day string, count int) models.NewPotting {
	return models.NewPotting{PottedOn: dayOf(day), Count: count}
}

// lookOn is a check with rooted counts; rooted below 0 leaves the roots out.
func lookOn(day string, rooted int, lost models.Losses) models.NewCheck {
	c := models.NewCheck{CheckedOn: dayOf(day), Lost: lost}
	if rooted >= 0 {
		c.Rooted = &rooted
	}
	return c
}

func TestReplayOfNothing(t *testing.T) {
	story := storyOn(t, dogwoodBatch(), dayOf("2026-01-17"))
	want := []Wait{{Since: dayOf("2026-01-17"), Count: 72}}
	if diff := cmp.Diff(want, story.Waits, cmp.Comparer(sameDay)); diff != "" {
		t.Errorf("waits differ: %s", diff)
	}
	if story.Stage != models.StageCut || story.State != models.Open {
		t.Errorf("got stage %s and state %s", story.Stage, story.State)
	}
}

func sameDay(a, b models.Date) bool { return a == b }

func TestReplayStages(t *testing.T) {
	cases := []struct {
		name    string
		entries []any
		want    models.Stage
	}{
		{"in hand", nil, models.StageCut},
		{"some in hand", []any{moveOn("2026-01-17", models.ToSoak, 71)}, models.StageCut},
		{"soaking", []any{moveOn("2026-01-17", models.ToSoak, 72)}, models.StageSoaking},
		{"soaking and stored", []any{moveOn("2026-01-17", models.ToColdStore, 40), moveOn("2026-01-17", models.ToSoak, 32)}, models.StageSoaking},
		{"stored", []any{moveOn("2026-01-17", models.ToRefrigerator, 72)}, models.StageStored},
		{"used up", []any{moveOn("2026-01-17", models.ToUsed, 72)}, models.StageEmptied},
		{"stuck", []any{stickingOn("2026-01-18", 72)}, models.StageStuck},
		{"some rooted", []any{stickingOn("2026-01-18", 72), lookOn("2026-02-01", 1, nil)}, models.StageRooting},
		{"all potted", []any{stickingOn("2026-01-18", 72), pottingOn("2026-03-01", 72)}, models.StageEmptied},
		{"all potted, some in store", []any{moveOn("2026-01-17", models.ToColdStore, 2), stickingOn("2026-01-18", 70), pottingOn("2026-03-01", 70)}, models.StageStored},
		{"closed", []any{models.NewDecision{On: dayOf("2026-04-01"), Action: models.CloseBatch}}, models.StageEnded},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := mustEnter(t, dogwoodBatch(), c.entries...)
			if got := storyOn(t, r, lateDay).Stage; got != c.want {
				t.Errorf("got stage %s, want %s", got, c.want)
			}
		})
	}
}

func TestReplayStates(t *testing.T) {
	r := dogwoodBatch()
	r.AwaitsReview = true
	if got := storyOn(t, r, lateDay).State; got != models.ToReview {
		t.Errorf("got %s, want to_review", got)
	}
	mustEnter(t, r, models.NewDecision{On: dayOf("2026-04-01"), Action: models.CloseBatch})
	if got := storyOn(t, r, lateDay).State; got != models.Ended {
		t.Errorf("got %s, want closed", got)
	}
	if got := storyOn(t, r, dayOf("2026-03-31")).State; got != models.ToReview {
		t.Errorf("the day before the close: got %s, want to_review", got)
	}
}

func TestReplayAsOfADay(t *testing.T) {
	r := mustEnter(t, dogwoodBatch(), stickingOn("2026-01-18", 72),
		lookOn("2026-02-01", 12, models.Losses{models.RottedBase: 3}), pottingOn("2026-03-01", 10))
	cases := []struct {
		on                       string
		stuck, unrooted, rooted  int
		potted, everRooted, lost int
	}{
		{"2026-01-17", 0, 0, 0, 0, 0, 0},
		{"2026-01-18", 72, 72, 0, 0, 0, 0},
		{"2026-01-31", 72, 72, 0, 0, 0, 0},
		{"2026-02-01", 72, 57, 12, 0, 12, 3},
		{"2026-03-01", 72, 57, 2, 10, 12, 3},
	}
	for _, c := range cases {
		got := storyOn(t, r, dayOf(c.on)).Tally
		if got.Stuck != c.stuck || got.Unrooted != c.unrooted || got.Rooted != c.rooted ||
			got.Potted != c.potted || got.EverRooted != c.everRooted || got.LostUnrooted != c.lost {
			t.Errorf("on %s: got %+v, want %+v", c.on, got, c)
		}
	}
}

func TestReplayRefusesWhatCannotBe(t *testing.T) {
	stuck := stickingOn("2026-01-18", 72)
	closed := models.NewDecision{On: dayOf("2026-04-01"), Action: models.CloseBatch}
	cases := []struct {
		name  string
		first []any
		req   any
		code  string
		words []string
	}{
		{"before the cut", nil, moveOn("2026-01-16", models.ToSoak, 1), "out-of-order", []string{"on is 2026-01-16", "2026-01-17"}},
		{"check before any sticking", nil, lookOn("2026-02-01", 1, nil), "before-sticking", []string{"has not been stuck"}},
		{"check before the day of sticking", []any{stuck}, lookOn("2026-01-17", 1, nil), "before-sticking", []string{"2026-01-18"}},
		{"potting before any sticking", nil, pottingOn("2026-02-01", 1), "before-sticking", nil},
		{"rooted on the day of sticking", []any{stuck}, lookOn("2026-01-18", 1, nil), "on-sticking-day", []string{"rooted is 1"}},
		{"lost on the day of sticking", []any{stuck}, lookOn("2026-01-18", 0, models.Losses{models.Frost: 2}), "on-sticking-day", []string{"lost is 2"}},
		{"potted on the day of sticking", []any{stuck}, pottingOn("2026-01-18", 1), "on-sticking-day", nil},
		{"thrown out on the day of sticking", []any{stuck}, models.NewDecision{On: dayOf("2026-01-18"), Action: models.Discard}, "on-sticking-day", nil},
		{"a second sticking", []any{stickingOn("2026-01-18", 70)}, stickingOn("2026-01-20", 2), "already-stuck", []string{"70", "split"}},
		{"more stuck than made", nil, stickingOn("2026-01-18", 73), "too-many-cuttings", []string{"73", "72"}},
		{"more moved than wait", []any{moveOn("2026-01-17", models.ToSoak, 70)}, moveOn("2026-01-18", models.ToSoak, 3), "too-many-cuttings", []string{"is 3", "only 2", "outside the soak"}},
		{"more potted than live", []any{stuck}, pottingOn("2026-03-01", 73), "too-many-potted", []string{"0 rooted + 72 unrooted = 72"}},
		{"anything after the close", []any{stuck, closed}, lookOn("2026-04-02", 0, nil), "batch-closed", []string{"2026-04-01"}},
		{"anything more on the day of the close", []any{stuck, closed}, lookOn("2026-04-01", 0, nil), "batch-closed", nil},
		{"a second close", []any{closed}, models.NewDecision{On: dayOf("2026-04-09"), Action: models.CloseBatch}, "batch-closed", nil},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := mustEnter(t, dogwoodBatch(), c.first...)
			_, err := enterInto(r, c.req)
			wantRefusal(t, err, c.code, c.words...)
		})
	}
}

func TestLateEntriesHaveToFitTheLaterOnes(t *testing.T) {
	base := func() *models.BatchRecord {
		check := lookOn("2026-02-15", 12, nil)
		check.Unrooted = countOf(60)
		return mustEnter(t, dogwoodBatch(), stickingOn("2026-01-18", 72), check)
	}
	t.Run("a loss the later check did not see", func(t *testing.T) {
		_, err := enterInto(base(), lookOn("2026-02-01", -1, models.Losses{models.Eaten: 2}))
		wantRefusal(t, err, "later-entry", "checked_on is 2026-02-01", "the check of 2026-02-15", "12 rooted + 60 unrooted + 0 lost make 72, but 70 stood")
	})
	t.Run("rooted ones narrow when the later ones were found", func(t *testing.T) {
		r := mustEnter(t, base(), lookOn("2026-02-01", 5, nil))
		want := []Found{
			{After: dayOf("2026-01-18"), By: dayOf("2026-02-01"), Count: 5},
			{After: dayOf("2026-02-01"), By: dayOf("2026-02-15"), Count: 7},
		}
		if diff := cmp.Diff(want, storyOn(t, r, lateDay).Found, cmp.Comparer(sameDay)); diff != "" {
			t.Error(diff)
		}
	})
	t.Run("before the close", func(t *testing.T) {
		r := mustEnter(t, base(), models.NewDecision{On: dayOf("2026-04-01"), Action: models.CloseBatch},
			lookOn("2026-03-01", 20, nil))
		if got := storyOn(t, r, lateDay).Tally; got.UnrootedAtEnd != 52 || got.Unrooted != 52 {
			t.Errorf("got %d unrooted at close of %d, want 52", got.UnrootedAtEnd, got.Unrooted)
		}
	})
}

func TestTallies(t *testing.T) {
	r := mustEnter(t, dogwoodBatch(), stickingOn("2026-01-18", 72), lookOn("2026-02-01", 12, nil), pottingOn("2026-03-01", 12))
	after := Tallies(r)
	if got := slices.Sorted(maps.Keys(after)); !slices.Equal(got, []int{2, 3, 4}) {
		t.Fatalf("got tallies after %v", got)
	}
	if after[3].Rooted != 12 || after[4].Rooted != 0 || after[4].EverRooted != 12 {
		t.Errorf("got %+v", after)
	}
	r.Pottings[0].Count = 1000
	if got := Tallies(r); len(got) != 2 {
		t.Errorf("a record that does not replay has %d tallies, want those before the fault", len(got))
	}
}

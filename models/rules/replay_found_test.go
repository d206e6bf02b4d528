package rules

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"withybed/models"
)

func TestFoundBetweenLooks(t *testing.T) {
	d0, d1, d2, d3 := dayOf("2026-01-18"), dayOf("2026-02-01"), dayOf("2026-02-15"), dayOf("2026-03-01")
	graded := lookOn("2026-02-01", 5, nil)
	cases := []struct {
		name    string
		entries []any
		want    []Found
	}{
		{"one look", []any{graded}, []Found{{d0, d1, 5}}},
		{"a look with none between narrows", []any{lookOn("2026-02-01", 0, nil), lookOn("2026-02-15", 5, nil)}, []Found{{d1, d2, 5}}},
		{"a look at leaves only does not", []any{lookOn("2026-02-01", -1, nil), lookOn("2026-02-15", 5, nil)}, []Found{{d0, d2, 5}}},
		{"a look at a part does not", []any{models.NewCheck{CheckedOn: d1, Examined: countOf(3), Rooted: countOf(0)}, lookOn("2026-02-15", 5, nil)}, []Found{{d0, d2, 5}}},
		{"a second look on one day adds to it", []any{graded, lookOn("2026-02-01", 8, nil), lookOn("2026-02-15", 9, nil)}, []Found{{d0, d1, 8}, {d1, d2, 1}}},
		{"so does a third", []any{graded, lookOn("2026-02-01", 8, nil), lookOn("2026-02-01", 9, nil)}, []Found{{d0, d1, 9}}},
		{"so does potting on the day of a look", []any{graded, pottingOn("2026-02-01", 7)}, []Found{{d0, d1, 7}}},
		{"potting is no look at the others", []any{graded, pottingOn("2026-02-15", 7), lookOn("2026-03-01", 4, nil)}, []Found{{d0, d1, 5}, {d1, d2, 2}, {d1, d3, 4}}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := mustEnter(t, dogwoodBatch(), append([]any{stickingOn("2026-01-18", 72)}, c.entries...)...)
			if diff := cmp.Diff(c.want, storyOn(t, r, lateDay).Found, cmp.Comparer(sameDay)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestTheFirstFoundLeaveFirst(t *testing.T) {
	r := mustEnter(t, dogwoodBatch(), stickingOn("2026-01-18", 72), lookOn("2026-02-01", 5, nil),
		lookOn("2026-02-15", 12, nil), lookOn("2026-03-01", 20, nil),
		lookOn("2026-03-02", 18, models.Losses{models.Eaten: 2}), pottingOn("2026-03-03", 6))
	want := []Found{
		{dayOf("2026-02-01"), dayOf("2026-02-15"), 4},
		{dayOf("2026-02-15"), dayOf("2026-03-01"), 8},
	}
	if diff := cmp.Diff(want, storyOn(t, r, lateDay).Tray, cmp.Comparer(sameDay)); diff != "" {
		t.Error(diff)
	}
}

func gradedLook(day string, rooted, ready, overlong int) models.NewCheck {
	return models.NewCheck{CheckedOn: dayOf(day), Rooted: &rooted, PottingRoots: &ready, Overlong: &overlong}
}

func TestGrades(t *testing.T) {
	d1, d2 := dayOf("2026-02-01"), dayOf("2026-02-15")
	first := gradedLook("2026-02-01", 30, 18, 2)
	part := models.NewCheck{CheckedOn: d2, Examined: countOf(10), Rooted: countOf(7), PottingRoots: countOf(5), Lost: models.Losses{models.Eaten: 1}}
	cases := []struct {
		name    string
		entries []any
		want    *Grade
		ready   int
	}{
		{"none", nil, nil, 0},
		{"graded", []any{first}, &Grade{d1, 72, 30, 18, 2, false}, 18},
		{"graded, none rooted", []any{gradedLook("2026-02-01", 0, 0, 0)}, &Grade{d1, 72, 0, 0, 0, false}, 0},
		{"looked at again, not graded", []any{first, lookOn("2026-02-15", 31, nil)}, nil, 0},
		{"roots left alone", []any{first, lookOn("2026-02-15", -1, models.Losses{models.Heat: 4})}, &Grade{d1, 68, 30, 18, 2, false}, 18},
		{"rooted ones lost", []any{first, models.NewCheck{CheckedOn: d2, LostRooted: &models.Losses{models.Heat: 20}}}, &Grade{d1, 52, 10, 10, 2, false}, 10},
		{"a part", []any{part}, &Grade{d2, 9, 7, 5, 0, true}, 0},
		{"a part after the whole", []any{first, part}, &Grade{d2, 9, 7, 5, 0, true}, 18},
		{"a part that was not graded", []any{first, models.NewCheck{CheckedOn: d2, Examined: countOf(10), Rooted: countOf(7)}}, &Grade{d1, 72, 30, 18, 2, false}, 18},
		{"some potted", []any{first, pottingOn("2026-02-15", 10)}, &Grade{d1, 62, 20, 8, 0, false}, 8},
		{"more potted than were ready", []any{first, pottingOn("2026-02-15", 25)}, &Grade{d1, 47, 5, 0, 0, false}, 0},
		{"all rooted ones potted", []any{first, pottingOn("2026-02-15", 30)}, nil, 0},
		{"a part, then potted", []any{first, part, pottingOn("2026-02-16", 10)}, nil, 8},
		{"thrown out the unrooted", []any{first, models.NewDecision{On: d2, Action: models.Discard}}, &Grade{d1, 30, 30, 18, 2, false}, 18},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := mustEnter(t, dogwoodBatch(), append([]any{stickingOn("2026-01-18", 72)}, c.entries...)...)
			story := storyOn(t, r, lateDay)
			if diff := cmp.Diff(c.want, story.Grade, cmp.Comparer(sameDay)); diff != "" {
				t.Error(diff)
			}
			if story.Tally.PottingRoots != c.ready {
				t.Errorf("got %d with potting roots, want %d", story.Tally.PottingRoots, c.ready)
			}
			wantBalance(t, story)
		})
	}
}

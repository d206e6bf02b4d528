package rules

import (
	"encoding/json"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"withybed/models"
)

// drawRequest draws a request that has a fair chance to be accepted: mostly
// small counts, on days out of order.
func drawRequest(t *rapid.T) any {
	on := dayOf("2026-01-16").Add(rapid.IntRange(0, 30).Draw(t, "day"))
	count := rapid.IntRange(1, 12).Draw(t, "count")
	switch rapid.IntRange(0, 9).Draw(t, "kind") {
	case 0:
		return models.NewSticking{StuckOn: on, Count: count * 4}
	case 1, 2:
		to := rapid.SampledFrom(models.MoveTos).Draw(t, "to")
		return moveOn(on.String(), to, count)
	case 3:
		return models.NewSplit{On: on, Arms: []models.Arm{{Count: count}, {Count: 1, StuckOn: on}}}
	case 4:
		return models.NewPotting{PottedOn: on, Count: count}
	case 5:
		action := rapid.SampledFrom([]models.Action{models.Keep, models.Keep, models.Restick, models.Discard, models.CloseBatch}).Draw(t, "action")
		d := models.NewDecision{On: on, Action: action}
		if action == models.Keep {
			d.Until = on.Add(count)
		}
		return d
	}
	return drawCheck(t, on)
}

func drawCheck(t *rapid.T, on models.Date) models.NewCheck {
	c := models.NewCheck{CheckedOn: on, Lost: drawLosses(t, "lost"), Withdrawn: rapid.SampledFrom([]int{0, 0, 0, 1}).Draw(t, "withdrawn")}
	if rapid.Bool().Draw(t, "rooted given") {
		c.Rooted = countOf(rapid.IntRange(0, 20).Draw(t, "rooted"))
		if rapid.Bool().Draw(t, "graded") {
			c.PottingRoots = countOf(rapid.IntRange(0, *c.Rooted).Draw(t, "potting roots"))
			c.Overlong = countOf(rapid.IntRange(0, *c.PottingRoots).Draw(t, "overlong"))
		}
	}
	if rapid.IntRange(0, 3).Draw(t, "lost rooted given") == 0 {
		lost := drawLosses(t, "lost rooted")
		c.LostRooted = &lost
	}
	if rapid.IntRange(0, 5).Draw(t, "a part") == 0 {
		c.Examined = countOf(rapid.IntRange(1, 30).Draw(t, "examined"))
	}
	return c
}

func drawLosses(t *rapid.T, label string) models.Losses {
	return rapid.MapOfN(rapid.SampledFrom(models.Causes), rapid.IntRange(0, 3), 0, 2).Draw(t, label)
}

func asText(t failer, v any) string {
	t.Helper()
	data, err := json.Marshal(v)
	if err != nil {
		t.Fatalf("writing %T: %v", v, err)
	}
	return string(data)
}

// Whatever is entered, in whatever order: what is refused changes nothing, and
// what is accepted balances on every day.
func TestEveryCuttingEndsSomewhere(t *testing.T) {
	accepted := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		r := dogwoodBatch()
		if rapid.IntRange(0, 3).Draw(t, "begin unstuck") > 0 {
			mustEnter(t, r, stickingOn("2026-01-18", rapid.IntRange(20, 72).Draw(t, "stuck")))
		}
		for range rapid.IntRange(1, 14).Draw(t, "entries") {
			req := drawRequest(t)
			before, asked := asText(t, r), asText(t, req)
			if _, err := enterInto(r, req); err != nil {
				if e := models.AsError(err); e == nil || e.Kind != models.Invalid || len(e.Fields) == 0 {
					t.Fatalf("refused with %#v", err)
				}
				if after := asText(t, r); after != before {
					t.Fatalf("a refused entry changed the record\nfrom %s\nto   %s", before, after)
				}
			} else {
				accepted[typeOf(req)]++
			}
			if after := asText(t, req); after != asked {
				t.Fatalf("the request was changed\nfrom %s\nto   %s", asked, after)
			}
		}
		wantDaysInOrder(t, r)
		wantOrderOfListsNotToMatter(t, r)
	})
	t.Logf("accepted: %v", accepted)
	for _, kind := range []string{"sticking", "move", "check", "potting", "split", "decision"} {
		if accepted[kind] == 0 {
			t.Errorf("none of kind %s was ever accepted: the property says little", kind)
		}
	}
}

func typeOf(req any) string {
	switch req.(type) {
	case models.NewSticking:
		return "sticking"
	case models.NewMove:
		return "move"
	case models.NewCheck:
		return "check"
	case models.NewPotting:
		return "potting"
	case models.NewSplit:
		return "split"
	}
	return "decision"
}

// wantDaysInOrder replays to every day: all of them balance, and neither the
// checks nor the cuttings that ever rooted, were lost or potted grow fewer.
func wantDaysInOrder(t *rapid.T, r *models.BatchRecord) {
	var last Story
	for day := dayOf("2026-01-16"); !day.After(dayOf("2026-02-20")); day = day.Add(1) {
		story, err := Replay(r, day)
		if err != nil {
			t.Fatalf("an accepted record does not replay to %s: %v", day, err)
		}
		wantBalance(t, story)
		a, b := &last.Tally, &story.Tally
		if b.EverRooted < a.EverRooted || b.Potted < a.Potted || b.Withdrawn < a.Withdrawn ||
			b.LostByCause.Sum() < a.LostByCause.Sum() || story.Checks < last.Checks {
			t.Fatalf("something grew fewer by %s: %+v, then %+v", day, *a, *b)
		}
		last = *story
	}
}

func wantOrderOfListsNotToMatter(t *rapid.T, r *models.BatchRecord) {
	want, err := Replay(r, lateDay)
	if err != nil {
		t.Fatalf("replaying: %v", err)
	}
	random := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
	mixed := *r
	mixed.Moves = shuffled(random, r.Moves)
	mixed.Splits = shuffled(random, r.Splits)
	mixed.Checks = shuffled(random, r.Checks)
	mixed.Pottings = shuffled(random, r.Pottings)
	mixed.Decisions = shuffled(random, r.Decisions)
	got, err := Replay(&mixed, lateDay)
	if err != nil {
		t.Fatalf("in another order: %v", err)
	}
	if diff := cmp.Diff(want, got, cmp.Comparer(sameDay)); diff != "" {
		t.Fatalf("the order of the lists matters: %s", diff)
	}
}

func shuffled[T any](random *rand.Rand, all []T) []T {
	mixed := append([]T(nil), all...)
	random.Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
	return mixed
}

package rules

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"withybed/models"
)

// storedBatch has 10 in hand, 20 in soak since two days, 30 in the refrigerator
// and 12 in the cold store.
func storedBatch(t *testing.T) *models.BatchRecord {
	return mustEnter(t, dogwoodBatch(),
		moveOn("2026-01-18", models.ToSoak, 15),
		moveOn("2026-01-19", models.ToRefrigerator, 30),
		moveOn("2026-01-20", models.ToSoak, 5),
		models.NewMove{On: dayOf("2026-01-20"), To: models.ToColdStore, Count: 12})
}

func waitsOf(story *Story) string {
	text := ""
	for _, w := range story.Waits {
		place := string(w.In)
		if place == "" {
			place = "hand"
		}
		text += place + " " + w.Since.String()[5:] + " " + itoa(w.Count) + "; "
	}
	return text
}

func TestWaitingPools(t *testing.T) {
	cases := []struct {
		name  string
		entry any
		want  string
	}{
		{"as they wait", nil, "hand 01-17 10; soak 01-18 15; soak 01-20 5; refrigerator 01-19 30; cold_store 01-20 12; "},
		{"a sticking empties the soak first, the oldest first", stickingOn("2026-01-21", 17), "hand 01-17 10; soak 01-20 3; refrigerator 01-19 30; cold_store 01-20 12; "},
		{"then the hand, then the stores", stickingOn("2026-01-21", 61), "cold_store 01-20 11; "},
		{"used ones come from the hand first", moveOn("2026-01-21", models.ToUsed, 12), "soak 01-18 13; soak 01-20 5; refrigerator 01-19 30; cold_store 01-20 12; "},
		{"so do lost ones", moveOn("2026-01-21", models.ToLost, 31), "refrigerator 01-19 29; cold_store 01-20 12; "},
		{"a move to soak leaves those in soak", moveOn("2026-01-21", models.ToSoak, 12), "soak 01-18 15; soak 01-20 5; soak 01-21 12; refrigerator 01-19 28; cold_store 01-20 12; "},
		{"on a day that is there already", moveOn("2026-01-20", models.ToSoak, 1), "hand 01-17 9; soak 01-18 15; soak 01-20 6; refrigerator 01-19 30; cold_store 01-20 12; "},
		{"thrown out", models.NewDecision{On: dayOf("2026-01-21"), Action: models.Discard}, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := storedBatch(t)
			if c.entry != nil {
				mustEnter(t, r, c.entry)
			}
			story := storyOn(t, r, lateDay)
			if got := waitsOf(story); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
			wantBalance(t, story)
		})
	}
}

func TestWaitingEnds(t *testing.T) {
	r := mustEnter(t, dogwoodBatch(),
		models.NewMove{On: dayOf("2026-01-18"), To: models.ToUsed, Count: 5, Use: "staked on the bank"},
		models.NewMove{On: dayOf("2026-01-18"), To: models.ToLost, Count: 3, Cause: models.Dried},
		models.NewSplit{On: dayOf("2026-01-18"), Arms: []models.Arm{{Count: 20}, {Count: 4}}},
		stickingOn("2026-01-19", 30),
		moveOn("2026-01-20", models.ToUsed, 2))
	got := storyOn(t, r, lateDay).Tally
	want := models.Tally{
		Made: 72, InHand: 8, Used: 7, LostWaiting: 3, ToSisters: 24, Stuck: 30, Unrooted: 30,
		LostByCause: models.Losses{models.Dried: 3},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestTakeWaiting(t *testing.T) {
	waits := storyOn(t, storedBatch(t), lateDay).Waits
	taken, left := TakeWaiting(waits, 26)
	if got := waitsOf(&Story{Waits: taken}); got != "hand 01-17 10; soak 01-18 15; soak 01-20 1; " {
		t.Errorf("took %s", got)
	}
	if got := waitsOf(&Story{Waits: left}); got != "soak 01-20 4; refrigerator 01-19 30; cold_store 01-20 12; " {
		t.Errorf("left %s", got)
	}
	taken, left = TakeWaiting(waits, 1000)
	if countIn(taken, handFirst...) != 72 || len(left) != 0 {
		t.Errorf("took %v and left %v", taken, left)
	}
}

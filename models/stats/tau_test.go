package stats_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"withybed/models/stats"
)

// TestThinTail is a pool whose last day hangs on one cutting: rooted or lost, it
// must not move what is said of the forty-one.
func TestThinTail(t *testing.T) {
	many := stats.Lot{ID: "1", Cuttings: 40, Looks: []stats.Look{{Day: 30, Rooted: 20, Lost: 5, Saw: stats.SawRoots}, {Day: 60, Rooted: 3, Lost: 2, Saw: stats.SawRoots}}}
	rooted := stats.Lot{ID: "2", Cuttings: 1, Looks: []stats.Look{{Day: 60, Saw: stats.SawRoots}, {Day: 90, Rooted: 1, Saw: stats.SawRoots}}}
	lost := stats.Lot{ID: "2", Cuttings: 1, Looks: []stats.Look{{Day: 60, Saw: stats.SawRoots}, {Day: 90, Lost: 1, Saw: stats.SawRoots}}}
	for _, c := range []struct {
		second stats.Lot
		total  float64
	}{{rooted, .829}, {lost, .561}} {
		lots := []stats.Lot{many, c.second}
		tau, ok := tauOf(lots)
		if !ok || tau != 60 {
			t.Errorf("tau is %d, want 60", tau)
		}
		inc := stats.FitIncidence(stats.Pool(lots), 0)
		at, _ := inc.RootedBy(tau)
		near(t, "rooted by tau", at, 23.0/41, 1e-6)
		near(t, "rooted in all", inc.Rooted(), c.total, 5e-4)
	}
}

func TestTauOfOneBatchIsItsLastDay(t *testing.T) {
	if tau, _ := tauOf([]stats.Lot{byHand()}); tau != 42 {
		t.Errorf("tau is %d, want 42", tau)
	}
	if _, ok := tauOf([]stats.Lot{{ID: "x", Cuttings: 3}}); ok {
		t.Error("a tau without a look")
	}
}

// TestAtRiskByHand counts what stands under watch in the batch worked by hand.
func TestAtRiskByHand(t *testing.T) {
	w := stats.WatchOf([]stats.Lot{byHand()})
	if want := []int{20, 17, 9, 4}; !slices.Equal(w.AtRisk, want) {
		t.Errorf("at risk %v, want %v", w.AtRisk, want)
	}
}

// TestAtRiskIsPlain holds the counts against counting lot by lot.
func TestAtRiskIsPlain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lots := drawLots(t)
		w := stats.WatchOf(lots)
		for d, day := range w.Days {
			want := 0
			for i := range lots {
				if lots[i].LastRoots() < day {
					continue
				}
				known := lots[i].Until(day - 1)
				want += known.Open()
			}
			if w.AtRisk[d] != want {
				t.Fatalf("%d at risk on day %d, want %d", w.AtRisk[d], day, want)
			}
		}
	})
}

// drawLots draws up to eight lots with looks of every kind.
func drawLots(t *rapid.T) []stats.Lot {
	lots := make([]stats.Lot, rapid.IntRange(1, 8).Draw(t, "lots"))
	for i := range lots {
		lots[i] = drawLot(t, string(rune('a'+i)))
	}
	return lots
}

func drawLot(t *rapid.T, id string) stats.Lot {
	lot := stats.Lot{ID: id, Cuttings: rapid.IntRange(1, 40).Draw(t, "cuttings")}
	left, day := int32(lot.Cuttings), int32(0)
	for range rapid.IntRange(0, 5).Draw(t, "looks") {
		day += rapid.Int32Range(1, 20).Draw(t, "days")
		take := func(what string) int32 {
			n := rapid.Int32Range(0, left).Draw(t, what)
			left -= n
			return n
		}
		k := stats.Look{Day: day, Saw: rapid.SampledFrom([]stats.Sight{stats.SawPart, stats.SawLosses, stats.SawRoots, stats.SawRoots}).Draw(t, "saw")}
		if k.Saw != stats.SawLosses {
			k.Rooted = take("rooted")
		}
		if k.Saw != stats.SawPart {
			k.Lost = take("lost")
			k.Discarded = rapid.Int32Range(0, k.Lost).Draw(t, "discarded")
		}
		k.Withdrawn = take("withdrawn") / 2
		left = int32(lot.Open()) - k.Rooted - k.Lost - k.Withdrawn
		lot.Looks = append(lot.Looks, k)
	}
	return lot
}

// tauOf is the last day of which lots say something, if there is one.
func tauOf(lots []stats.Lot) (day int, ok bool) {
	w := stats.WatchOf(stats.Seen(lots))
	day = w.Tau()
	return day, day > 0
}

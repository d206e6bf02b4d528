package stats_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"withybed/models/stats"
)

func ExampleBracket() {
	found := []stats.Found{{After: 0, By: 14, Count: 3}, {After: 14, By: 21, Count: 9}, {After: 21, By: 35, Count: 4}}
	half := stats.Bracket(found, 0.5)
	fmt.Printf("half had rooted between day %d and day %d\n", half.After, half.By)
	// Output: half had rooted between day 14 and day 21
}

func ExampleBracketOfStuck() {
	found := []stats.Found{{After: 0, By: 14, Count: 3}, {After: 14, By: 21, Count: 9}, {After: 21, By: 35, Count: 4}}
	fmt.Println(stats.BracketOfStuck(found, 30, 0.5).Status, stats.BracketOfStuck(found, 40, 0.5).Status)
	// Output: reached not_reached
}

var oneBatch = []stats.Found{{0, 14, 3}, {14, 28, 6}, {28, 42, 6}}

func reached(after, by int) stats.DayBracket {
	return stats.DayBracket{Status: stats.Reached, After: after, By: by}
}

func TestBracket(t *testing.T) {
	undefined := stats.DayBracket{Status: stats.Undefined}
	twoBatches := append(slices.Clone(oneBatch), stats.Found{0, 10, 1}, stats.Found{10, 21, 3}, stats.Found{21, 35, 5}, stats.Found{35, 56, 4})
	for _, c := range []struct {
		name  string
		found []stats.Found
		q     float64
		want  stats.DayBracket
	}{
		{"half of fifteen is the eighth", oneBatch, 0.5, reached(14, 28)},
		{"exactly at the end of a look", oneBatch, 0.6, reached(14, 28)},
		{"one more", oneBatch, 0.61, reached(28, 42)},
		{"a fifth, exactly", oneBatch, 0.2, reached(0, 14)},
		{"all", oneBatch, 1, reached(28, 42)},
		{"the very first", oneBatch, 1e-12, reached(0, 14)},
		{"ends of different batches", twoBatches, 0.5, reached(21, 35)},
		{"wider than any look", []stats.Found{{0, 30, 1}, {10, 12, 1}, {20, 60, 1}}, 0.67, reached(20, 60)},
		{"between two looks", []stats.Found{{0, 30, 1}, {10, 12, 1}}, 0.5, reached(0, 12)},
		{"0.07 of a hundred is seven", []stats.Found{{0, 7, 7}, {7, 14, 93}}, 0.07, reached(0, 7)},
		{"rows in any order, empty rows", []stats.Found{{28, 42, 6}, {3, 5, 0}, {0, 14, 3}, {14, 28, 6}}, 0.5, reached(14, 28)},
		{"a single cutting", []stats.Found{{5, 9, 1}}, 0.5, reached(5, 9)},
		{"nothing found", nil, 0.5, undefined},
		{"only empty rows", []stats.Found{{0, 14, 0}}, 0.5, undefined},
		{"no share", oneBatch, 0, undefined},
		{"more than all", oneBatch, 1.01, undefined},
		{"no number", oneBatch, math.NaN(), undefined},
		{"rooted on day 0", []stats.Found{{0, 0, 2}}, 0.5, undefined},
		{"by before after", []stats.Found{{14, 7, 2}}, 0.5, undefined},
		{"count below 0", []stats.Found{{0, 7, 2}, {7, 14, -1}}, 0.5, undefined},
		{"before sticking", []stats.Found{{-1, 7, 2}}, 0.5, undefined},
	} {
		if got := stats.Bracket(c.found, c.q); got != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
}

func TestBracketOfStuck(t *testing.T) {
	notReached, undefined := stats.DayBracket{Status: stats.NotReached}, stats.DayBracket{Status: stats.Undefined}
	for _, c := range []struct {
		name  string
		found []stats.Found
		stuck int
		q     float64
		want  stats.DayBracket
	}{
		{"fifteen of thirty is exactly half", oneBatch, 30, 0.5, reached(28, 42)},
		{"fifteen of thirty-one is not", oneBatch, 31, 0.5, notReached},
		{"a tenth", oneBatch, 30, 0.1, reached(0, 14)},
		{"all stuck have rooted", oneBatch, 15, 1, reached(28, 42)},
		{"nothing yet", nil, 20, 0.5, notReached},
		{"nothing stuck", nil, 0, 0.5, undefined},
		{"fewer stuck than found", oneBatch, 14, 0.5, undefined},
		{"no share", oneBatch, 30, 0, undefined},
		{"a row that is no bracket", []stats.Found{{7, 7, 1}}, 30, 0.5, undefined},
	} {
		if got := stats.BracketOfStuck(c.found, c.stuck, c.q); got != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
}

// drawRootings makes cuttings with their true days to root, each found at the
// first of its own looks on or after that day.
func drawRootings(t *rapid.T) (found []stats.Found, days []float64) {
	for range rapid.IntRange(1, 40).Draw(t, "rows") {
		after := rapid.IntRange(0, 100).Draw(t, "after")
		by := after + rapid.IntRange(1, 40).Draw(t, "gap")
		count := rapid.IntRange(1, 5).Draw(t, "count")
		found = append(found, stats.Found{After: after, By: by, Count: count})
		for range count {
			share := rapid.Float64Range(0, 0.999).Draw(t, "share")
			days = append(days, float64(by)-share*float64(by-after))
		}
	}
	slices.Sort(days)
	return found, days
}

// The true quantile lies in the bracket, whatever happened between the looks.
func TestBracketHoldsTheTrueQuantile(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		found, days := drawRootings(t)
		k := rapid.IntRange(1, len(days)).Draw(t, "k")
		b := stats.Bracket(found, float64(k)/float64(len(days)))
		truth := days[k-1]
		if b.Status != stats.Reached || !(float64(b.After) < truth && truth <= float64(b.By)) {
			t.Fatalf("%v is not in %+v", truth, b)
		}
	})
}

func TestBracketProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		found, days := drawRootings(t)
		q := rapid.Float64Range(0.001, 1).Draw(t, "q")
		later := rapid.Float64Range(q, 1).Draw(t, "later")
		b, c := stats.Bracket(found, q), stats.Bracket(found, later)
		if c.After < b.After || c.By < b.By {
			t.Fatalf("%v at %+v, %v at %+v", q, b, later, c)
		}
		if s := stats.BracketOfStuck(found, len(days), q); s != b {
			t.Fatalf("of stuck %+v, of found %+v, and all were found", s, b)
		}
		unrooted := rapid.IntRange(0, 100).Draw(t, "unrooted")
		if s := stats.BracketOfStuck(found, len(days)+unrooted, q); s.Status == stats.Reached && (s.After < b.After || s.By < b.By) {
			t.Fatalf("of stuck %+v is earlier than of found %+v", s, b)
		}
		if shuffled := stats.Bracket(rapid.Permutation(found).Draw(t, "order"), q); shuffled != b {
			t.Fatalf("in another order %+v, not %+v", shuffled, b)
		}
	})
}

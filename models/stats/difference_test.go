package stats_test

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"withybed/models/stats"
)

func ExampleRateDifference() {
	water := []stats.Share{{Rooted: 15, Stuck: 20}, {Rooted: 17, Stuck: 20}, {Rooted: 12, Stuck: 20}}
	plain := []stats.Share{{Rooted: 9, Stuck: 20}, {Rooted: 12, Stuck: 20}, {Rooted: 11, Stuck: 20}}
	d, df := stats.RateDifference(water, plain, 0.95)
	fmt.Printf("%.2f, between %.2f and %.2f on %d degrees of freedom\n", d.Estimate, d.Lower, d.Upper, df)
	// Output: 0.20, between -0.08 and 0.43 on 4 degrees of freedom
}

// TestPublishedDifferences has table II, method 10, of Newcombe (1998), Stat Med
// 17:873-890.
func TestPublishedDifferences(t *testing.T) {
	for _, c := range []struct {
		x1, n1, x2, n2 int
		lower, upper   float64
	}{
		{56, 70, 48, 80, .0524, .3339}, {9, 10, 3, 10, .1705, .8090}, {6, 7, 2, 7, .0582, .8062},
		{5, 56, 0, 29, -.0381, .1926}, {0, 10, 0, 20, -.1611, .2775}, {10, 10, 0, 10, .6075, 1},
	} {
		d, df := stats.RateDifference([]stats.Share{{Rooted: c.x1, Stuck: c.n1}}, []stats.Share{{Rooted: c.x2, Stuck: c.n2}}, 0.95)
		near(t, "lower", d.Lower, c.lower, 1e-4)
		near(t, "upper", d.Upper, c.upper, 1e-4)
		if df != 0 {
			t.Errorf("%d degrees of freedom of two lots", df)
		}
	}
}

// TestBlocksAgainstThePool has two blocks in which the arms do alike, and a pool in
// which they do not: .50 against .80.
func TestBlocksAgainstThePool(t *testing.T) {
	a, b := []stats.Share{{Rooted: 9, Stuck: 10}, {Rooted: 16, Stuck: 40}}, []stats.Share{{Rooted: 36, Stuck: 40}, {Rooted: 4, Stuck: 10}}
	crude, _ := stats.RateDifference(a, b, 0.95)
	near(t, "crude difference", crude.Estimate, .50-.80, 1e-12)
	d, df := stats.BlockedDifference([]stats.Block{{P1: .9, P2: .9, N1: 10, N2: 40}, {P1: .4, P2: .4, N1: 40, N2: 10}}, 0.95)
	near(t, "blocked difference", d.Estimate, 0, 1e-12)
	if df != 0 || d.Lower != -1 || d.Upper != 1 {
		t.Errorf("limits of two blocks: %+v, %d", d, df)
	}
}

// TestFourBlocksByHand has equal blocks with differences .1, .2, .3 and .4: mean
// .25, standard error of the mean √(.05/3/4), t with 3 degrees of freedom 3.182446.
func TestFourBlocksByHand(t *testing.T) {
	var blocks []stats.Block
	for _, d := range []float64{.1, .2, .3, .4} {
		blocks = append(blocks, stats.Block{P1: .5 + d, P2: .5, N1: 20, N2: 20})
	}
	d, df := stats.BlockedDifference(blocks, 0.95)
	near(t, "mean", d.Estimate, .25, 1e-12)
	near(t, "lower", d.Lower, .25-3.182446*0.0645497, 1e-5)
	if df != 3 {
		t.Errorf("%d degrees of freedom", df)
	}
}

func TestDifferenceTurnsRound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(what string) []stats.Share {
			shares := make([]stats.Share, rapid.IntRange(1, 4).Draw(t, what))
			for i := range shares {
				shares[i].Stuck = rapid.IntRange(1, 50).Draw(t, "stuck")
				shares[i].Rooted = rapid.IntRange(0, shares[i].Stuck).Draw(t, "rooted")
			}
			return shares
		}
		a, b := draw("ones"), draw("twos")
		d, _ := stats.RateDifference(a, b, 0.95)
		turned, _ := stats.RateDifference(b, a, 0.95)
		closeTo(t, "lower", d.Lower, -turned.Upper, 1e-12)
		if !(-1 <= d.Lower && d.Lower <= d.Estimate && d.Estimate <= d.Upper && d.Upper <= 1) {
			t.Fatalf("%+v", d)
		}
	})
}

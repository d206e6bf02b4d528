package stats_test

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"withybed/models/stats"
)

func ExampleCrudeRate() {
	r := stats.CrudeRate([]stats.Share{{Rooted: 14, Stuck: 20}, {Rooted: 9, Stuck: 20}, {Rooted: 18, Stuck: 24}, {Rooted: 12, Stuck: 18}}, 0.95)
	fmt.Printf("%.2f, between %.2f and %.2f; worth %.0f cuttings\n", r.Estimate, r.Lower, r.Upper, r.NEff)
	// Output: 0.65, between 0.42 and 0.82; worth 50 cuttings
}

// TestOneBatchHasPlainLimits has the values of Newcombe (1998), Stat Med
// 17:857-872, table I, and 15 of 20 worked by hand.
func TestOneBatchHasPlainLimits(t *testing.T) {
	for _, c := range []struct {
		rooted, stuck int
		lower, upper  float64
	}{{81, 263, .2553, .3662}, {15, 148, .0624, .1605}, {0, 20, 0, .1611}, {1, 29, .0061, .1718}, {15, 20, .531299, .888138}, {20, 20, .8389, 1}} {
		r := stats.CrudeRate([]stats.Share{{Rooted: c.rooted, Stuck: c.stuck}}, 0.95)
		near(t, "lower", r.Lower, c.lower, 1e-4)
		near(t, "upper", r.Upper, c.upper, 1e-4)
		if r.DF != 0 || r.NEff != float64(c.stuck) || r.RhoAssumed {
			t.Errorf("one batch has %+v", r)
		}
	}
}

// TestNoneOfThreeBatches has 0 of 60 in three batches of 20: they say less than
// sixty cuttings of which none rooted, .139 and not .060.
func TestNoneOfThreeBatches(t *testing.T) {
	none := stats.Share{Stuck: 20}
	r := stats.CrudeRate([]stats.Share{none, none, none}, 0.95)
	near(t, "upper", r.Upper, .139, 5e-4)
	near(t, "lower", r.Lower, 0, 0)
	if !r.RhoAssumed {
		t.Error("it is not said that rho is assumed")
	}
	all := stats.Share{Rooted: 20, Stuck: 20}
	r = stats.CrudeRate([]stats.Share{all, all, all}, 0.95)
	near(t, "lower", r.Lower, 1-.139, 5e-4)
	near(t, "upper", r.Upper, 1, 0)
}

// TestSpreadByHand has 10 and 20 of 20 and 20: v = 2/1 · (25+25)/1600 = 0.0625,
// p(1-p)/N = 0.1875/40.
func TestSpreadByHand(t *testing.T) {
	deff, nEff := stats.Spread([]stats.Share{{Rooted: 10, Stuck: 20}, {Rooted: 20, Stuck: 20}})
	near(t, "deff", deff, 0.0625/(0.1875/40), 1e-9)
	near(t, "n_eff", nEff, 40/deff, 1e-9)
	if deff, nEff = stats.Spread([]stats.Share{{Rooted: 10, Stuck: 20}, {Rooted: 10, Stuck: 20}}); deff != 0 || nEff != 40 {
		t.Errorf("batches alike: deff %v, n_eff %v", deff, nEff)
	}
}

func TestRateLiesInItsLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shares := make([]stats.Share, rapid.IntRange(0, 6).Draw(t, "lots"))
		for i := range shares {
			shares[i].Stuck = rapid.IntRange(1, 60).Draw(t, "stuck")
			shares[i].Rooted = rapid.IntRange(0, shares[i].Stuck).Draw(t, "rooted")
		}
		r := stats.CrudeRate(shares, 0.95)
		if !(0 <= r.Lower && r.Lower <= r.Estimate && r.Estimate <= r.Upper && r.Upper <= 1) {
			t.Fatalf("%+v of %v", r, shares)
		}
	})
}

package stats_test

import (
	"testing"

	"withybed/models/stats"
)

// byHand is one batch of 20: 2 rooted and 1 lost by day 14, and so on.
func byHand() stats.Lot {
	return stats.Lot{ID: "hand-1", Cuttings: 20, Looks: []stats.Look{
		{Day: 14, Rooted: 2, Lost: 1, Saw: stats.SawRoots}, {Day: 21, Rooted: 8, Saw: stats.SawRoots},
		{Day: 28, Rooted: 4, Lost: 1, Saw: stats.SawRoots}, {Day: 42, Rooted: 1, Saw: stats.SawRoots},
	}}
}

func TestCurveOfOneBatchIsItsFractions(t *testing.T) {
	inc := stats.FitIncidence(stats.Pool([]stats.Lot{byHand()}), 0)
	for _, want := range []struct {
		day          int
		rooted, lost float64
	}{{14, 0.1, 0.05}, {21, 0.5, 0.05}, {28, 0.7, 0.1}, {42, 0.75, 0.1}} {
		rooted, _ := inc.RootedBy(want.day)
		lost, _ := inc.LostBy(want.day)
		near(t, "rooted", rooted, want.rooted, 1e-6)
		near(t, "lost", lost, want.lost, 1e-6)
	}
	near(t, "log-likelihood", inc.LogLikelihood, -33.0518044660373, 1e-6)
	if !inc.Unique || inc.Gap > 1e-6 {
		t.Errorf("unique %v, gap %g", inc.Unique, inc.Gap)
	}
}

// TestOverlap puts all mass where (10,20] and (0,15] overlap.
func TestOverlap(t *testing.T) {
	x := stats.Lot{ID: "x", Cuttings: 5, Looks: []stats.Look{{Day: 10, Saw: stats.SawRoots}, {Day: 20, Rooted: 5, Saw: stats.SawRoots}}}
	y := stats.Lot{ID: "y", Cuttings: 5, Looks: []stats.Look{{Day: 15, Rooted: 5, Saw: stats.SawRoots}, {Day: 30, Saw: stats.SawRoots}}}
	inc := stats.FitIncidence(stats.Pool([]stats.Lot{x, y}), 0)
	if len(inc.Steps) != 1 || inc.Steps[0] != (stats.Step{Fate: stats.FateRooted, From: 10, To: 15, Mass: 1}) {
		t.Errorf("steps %+v", inc.Steps)
	}
	near(t, "log-likelihood", inc.LogLikelihood, 0, 1e-9)
}

// TestPublishedCurves holds the masses against those of Finkelstein & Wolfe
// (1985), as printed by Fay & Shaw (2010), J Stat Softw 36(2).
func TestPublishedCurves(t *testing.T) {
	for _, c := range []struct {
		therapy       string
		logLikelihood float64
		steps         []stats.Step
	}{
		{"Rad", -58.060021953991, []stats.Step{
			{From: 4, To: 5, Mass: .0463467739894489}, {From: 6, To: 7, Mass: .0333633709511438}, {From: 7, To: 8, Mass: .0886673680468059},
			{From: 11, To: 12, Mass: .0707529217952102}, {From: 24, To: 25, Mass: .0926458365914248}, {From: 33, To: 34, Mass: .0817857649103455},
			{From: 38, To: 40, Mass: .120879827410637}, {From: 46, To: 48, Mass: .465558136304984},
		}},
		{"RadChem", -65.6369649076862, []stats.Step{
			{From: 4, To: 5, Mass: .0432826277005464}, {From: 5, To: 8, Mass: .0432826277005464}, {From: 11, To: 12, Mass: .0692055833607907},
			{From: 16, To: 17, Mass: .145397715247482}, {From: 18, To: 19, Mass: .141094897677737}, {From: 19, To: 20, Mass: .115745925784216},
			{From: 24, To: 25, Mass: .0998653107354101}, {From: 30, To: 31, Mass: .0708813765516609}, {From: 35, To: 36, Mass: .160831107425865},
			{From: 44, To: 48, Mass: .0552064139078723}, {From: 48, To: 60, Mass: .0552064139078723},
		}},
	} {
		inc := stats.FitIncidence(stats.Pool(cosmesisLots(c.therapy)), 0)
		near(t, c.therapy+" log-likelihood", inc.LogLikelihood, c.logLikelihood, 1e-6)
		if len(inc.Steps) != len(c.steps) {
			t.Fatalf("%s has %d steps, want %d: %+v", c.therapy, len(inc.Steps), len(c.steps), inc.Steps)
		}
		for i, want := range c.steps {
			got := inc.Steps[i]
			if got.Fate != want.Fate || got.From != want.From || got.To != want.To {
				t.Errorf("%s step %d is %+v, want %+v", c.therapy, i, got, want)
			}
			near(t, c.therapy+" mass", got.Mass, want.Mass, 1e-4)
		}
	}
}

// TestTiesAreReached is two batches of which half had rooted by day 42 at the
// latest, exactly 28 of 56.
func TestTiesAreReached(t *testing.T) {
	lots := []stats.Lot{lotOf("A", 30, 14, 3, 28, 6, 42, 6), lotOf("B", 26, 10, 1, 21, 3, 35, 5, 56, 4)}
	tau, _ := tauOf(lots)
	got := stats.FitIncidence(stats.Pool(lots), 0).DayOf(0.5, tau)
	if want := (stats.DayBracket{Status: stats.Reached, After: 35, By: 42}); got != want {
		t.Errorf("half of stuck: %+v, want %+v (tau %d)", got, want, tau)
	}
}

// lotOf is a lot whose roots were looked at, given as days and newly rooted.
func lotOf(id string, cuttings int, looks ...int32) stats.Lot {
	lot := stats.Lot{ID: id, Cuttings: cuttings}
	for i := 0; i < len(looks); i += 2 {
		lot.Looks = append(lot.Looks, stats.Look{Day: looks[i], Rooted: looks[i+1], Saw: stats.SawRoots})
	}
	return lot
}

func TestDaysToRootByHand(t *testing.T) {
	inc := stats.FitIncidence(stats.Pool([]stats.Lot{byHand()}), 0)
	for _, c := range []struct {
		q             float64
		stuck, rooted stats.DayBracket
	}{
		{0.1, stats.DayBracket{Status: stats.Reached, After: 0, By: 14}, stats.DayBracket{Status: stats.Reached, After: 0, By: 14}},
		{0.5, stats.DayBracket{Status: stats.Reached, After: 14, By: 21}, stats.DayBracket{Status: stats.Reached, After: 14, By: 21}},
		{0.9, stats.DayBracket{Status: stats.NotReached}, stats.DayBracket{Status: stats.Reached, After: 21, By: 28}},
	} {
		if got := inc.DayOf(c.q, 42); got != c.stuck {
			t.Errorf("%g of stuck: %+v, want %+v", c.q, got, c.stuck)
		}
		if got := inc.DayOfRooted(c.q, 42); got != c.rooted {
			t.Errorf("%g of rooted: %+v, want %+v", c.q, got, c.rooted)
		}
	}
}

// TestWithdrawnAreNoLosses is 20 stuck, 2 lifted unrooted on day 14 and 9 rooted
// by day 28: half of the 18 that were watched.
func TestWithdrawnAreNoLosses(t *testing.T) {
	lot := stats.Lot{ID: "w", Cuttings: 20, Looks: []stats.Look{
		{Day: 14, Withdrawn: 2, Saw: stats.SawRoots}, {Day: 28, Rooted: 9, Saw: stats.SawRoots}}}
	rooted, _ := stats.FitIncidence(stats.Pool([]stats.Lot{lot}), 0).RootedBy(28)
	near(t, "rooted by day 28", rooted, 0.5, 1e-6)
}

func TestLimitsOfADay(t *testing.T) {
	days := []int{14, 21, 28, 42}
	for _, c := range []struct {
		lower, upper []float64
		from, to     int
		ok           bool
	}{
		{[]float64{0, .2, .5, .6}, []float64{.3, .6, .7, .8}, 14, 28, true},
		{[]float64{0, .2, .5, .6}, []float64{.6, .6, .7, .8}, 0, 28, true},
		{[]float64{0, .1, .2, .4}, []float64{.3, .4, .45, .6}, 28, 0, true},
		{[]float64{0, .1, .2, .3}, []float64{.1, .2, .3, .4}, 0, 0, false},
		{[]float64{0, .1, .5, .6}, []float64{.9, .4, .7, .8}, 21, 28, true}, // wide where nothing is known
	} {
		if from, to, ok := stats.DayLimits(days, c.lower, c.upper, .5); from != c.from || to != c.to || ok != c.ok {
			t.Errorf("%v to %v: from %d to %d, want %d to %d", c.lower, c.upper, from, to, c.from, c.to)
		}
	}
}

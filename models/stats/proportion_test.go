package stats_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"withybed/models/stats"
)

func ExampleWilson() {
	i := stats.Wilson(14, 20, 0.95)
	fmt.Printf("14 of 20 rooted: between %.0f %% and %.0f %%\n", 100*i.Lower, 100*i.Upper)
	// Output: 14 of 20 rooted: between 48 % and 85 %
}

func ExampleWilsonScore() {
	// 62 % of a sample worth 40 independent cuttings, in 4 batches: t with 3
	// degrees of freedom.
	i := stats.WilsonScore(0.62, 40, 3.182446)
	fmt.Printf("%.3f to %.3f\n", i.Lower, i.Upper)
	// Output: 0.376 to 0.815
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %.10g, want %.10g within %g", what, got, want, within)
	}
}

// The first four are table I of Newcombe (1998), method 3.
func TestWilsonReferenceValues(t *testing.T) {
	for _, c := range []struct {
		x, n         int
		confidence   float64
		lower, upper float64
	}{
		{81, 263, 0.95, 0.2553, 0.3662},
		{15, 148, 0.95, 0.0624, 0.1605},
		{0, 20, 0.95, 0, 0.1611},
		{1, 29, 0.95, 0.0061, 0.1718},
		{20, 20, 0.95, 0.8389, 1},
		{10, 20, 0.95, 0.2993, 0.7007},
		{1, 1, 0.95, 0.2065, 1},
	} {
		i := stats.Wilson(c.x, c.n, c.confidence)
		name := fmt.Sprintf("%d of %d", c.x, c.n)
		near(t, name+" lower", i.Lower, c.lower, 5e-5)
		near(t, name+" upper", i.Upper, c.upper, 5e-5)
	}
}

// At 95 % the quantile must be the normal one to the last digits.
func TestWilsonUsesTheNormalQuantile(t *testing.T) {
	got, want := stats.Wilson(7, 30, 0.95), stats.WilsonScore(7.0/30, 30, 1.959963984540054)
	near(t, "lower", got.Lower, want.Lower, 1e-15)
	near(t, "upper", got.Upper, want.Upper, 1e-15)
}

func TestWilsonEndsAreExact(t *testing.T) {
	for _, n := range []int{1, 3, 20, 200_000, 10_000_000} {
		if i := stats.Wilson(0, n, 0.95); i.Lower != 0 || !(i.Upper < 1) {
			t.Errorf("0 of %d: %v", n, i)
		}
		if i := stats.Wilson(n, n, 0.95); i.Upper != 1 || !(i.Lower > 0) {
			t.Errorf("%d of %d: %v", n, n, i)
		}
	}
}

func TestWilsonOutsideItsDomain(t *testing.T) {
	nothing := stats.Interval{Lower: 0, Upper: 1}
	nan, inf := math.NaN(), math.Inf(1)
	for name, c := range map[string]struct{ got, want stats.Interval }{
		"no cuttings":       {stats.Wilson(0, 0, 0.95), nothing},
		"n below 0":         {stats.Wilson(0, -5, 0.95), nothing},
		"x above n":         {stats.Wilson(21, 20, 0.95), stats.Wilson(20, 20, 0.95)},
		"x below 0":         {stats.Wilson(-1, 20, 0.95), stats.Wilson(0, 20, 0.95)},
		"full confidence":   {stats.Wilson(5, 20, 1), nothing},
		"above full":        {stats.Wilson(5, 20, 95), nothing},
		"no confidence":     {stats.Wilson(5, 20, 0), stats.Interval{Lower: 0.25, Upper: 0.25}},
		"confidence NaN":    {stats.Wilson(5, 20, nan), nothing},
		"p NaN":             {stats.WilsonScore(nan, 20, 2), nothing},
		"n NaN":             {stats.WilsonScore(0.5, nan, 2), nothing},
		"n infinite":        {stats.WilsonScore(0.5, inf, 2), nothing},
		"z infinite":        {stats.WilsonScore(0.5, 20, inf), nothing},
		"z below 0":         {stats.WilsonScore(0.5, 20, -1), stats.Interval{Lower: 0.5, Upper: 0.5}},
		"z 0, nothing took": {stats.WilsonScore(0, 20, 0), stats.Interval{}},
	} {
		if c.got != c.want {
			t.Errorf("%s: %v, want %v", name, c.got, c.want)
		}
	}
}

// Where z is 0 both ends are p, and rounding alone decides on which side.
func TestWilsonScoreHoldsItsShareDespiteRounding(t *testing.T) {
	for percent := range 101 {
		p := float64(percent) / 100
		i := stats.WilsonScore(p, 20, 0)
		if !(p-1e-15 <= i.Lower && i.Lower <= p && p <= i.Upper && i.Upper <= p+1e-15) {
			t.Errorf("%v: %v", p, i)
		}
	}
}

func TestWilsonProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 10_000_000).Draw(t, "n")
		x := rapid.IntRange(0, n).Draw(t, "x")
		confidence := rapid.Float64Range(0.01, 0.999).Draw(t, "confidence")
		i, p := stats.Wilson(x, n, confidence), float64(x)/float64(n)
		if !(0 <= i.Lower && i.Lower <= p && p <= i.Upper && i.Upper <= 1) {
			t.Fatalf("%v does not hold %v inside 0 to 1", i, p)
		}
		mirror := stats.Wilson(n-x, n, confidence)
		if math.Abs(mirror.Lower-(1-i.Upper)) > 1e-12 || math.Abs(mirror.Upper-(1-i.Lower)) > 1e-12 {
			t.Fatalf("%v and %v are no mirror images", i, mirror)
		}
		wider := stats.Wilson(x, n, confidence+(1-confidence)/2)
		if wider.Lower > i.Lower || wider.Upper < i.Upper {
			t.Fatalf("more confidence gave %v inside %v", wider, i)
		}
	})
}

// Both ends solve the equation they are the roots of.
func TestWilsonScoreSolvesItsEquation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.Float64Range(0.001, 0.999).Draw(t, "p")
		n := rapid.Float64Range(0.5, 5000).Draw(t, "n")
		z := rapid.Float64Range(0.1, 12.7).Draw(t, "z")
		i := stats.WilsonScore(p, n, z)
		for _, end := range []float64{i.Lower, i.Upper} {
			left, right := n*(p-end)*(p-end), z*z*end*(1-end)
			if math.Abs(left-right) > 1e-9*(1+n) {
				t.Fatalf("at %v: %v is not %v", end, left, right)
			}
		}
	})
}

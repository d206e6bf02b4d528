package stats_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"withybed/models/stats"
)

func usualMixture() stats.Mixture {
	return stats.Mixture{
		PiRoot: 0.7, PiLoss: 0.2, PiNever: 0.1,
		Rooting: stats.Law{Family: stats.LogNormal, Mu: 3.2, Sigma: 0.4},
		Losing:  stats.Law{Family: stats.Weibull, Mu: 3.5, Sigma: 0.7},
	}
}

func foretell(t interface{ Fatal(...any) }, m stats.Mixture, rho float64, s stats.LotState) *stats.Prospect {
	p, err := stats.Foretell(m, rho, s)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// On day 0 the number that ever roots is beta-binomial, exactly.
func TestAtStickingTheEndIsBetaBinomial(t *testing.T) {
	for _, rho := range []float64{0.0001, 0.01, 0.08, 0.5, 0.9} {
		for _, n := range []int{1, 7, 72, 400} {
			p := foretell(t, usualMixture(), rho, stats.LotState{Open: n})
			want := stats.BetaBinomialCounts(n, 0.7, rho)
			for k, got := range p.Counts(math.Inf(1)) {
				if math.Abs(got-want[k]) > 1e-7 {
					t.Fatalf("rho %g, %d of %d: %g, and not %g", rho, k, n, got, want[k])
				}
			}
		}
	}
}

// Where all that do not root stay, and time is over, what was found gives the
// beta law its usual update.
func TestWhatWasFoundMovesTheShare(t *testing.T) {
	m := stats.Mixture{PiRoot: 0.6, PiNever: 0.4, Rooting: stats.Law{Family: stats.LogLogistic, Mu: 3, Sigma: 0.3}}
	a, b := 0.6*0.92/0.08, 0.4*0.92/0.08
	s := stats.LotState{Rooted: 30, Lost: 10, Open: 20} // on day 0 the open ones tell nothing
	want := (a + 30) / (a + b + 40)
	if got := foretell(t, m, 0.08, s).Chance(math.Inf(1)); math.Abs(got-want) > 1e-9 {
		t.Errorf("%g, and not %g", got, want)
	}
}

// Without differences between lots it is one binomial.
func TestWithoutDifferencesItIsBinomial(t *testing.T) {
	m, s := usualMixture(), stats.LotState{Day: 21, Rooted: 10, Lost: 4, Open: 40}
	p := foretell(t, m, 0, s)
	g, h := m.Rooting.By, func(d float64) float64 { return m.PiLoss / (m.PiLoss + m.PiNever) * m.Losing.By(d) }
	want := 0.7 * (g(35) - g(21)) / (0.7*(1-g(21)) + 0.3*(1-h(21)))
	if got := p.Chance(35); math.Abs(got-want) > 1e-12 {
		t.Errorf("%g, and not %g", got, want)
	}
	if got := p.Counts(35)[0]; math.Abs(got-math.Pow(1-want, 40)) > 1e-12 {
		t.Errorf("none: %g", got)
	}
}

func TestProspectsThatCannotBe(t *testing.T) {
	for _, c := range []struct {
		m   stats.Mixture
		rho float64
		s   stats.LotState
	}{
		{usualMixture(), 0.1, stats.LotState{Open: -1}},
		{usualMixture(), 1, stats.LotState{Open: 1}},
		{usualMixture(), math.NaN(), stats.LotState{Open: 1}},
		{stats.Mixture{}, 0.1, stats.LotState{Open: 1}},
	} {
		if _, err := stats.Foretell(c.m, c.rho, c.s); err == nil {
			t.Errorf("%+v has a prospect", c)
		}
	}
}

func TestProspectProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := usualMixture()
		m.PiRoot = rapid.Float64Range(0.01, 1).Draw(t, "pi")
		m.PiLoss = (1 - m.PiRoot) * rapid.Float64Range(0, 1).Draw(t, "lost of the others")
		m.PiNever = 1 - m.PiRoot - m.PiLoss
		m.Rooting.Family = rapid.SampledFrom(stats.Families()).Draw(t, "family")
		s := stats.LotState{
			Day: rapid.IntRange(0, 400).Draw(t, "day"), Rooted: rapid.IntRange(0, 300).Draw(t, "rooted"),
			Lost: rapid.IntRange(0, 300).Draw(t, "lost"), Open: rapid.IntRange(0, 300).Draw(t, "open"),
		}
		p := foretell(t, m, rapid.Float64Range(0, 0.95).Draw(t, "rho"), s)
		wanted := rapid.IntRange(0, s.Rooted+s.Open+1).Draw(t, "wanted")
		before, least := -1.0, -1.0
		for _, day := range []float64{float64(s.Day), float64(s.Day + 7), float64(s.Day + 30), math.Inf(1)} {
			sum := 0.0
			for _, height := range p.Counts(day) {
				if sum += height; !(height >= 0) {
					t.Fatalf("a chance of %g", height)
				}
			}
			lower, upper, mass := p.Band(day, 0.8)
			expected, chance := p.Expected(day), p.AtLeast(wanted, day)
			switch {
			case math.Abs(sum-1) > 1e-9:
				t.Fatalf("chances sum to %g", sum)
			case lower < s.Rooted || upper > s.Rooted+s.Open || lower > upper || mass < 0.8-1e-9:
				t.Fatalf("a band from %d to %d that holds %g", lower, upper, mass)
			case expected < before-1e-9 || chance < least-1e-9:
				t.Fatalf("fewer by a later day: %g after %g, %g after %g", expected, before, chance, least)
			}
			before, least = expected, chance
		}
		day, ok := p.FirstDay(wanted, 0.9, s.Day+200)
		switch {
		case ok && (p.AtLeast(wanted, float64(day)) < 0.9 || day > s.Day && p.AtLeast(wanted, float64(day-1)) >= 0.9):
			t.Fatalf("day %d is not the first", day)
		case ok && wanted <= s.Rooted && day != s.Day:
			t.Fatalf("they are there, and day %d is foretold", day)
		case !ok && p.AtLeast(wanted, float64(s.Day+200)) >= 0.9:
			t.Fatal("a day was not found")
		}
	})
}

func TestRankedScore(t *testing.T) {
	for _, c := range []struct {
		pmf  []float64
		came int
		want float64
	}{
		{[]float64{0, 1, 0}, 1, 0},
		{[]float64{1, 0, 0}, 2, 1},
		{[]float64{0.5, 0.5}, 1, 0.25},
		{[]float64{0.25, 0.5, 0.25}, 1, 0.0625},
		{[]float64{1}, 0, 0},
	} {
		if got := stats.RankedScore(c.pmf, c.came); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%v, %d: %g, and not %g", c.pmf, c.came, got, c.want)
		}
	}
}

func ExampleForetell() {
	m := stats.Mixture{PiRoot: 0.8, PiNever: 0.2, Rooting: stats.Law{Family: stats.LogNormal, Mu: math.Log(28), Sigma: 0.3}}
	p, _ := stats.Foretell(m, 0.08, stats.LotState{Day: 28, Rooted: 30, Lost: 2, Open: 40})
	lower, upper, _ := p.Band(math.Inf(1), 0.8)
	day, _ := p.FirstDay(45, 0.9, 168)
	fmt.Printf("%.1f in the end, %d to %d; 45 by day %d\n", p.Expected(math.Inf(1)), lower, upper, day)
	// Output: 55.6 in the end, 49 to 62; 45 by day 41
}

func ExampleRankedScore() {
	fmt.Println(stats.RankedScore([]float64{0.25, 0.5, 0.25}, 1))
	// Output: 0.0625
}

func ExampleBetaBinomialCounts() {
	fmt.Printf("%.3f\n", stats.BetaBinomialCounts(2, 0.5, 1.0/3))
	// Output: [0.333 0.333 0.333]
}

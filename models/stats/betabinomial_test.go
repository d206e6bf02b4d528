package stats_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"withybed/models/stats"
)

// crowder are seeds that came up on 21 plates, of those sown. Crowder (1978), Appl
// Stat 27:34-37.
func crowder() []stats.Share {
	x := []int{10, 23, 23, 26, 17, 5, 53, 55, 32, 46, 10, 8, 10, 8, 23, 0, 3, 22, 15, 32, 3}
	n := []int{39, 62, 81, 51, 39, 6, 74, 72, 51, 79, 13, 16, 30, 28, 45, 4, 12, 41, 30, 51, 7}
	shares := make([]stats.Share, len(x))
	for i := range x {
		shares[i] = stats.Share{Rooted: x[i], Stuck: n[i]}
	}
	return shares
}

func ExampleFitBetaBinomial() {
	fit, err := stats.FitBetaBinomial([]stats.Share{{Rooted: 14, Stuck: 20}, {Rooted: 6, Stuck: 20}, {Rooted: 17, Stuck: 20}, {Rooted: 11, Stuck: 20}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("mean %.2f, two cuttings of a batch are alike by %.2f\n", fit.Mu, fit.Rho)
	// Output: mean 0.60, two cuttings of a batch are alike by 0.12
}

// TestPublishedSpread has the values of all plates together, worked out with R VGAM.
func TestPublishedSpread(t *testing.T) {
	fit, err := stats.FitBetaBinomial(crowder())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mu", fit.Mu, .493572, 1e-4)
	near(t, "rho", fit.Rho, .081572, 5e-4)
	near(t, "log-likelihood", fit.LogLikelihood, -64.516283, 1e-4)
	if !(fit.LogLikelihoodBinomial < fit.LogLikelihood) || fit.TaroneP > 1e-6 {
		t.Errorf("%+v", fit)
	}
}

func TestWhatTellsNoSpread(t *testing.T) {
	for _, c := range []struct {
		shares []stats.Share
		why    error
	}{
		{nil, stats.ErrOneLot}, {[]stats.Share{{Rooted: 3, Stuck: 9}}, stats.ErrOneLot},
		{[]stats.Share{{Stuck: 9}, {Stuck: 9}}, stats.ErrAllAlike}, {[]stats.Share{{Rooted: 9, Stuck: 9}, {Rooted: 5, Stuck: 5}}, stats.ErrAllAlike},
		{[]stats.Share{{Rooted: 9, Stuck: 9}, {Stuck: 5}}, stats.ErrWholes}, {[]stats.Share{{Rooted: 1, Stuck: 1}, {Stuck: 1}}, stats.ErrSingles},
	} {
		if _, err := stats.FitBetaBinomial(c.shares); !errors.Is(err, c.why) || !errors.Is(err, stats.ErrSpread) {
			t.Errorf("%v: %v, want %v", c.shares, err, c.why)
		}
	}
}

// TestBatchesAlikeHaveNoSpread has less spread than chance alone would give.
func TestBatchesAlikeHaveNoSpread(t *testing.T) {
	fit, err := stats.FitBetaBinomial([]stats.Share{{Rooted: 10, Stuck: 20}, {Rooted: 10, Stuck: 20}, {Rooted: 11, Stuck: 20}})
	if err != nil || fit.Rho != 0 || fit.LogLikelihood != fit.LogLikelihoodBinomial || fit.TaroneZ >= 0 || fit.TaroneP < .5 {
		t.Errorf("%+v, %v", fit, err)
	}
}

// TestSpreadIsFoundAgain draws 400 lots with a known spread.
func TestSpreadIsFoundAgain(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 5))
	shares, _, _ := drawShares(random, 400, 0.6, 0.08)
	fit, err := stats.FitBetaBinomial(shares)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mu", fit.Mu, 0.6, 0.03)
	near(t, "rho", fit.Rho, 0.08, 0.02)
}

// TestLargeLots wants what is had from integrals to be what is had one by one, and that
// lots of any size are weighed at once: one by one these would take minutes.
func TestLargeLots(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shares := []stats.Share{{Rooted: 3, Stuck: 10}}
		for range rapid.IntRange(1, 4).Draw(t, "lots") {
			stuck := rapid.IntRange(200, 3000).Draw(t, "stuck")
			shares = append(shares, stats.Share{Rooted: rapid.IntRange(1, stuck-1).Draw(t, "rooted"), Stuck: stuck})
		}
		fit, err := stats.FitBetaBinomial(shares)
		if err != nil {
			t.Fatal(err)
		}
		plain, at := 0.0, 0.0
		for _, s := range shares {
			plain += math.Log(stats.BetaBinomialCounts(s.Stuck, fit.Mu, fit.Rho)[s.Rooted])
			for j := range s.Rooted {
				at += 1 / (fit.Mu + float64(j)*fit.Theta)
			}
			for j := range s.Stuck - s.Rooted {
				at -= 1 / (1 - fit.Mu + float64(j)*fit.Theta)
			}
		}
		if math.Abs(plain-fit.LogLikelihood) > 1e-8*math.Abs(plain) {
			t.Fatalf("the likelihood is %.12g, and one by one %.12g", fit.LogLikelihood, plain)
		}
		if math.Abs(at) > 1e-6*fit.Mu*float64(shares[1].Stuck) && fit.Theta > 0 {
			t.Fatalf("the slope in the mean is %g at %+v", at, fit)
		}
	})
	const million = 1_000_000
	fit, err := stats.FitBetaBinomial([]stats.Share{{Rooted: 600 * million, Stuck: 1000 * million}, {Rooted: 400 * million, Stuck: 1000 * million}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mu", fit.Mu, 0.5, 1e-6)
	near(t, "rho", fit.Rho, 1/(1+2*12.0), 0.005) // two rates .1 from their mean: mu(1-mu)/(2a+1) = .01
}

// TestLikeliestOfAll holds the fit against other values: none is likelier by the
// plain formula.
func TestLikeliestOfAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shares := make([]stats.Share, rapid.IntRange(2, 6).Draw(t, "lots"))
		for i := range shares {
			shares[i].Stuck = rapid.IntRange(1, 30).Draw(t, "stuck")
			shares[i].Rooted = rapid.IntRange(0, shares[i].Stuck).Draw(t, "rooted")
		}
		fit, err := stats.FitBetaBinomial(shares)
		if err != nil {
			return
		}
		if math.IsNaN(fit.LogLikelihood) || !(0 < fit.Mu && fit.Mu < 1) || !(0 <= fit.Rho && fit.Rho < 1) || !(0 <= fit.TaroneP && fit.TaroneP <= 1) {
			t.Fatalf("%+v", fit)
		}
		mean, rho := rapid.Float64Range(.01, .99).Draw(t, "mean"), rapid.Float64Range(.001, .95).Draw(t, "rho")
		other := 0.0
		for _, s := range shares {
			other += math.Log(stats.BetaBinomialCounts(s.Stuck, mean, rho)[s.Rooted])
		}
		if other > fit.LogLikelihood+1e-6 {
			t.Fatalf("%+v is less likely than mean %v and rho %v: %v", fit, mean, rho, other)
		}
	})
}

func ExampleCuttingsNeeded() {
	alike, _ := stats.CuttingsNeeded(100, 0.6, 0, 0.9)
	differ, _ := stats.CuttingsNeeded(100, 0.6, 0.08, 0.9)
	over, _ := stats.CuttingsNeededOver(5, 100, 0.6, 0.08, 0.9)
	fmt.Println(alike, "if batches were alike,", differ, "in one batch,", over, "over five")
	// Output: 180 if batches were alike, 243 in one batch, 196 over five
}

// TestNeedOfAnyRate has rates that are any with equal chance: P(X ≥ N) = (n-N+1)/(n+1),
// so that nine in ten takes 10 N - 1. And RULES of a chain known exactly: .90 × .70
// × .90 × .95, worked out with the binomial law.
func TestNeedOfAnyRate(t *testing.T) {
	for plants, want := range map[int]int{1: 9, 5: 49, 20: 199} {
		if got, ok := stats.CuttingsNeeded(plants, 0.5, 1.0/3, 0.9); !ok || got != want {
			t.Errorf("%d plants need %d, want %d", plants, got, want)
		}
	}
	for _, c := range []struct {
		plants    int
		rate      float64
		need, ten int
	}{{200, .90 * .70 * .90 * .95, 394, 401}, {200, .95 * .94 * .95 * .95, 258, 261}, {500, .95 * .60 * .85 * .90, 1196, 1211}} {
		for assurance, want := range map[float64]int{.90: c.need, .95: c.ten} {
			if got, ok := stats.CuttingsNeeded(c.plants, c.rate, 0, assurance); !ok || got != want {
				t.Errorf("%d plants at %v need %d, want %d", c.plants, assurance, got, want)
			}
		}
	}
	if _, ok := stats.CuttingsNeeded(1000, 0.001, 0.3, 0.99); ok {
		t.Error("what is out of reach is reached")
	}
	if got, ok := stats.CuttingsNeeded(0, 0.5, 0.1, 0.9); !ok || got != 0 {
		t.Error("nothing needs", got)
	}
}

func TestNeedIsTheSmallest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		plants, mean := rapid.IntRange(1, 60).Draw(t, "plants"), rapid.Float64Range(.1, .95).Draw(t, "mean")
		rho, assurance := rapid.Float64Range(0, .2).Draw(t, "rho"), rapid.Float64Range(.5, .95).Draw(t, "assurance")
		n, ok := stats.CuttingsNeeded(plants, mean, rho, assurance)
		if !ok {
			return
		}
		if stats.AtLeast(plants, n, mean, rho) < assurance-1e-8 || n > plants && stats.AtLeast(plants, n-1, mean, rho) >= assurance+1e-9 {
			t.Fatalf("%d of %d", plants, n)
		}
		if more, ok := stats.CuttingsNeeded(plants+1, mean, rho, assurance); ok && more < n {
			t.Fatalf("one plant more needs %d, not %d", more, n)
		}
		if surer, ok := stats.CuttingsNeeded(plants, mean, rho, min(.99, assurance+.04)); ok && surer < n {
			t.Fatalf("to be surer needs %d, not %d", surer, n)
		}
	})
}

func TestNoSpreadIsBinomial(t *testing.T) {
	for k := range 21 {
		want := 1 - distuv.Binomial{N: 20, P: .6}.CDF(float64(k)-1)
		if k == 0 {
			want = 1
		}
		near(t, "at least", stats.AtLeast(k, 20, .6, 0), want, 1e-9)
		near(t, "at least, nearly alike", stats.AtLeast(k, 20, .6, 1e-9), want, 1e-7)
	}
	before, after := stats.AtLeast(30_000, 50_000, .605, .99e-4), stats.AtLeast(30_000, 50_000, .605, 1.01e-4)
	near(t, "many cuttings nearly alike", before, after, 4e-3)
}

// TestChain has three steps with beta laws (18, 2), (14, 6) and (45, 5): 15 of 30
// come through with a chance of .7390, worked out by adding up over the shares too.
func TestChain(t *testing.T) {
	counts := stats.ChainCounts(30, []stats.BetaLaw{{A: 18, B: 2}, {A: 14, B: 6}, {A: 45, B: 5}})
	sum := 0.0
	for _, p := range counts[15:] {
		sum += p
	}
	near(t, "15 or more", sum, .7390, 5e-5)
}

// TestChainOfAnySteps holds one step against its law, and steps against the same
// steps in another order.
func TestChainOfAnySteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(0, 60).Draw(t, "k")
		steps := make([]stats.BetaLaw, rapid.IntRange(1, 4).Draw(t, "steps"))
		for i := range steps {
			steps[i] = stats.BetaLaw{A: rapid.Float64Range(.1, 200).Draw(t, "a"), B: rapid.Float64Range(.1, 200).Draw(t, "b")}
		}
		one := stats.BetaBinomialCounts(k, steps[0].Mean(), steps[0].Rho())
		for x, p := range stats.ChainCounts(k, steps[:1]) {
			if math.Abs(p-one[x]) > 1e-9 {
				t.Fatalf("%d of %d: %v, by the law %v", x, k, p, one[x])
			}
		}
		counts, sum := stats.ChainCounts(k, steps), 0.0
		slices.Reverse(steps)
		for x, p := range stats.ChainCounts(k, steps) {
			if sum += p; math.Abs(p-counts[x]) > 1e-9 {
				t.Fatalf("%d of %d: %v, in another order %v", x, k, counts[x], p)
			}
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Fatalf("all sum to %v", sum)
		}
	})
}

// TestChainNeedsMore has 15 plants of the chain above: 30 cuttings do with .7390.
func TestChainNeedsMore(t *testing.T) {
	steps := []stats.BetaLaw{{A: 18, B: 2}, {A: 14, B: 6}, {A: 45, B: 5}}
	chance := func(k int) float64 { return stats.AtLeastInChain(15, k, steps) }
	near(t, "30 cuttings", chance(30), .7390, 5e-5)
	for assurance, want := range map[float64]int{.7390: 30, .9: 36} {
		if k, ok := stats.Smallest(15, stats.MostChained, assurance, chance); !ok || k != want || chance(k-1) >= assurance {
			t.Errorf("%d cuttings at %v, want %d", k, assurance, want)
		}
	}
	if k, ok := stats.Smallest(0, stats.MostChained, .9, func(k int) float64 { return stats.AtLeastInChain(0, k, steps) }); !ok || k != 0 {
		t.Errorf("no plants need %d", k)
	}
	if _, ok := stats.Smallest(9000, stats.MostChained, .9, func(k int) float64 { return stats.AtLeastInChain(9000, k, steps) }); ok {
		t.Error("what is out of reach is reached")
	}
}

func BenchmarkChain(b *testing.B) {
	for b.Loop() {
		stats.ChainCounts(2000, []stats.BetaLaw{{A: 18, B: 2}, {A: 14, B: 6}, {A: 45, B: 5}})
	}
}

// TestSumsOfLots holds the sum of lots against drawing them, and one lot against
// itself.
func TestSumsOfLots(t *testing.T) {
	for _, lots := range []int{2, 3, 7} {
		n, ok := stats.CuttingsNeededOver(lots, 60, .6, .08, .9)
		random, hits := rand.New(rand.NewPCG(4, uint64(lots))), 0
		const runs = 4000
		for range runs {
			law, rooted := distuv.Beta{Alpha: .6 * .92 / .08, Beta: .4 * .92 / .08, Src: random}, 0
			for i := range lots {
				p := law.Rand()
				for range n/lots + min(1, max(0, n%lots-i)) {
					if random.Float64() < p {
						rooted++
					}
				}
			}
			if rooted >= 60 {
				hits++
			}
		}
		if share := float64(hits) / runs; !ok || math.Abs(share-.9) > .025 {
			t.Errorf("%d cuttings over %d lots: %v", n, lots, share)
		}
	}
}

// TestBatchesToFindADifference has .60 against .75 with rho .08, at power .8.
func TestBatchesToFindADifference(t *testing.T) {
	for cuttings, want := range map[int]int{15: 23, 30: 18, 60: 16} {
		if got, ok := stats.BatchesPerArm(.75, .60, cuttings, .08, .8); !ok || got != want {
			t.Errorf("%d batches of %d, want %d", got, cuttings, want)
		}
	}
	if _, ok := stats.BatchesPerArm(.6, .6, 30, .08, .8); ok {
		t.Error("no difference is found")
	}
	if _, ok := stats.BatchesPerArm(.6001, .6, 30, .08, .8); ok {
		t.Error("a difference that nobody can find is found")
	}
}

// TestPowerOfT has the level at no difference, and G*Power's textbook case: d = 0.5
// with 64 a group has power .8015 (Cohen 1988, table 2.4.1: n = 64 for .80).
func TestPowerOfT(t *testing.T) {
	near(t, "power without a difference", stats.TPower(0, 6), .05, 1e-6)
	near(t, "power", stats.TPower(0.5*math.Sqrt(32), 126), .8015, 5e-4)
}

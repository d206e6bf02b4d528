package stats_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"withybed/models/stats"
)

func ExamplePosterior() {
	laws := stats.Posterior([]stats.Share{{Rooted: 14, Stuck: 20}, {Rooted: 9, Stuck: 20}, {Rooted: 18, Stuck: 24}})
	n, _ := stats.Smallest(30, stats.MostCuttings, 0.9, func(n int) float64 { return stats.AtLeastOver(laws, 1, 30, n) })
	law := stats.Alike(laws)
	fmt.Printf("%d cuttings; a new batch roots %.2f on average\n", n, law.Mean())
	// Output: 73 cuttings; a new batch roots 0.63 on average
}

// TestSinglesTellTheMeanAlone has one cutting in each lot: the likelihood does not
// know rho, so that the mean has the law Beta(r+1/2, n-r+1/2) and rho is the usual.
func TestSinglesTellTheMeanAlone(t *testing.T) {
	shares := make([]stats.Share, 20)
	for i := range shares {
		shares[i] = stats.Share{Rooted: min(1, i/6), Stuck: 1} // 14 of 20
	}
	mean, square, weight := 0.0, 0.0, 0.0
	for _, l := range stats.Posterior(shares) {
		near(t, "rho", l.Rho, stats.UsualRho, 1e-3)
		mean, square, weight = mean+l.Weight*l.Mean, square+l.Weight*l.Mean*l.Mean, weight+l.Weight
	}
	near(t, "weight", weight, 1, 1e-12)
	near(t, "mean", mean, 14.5/21, 1e-4)
	near(t, "variance", square-mean*mean, 14.5*6.5/(21*21*22), 1e-4)
}

// TestManyLotsTellTheLaw draws 400 lots: what is known of the law is the law.
func TestManyLotsTellTheLaw(t *testing.T) {
	shares, _, _ := drawShares(rand.New(rand.NewPCG(5, 5)), 400, 0.6, 0.08)
	law := stats.Alike(stats.Posterior(shares))
	fit, err := stats.FitBetaBinomial(shares)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", law.Mean(), fit.Mu, 2e-3)
	near(t, "rho", law.Rho(), fit.Rho, 3e-3)
}

// TestAlikeHasMeanAndVariance of what it stands for.
func TestAlikeHasMeanAndVariance(t *testing.T) {
	one := stats.Alike([]stats.RateLaw{{Mean: 0.7, Rho: 0.05, Weight: 1}})
	near(t, "mean", one.Mean(), 0.7, 1e-12)
	near(t, "rho", one.Rho(), 0.05, 1e-12)
	two := stats.Alike([]stats.RateLaw{{Mean: 0.4, Weight: 0.5}, {Mean: 0.6, Weight: 0.5}})
	near(t, "mean of two", two.Mean(), 0.5, 1e-12)
	near(t, "rho of two", two.Rho(), 0.01/0.25, 1e-12)
}

func TestPosteriorOfAnyLots(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shares := make([]stats.Share, rapid.IntRange(1, 8).Draw(t, "lots"))
		for i := range shares {
			shares[i].Stuck = rapid.IntRange(1, 60).Draw(t, "stuck")
			shares[i].Rooted = rapid.IntRange(0, shares[i].Stuck).Draw(t, "rooted")
		}
		laws, sum := stats.Posterior(shares), 0.0
		for _, l := range laws {
			if !(0 < l.Mean && l.Mean < 1 && 0 < l.Rho && l.Rho < 1 && l.Weight >= 0) {
				t.Fatalf("%+v of %v", l, shares)
			}
			sum += l.Weight
		}
		if sum < 1-1e-9 || sum > 1+1e-9 {
			t.Fatalf("weights of %v sum to %v", shares, sum)
		}
		slices.Reverse(shares)
		if again := stats.Posterior(shares); !slices.Equal(laws, again) {
			t.Fatal("the order of lots matters")
		}
	})
}

// TestNotKnowingIsAllowedFor has few batches stand for a nursery, again and again:
// taking their mean and rho for the true ones gives 30 plants less often than nine
// times in ten, and weighing what they may be about as often.
func TestNotKnowingIsAllowedFor(t *testing.T) {
	const runs, plants, mean, rho = 100, 30, 0.6, 0.08
	random := rand.New(rand.NewPCG(9, 3))
	known, weighed := 0.0, 0.0
	for range runs {
		shares, _, _ := drawShares(random, 3, mean, rho)
		fit, err := stats.FitBetaBinomial(shares)
		if err != nil {
			t.Fatal(err)
		}
		n, _ := stats.CuttingsNeeded(plants, fit.Mu, fit.Rho, 0.9)
		known += stats.AtLeast(plants, n, mean, rho) / runs
		laws := stats.Posterior(shares)
		n, _ = stats.Smallest(plants, stats.MostCuttings, 0.9, func(n int) float64 { return stats.AtLeastOver(laws, 1, plants, n) })
		weighed += stats.AtLeast(plants, n, mean, rho) / runs
	}
	t.Logf("taken for known %.3f, weighed %.3f", known, weighed)
	if known > 0.86 || weighed < 0.87 || weighed > 0.93 {
		t.Errorf("taken for known %.3f, weighed %.3f", known, weighed)
	}
}

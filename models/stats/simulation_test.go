//go:build simulation

package stats_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"withybed/models/stats"
)

// go test ./models/stats -tags simulation -run Simulated -v
const manyRuns = 2000

// TestSimulatedRejections counts rejections where arms do not differ, batches do
// (rho .05), some cuttings are lost, and batches are watched for different times:
// of batches relabeled freely and within pairs. Standard error .5 points.
func TestSimulatedRejections(t *testing.T) {
	for _, c := range []struct {
		name   string
		lots   int
		paired bool
	}{{"4+4", 8, false}, {"8+8", 16, false}, {"8 pairs", 16, true}} {
		random, exact, normal := rand.New(rand.NewPCG(11, uint64(c.lots))), 0, 0
		for run := range manyRuns {
			lots := make([]stats.Lot, c.lots)
			for i := range lots {
				lots[i] = losing(random, weeklyLot(random, fmt.Sprint(i), betaShare(random, .6, .05)))
			}
			scores := stats.BatchScores(lots, stats.FitIncidence(stats.Pool(lots), 0))
			all := make([]stats.Scored, c.lots)
			for i := range lots {
				all[i] = stats.Scored{Score: scores[lots[i].ID], Arm: i % 2}
				if c.paired {
					all[i].Block = i / 2
				}
			}
			got, _, _ := stats.TestTwoArms(context.Background(), all, uint64(run))
			if got.P <= .05 {
				exact++
			}
			if got.PNormal <= .05 {
				normal++
			}
		}
		t.Logf("%s: %.2f %% rejected, by the normal distribution %.2f %%", c.name, 100*float64(exact)/manyRuns, 100*float64(normal)/manyRuns)
		if share := float64(exact) / manyRuns; share > .065 || share < .01 {
			t.Errorf("%s: %.2f %% rejected", c.name, 100*share)
		}
	}
}

// TestSimulatedDifferences counts how often the limits of a difference of rates
// hold the true one, .60 against .75.
func TestSimulatedDifferences(t *testing.T) {
	for _, batches := range []int{3, 5, 10} {
		for _, rho := range []float64{.02, .08} {
			random, held := rand.New(rand.NewPCG(12, uint64(batches))), 0
			for range manyRuns {
				d, _ := stats.RateDifference(simulatedShares(random, batches, .75, rho), simulatedShares(random, batches, .60, rho), .95)
				if d.Lower <= .15 && .15 <= d.Upper {
					held++
				}
			}
			share := float64(held) / manyRuns
			t.Logf("%d batches an arm, rho %g: held %.3f", batches, rho, share)
			if share < .915 || share > .99 {
				t.Errorf("%d batches an arm, rho %g: held %.3f", batches, rho, share)
			}
		}
	}
}

func simulatedShares(random *rand.Rand, batches int, mean, rho float64) []stats.Share {
	shares, _, _ := drawShares(random, batches, mean, rho)
	return shares
}

func betaShare(random *rand.Rand, mean, rho float64) float64 {
	theta := rho / (1 - rho)
	return distuv.Beta{Alpha: mean / theta, Beta: (1 - mean) / theta, Src: random}.Rand()
}

// losing is the lot with a twentieth of what is never seen rooted lost before each
// look.
func losing(random *rand.Rand, lot stats.Lot) stats.Lot {
	for i := range lot.Looks {
		k := &lot.Looks[i]
		for range lot.Open() {
			if random.Float64() < .05 {
				k.Lost++
			}
		}
	}
	return lot
}

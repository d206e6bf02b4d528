package stats_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"withybed/models/stats"
)

// TestCoverageOfRates draws nurseries whose batches differ and counts how often the
// limits hold the true rate: near 95 % with the effective number and Student's t,
// far below it as if cuttings were independent.
func TestCoverageOfRates(t *testing.T) {
	const runs = 2000
	for _, c := range []struct {
		rho         float64
		batches     int
		least, most float64
	}{{.02, 10, .94, .99}, {.02, 30, .93, .97}, {.08, 3, .96, 1}, {.08, 10, .92, .98}, {.08, 30, .93, .97}} {
		t.Run(fmt.Sprintf("rho %g, %d batches", c.rho, c.batches), func(t *testing.T) {
			random := rand.New(rand.NewPCG(1, uint64(c.batches)))
			held, plain := 0, 0
			for range runs {
				shares, rooted, stuck := drawShares(random, c.batches, 0.6, c.rho)
				if r := stats.CrudeRate(shares, 0.95); r.Lower <= 0.6 && 0.6 <= r.Upper {
					held++
				}
				if i := stats.Wilson(rooted, stuck, 0.95); i.Lower <= 0.6 && 0.6 <= i.Upper {
					plain++
				}
			}
			share := float64(held) / runs
			t.Logf("held %.3f; as if cuttings were independent %.3f", share, float64(plain)/runs)
			if share < c.least || share > c.most || float64(plain)/runs > share {
				t.Errorf("held %.3f of %d runs", share, runs)
			}
		})
	}
}

func drawShares(random *rand.Rand, batches int, mean, rho float64) (shares []stats.Share, rooted, stuck int) {
	theta := rho / (1 - rho)
	law := distuv.Beta{Alpha: mean / theta, Beta: (1 - mean) / theta, Src: random}
	for range batches {
		s, p := stats.Share{Stuck: 15 + random.IntN(36)}, law.Rand()
		for range s.Stuck {
			if random.Float64() < p {
				s.Rooted++
			}
		}
		shares, rooted, stuck = append(shares, s), rooted+s.Rooted, stuck+s.Stuck
	}
	return shares, rooted, stuck
}

// TestCoverageOfCurves does the same for the share rooted by day 28, read off a
// curve of batches on different schedules, some of them still young.
func TestCoverageOfCurves(t *testing.T) {
	const runs = 200
	truth := 0.6 * (1 - math.Exp(-math.Pow(28.0/30, 2)))
	for _, batches := range []int{5, 10, 30} {
		random, held, said := rand.New(rand.NewPCG(2, uint64(batches))), 0, 0
		for run := range runs {
			law := distuv.Beta{Alpha: 0.6 * 11.5, Beta: 0.4 * 11.5, Src: random}
			lots := make([]stats.Lot, batches)
			for i := range lots {
				lots[i] = weeklyLot(random, fmt.Sprint(i), law.Rand())
			}
			spreads, err := stats.CurveSpreads(context.Background(), lots, []int{28}, stats.Drawing{Replicates: 200, Seed: uint64(run)})
			if err != nil {
				t.Fatal(err)
			}
			p, _ := stats.FitIncidence(stats.Pool(lots), 0).RootedBy(28)
			if p <= 0 || p >= 1 {
				continue
			}
			said++
			if r := stats.LogitRate(p, spreads[0].Logit, 30*float64(batches), batches, 0.95); r.Lower <= truth && truth <= r.Upper {
				held++
			}
		}
		share := float64(held) / float64(said)
		t.Logf("%d batches: held %.3f of %d", batches, share, said)
		if share < .90 || share > .995 {
			t.Errorf("%d batches: held %.3f", batches, share)
		}
	}
}

// weeklyLot is a lot of 30 looked at every week until some day from 28 on, its
// rooting days Weibull with shape 2 and scale 30, cut off at whole days.
func weeklyLot(random *rand.Rand, id string, rate float64) stats.Lot {
	lot := stats.Lot{ID: id, Cuttings: 30}
	var days []int
	for range lot.Cuttings {
		if random.Float64() < rate {
			days = append(days, int(math.Ceil(30*math.Sqrt(random.ExpFloat64()))))
		}
	}
	last := 28 + 7*random.IntN(8)
	for day := 7; day <= last; day += 7 {
		k := stats.Look{Day: int32(day), Saw: stats.SawRoots}
		for _, d := range days {
			if d > day-7 && d <= day {
				k.Rooted++
			}
		}
		lot.Looks = append(lot.Looks, k)
	}
	return lot
}

package stats_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"withybed/models/stats"
)

// simulated are lots of a nursery: rooting with a Weibull law of the days, rates
// that differ between lots, losses, looks every one to two weeks.
func simulated(lots, cuttings int, seed uint64) []stats.Lot {
	random := rand.New(rand.NewPCG(seed, 1))
	all := make([]stats.Lot, lots)
	for i := range all {
		all[i] = simulatedLot(random, fmt.Sprintf("lot-%05d", i), cuttings, min(0.95, max(0.05, 0.6+0.15*random.NormFloat64())))
	}
	return all
}

func simulatedLot(random *rand.Rand, id string, cuttings int, rate float64) stats.Lot {
	lot := stats.Lot{ID: id, Cuttings: cuttings}
	rooted, lost := make([]int, 0, cuttings), make([]int, 0, cuttings)
	for range cuttings {
		switch u := random.Float64(); {
		case u < rate:
			rooted = append(rooted, 1+int(30*math.Pow(random.ExpFloat64(), 0.5)))
		case u < rate+0.15:
			lost = append(lost, 1+int(40*random.ExpFloat64()))
		}
	}
	between := func(days []int, after, by int) (n int32) {
		for _, day := range days {
			if day > after && day <= by {
				n++
			}
		}
		return n
	}
	last, end := 0, 60+random.IntN(60)
	for day := 10 + random.IntN(10); day <= end; day += 7 + random.IntN(8) {
		lot.Looks = append(lot.Looks, stats.Look{Day: int32(day), Rooted: between(rooted, last, day), Lost: between(lost, last, day), Saw: stats.SawRoots})
		last = day
	}
	return lot
}

// BenchmarkCurve solves 200,000 cuttings in 5,000 lots on whole days.
func BenchmarkCurve(b *testing.B) {
	lots := simulated(5000, 40, 1)
	for b.Loop() {
		inc := stats.FitIncidence(stats.Pool(lots), 0)
		b.ReportMetric(float64(len(inc.Steps)), "steps")
		b.ReportMetric(inc.Gap, "gap")
	}
}

// BenchmarkLimits draws 5,000 lots a thousand times, on all processors.
func BenchmarkLimits(b *testing.B) {
	lots := simulated(5000, 40, 1)
	days := stats.FitIncidence(stats.Pool(lots), 0).Days
	for b.Loop() {
		if _, err := stats.CurveSpreads(context.Background(), lots, days, stats.Drawing{Replicates: 1000, Seed: 1}); err != nil {
			b.Fatal(err)
		}
	}
}

package stats_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"testing"

	"withybed/models/stats"
)

// fiveLots have one schedule, so that the share of any draw is the pooled one.
func fiveLots() []stats.Lot {
	return []stats.Lot{
		lotOf("a", 20, 14, 4, 28, 6), lotOf("b", 30, 14, 9, 28, 9), lotOf("c", 25, 14, 2, 28, 8),
		lotOf("d", 40, 14, 20, 28, 10), lotOf("e", 15, 14, 3, 28, 9),
	}
}

// TestSpreadOfEveryDraw holds the drawn spread against all 3,125 draws of five
// lots, which are 126 different ones.
func TestSpreadOfEveryDraw(t *testing.T) {
	lots, days := fiveLots(), []int{14, 28}
	draw := stats.Drawing{Replicates: 20_000, Seed: 7}
	got, err := stats.CurveSpreads(context.Background(), lots, days, draw)
	if err != nil {
		t.Fatal(err)
	}
	multisets := 0
	for i, day := range days {
		var shares, logits moments
		multisets = 0
		for counts, ways := range drawsOfFive() {
			rooted, stuck := 0.0, 0.0
			for l, times := range counts {
				known := lots[l].Until(day)
				rooted += float64(times * known.Rooted())
				stuck += float64(times * lots[l].Cuttings)
			}
			shares.add(rooted/stuck, ways)
			logits.add(math.Log(rooted/(stuck-rooted)), ways)
			multisets++
		}
		near(t, "draws", logits.weights, 3125, 1e-9)
		near(t, "spread of the share", got[i].Share, shares.spread(), 0.02*shares.spread())
		near(t, "spread of the logit", got[i].Logit, logits.spread(), 0.02*logits.spread())
	}
	if multisets != 126 {
		t.Errorf("%d different draws, want 126", multisets)
	}
}

// moments are those of a number over draws of five lots.
type moments struct{ sum, squares, weights float64 }

func (m *moments) add(x, weight float64) {
	m.sum, m.squares, m.weights = m.sum+weight*x, m.squares+weight*x*x, m.weights+weight
}

// spread is the standard error: that of the draws, which is too narrow, times √(5/4).
func (m *moments) spread() float64 {
	mean := m.sum / m.weights
	return math.Sqrt(m.squares/m.weights-mean*mean) * math.Sqrt(5.0/4)
}

// drawsOfFive is how often each of five lots is drawn in five draws, and in how
// many ways that comes about.
func drawsOfFive() map[[5]int]float64 {
	ways := map[[5]int]float64{{}: 1}
	for range 5 {
		next := map[[5]int]float64{}
		for counts, n := range ways {
			for l := range counts {
				more := counts
				more[l]++
				next[more] += n
			}
		}
		ways = next
	}
	return ways
}

// TestDrawsAreTheSame wants one seed to give one answer, whatever the order of
// lots and however many work on it.
func TestDrawsAreTheSame(t *testing.T) {
	lots, days, draw := fiveLots(), []int{14, 28}, stats.Drawing{Replicates: 300, Seed: 3}
	first, err := stats.CurveSpreads(context.Background(), lots, days, draw)
	if err != nil {
		t.Fatal(err)
	}
	slices.Reverse(lots)
	again, _ := stats.CurveSpreads(context.Background(), lots, days, draw)
	if !slices.Equal(first, again) {
		t.Errorf("%v, then %v", first, again)
	}
	draw.Seed++
	if other, _ := stats.CurveSpreads(context.Background(), lots, days, draw); slices.Equal(first, other) {
		t.Error("another seed draws the same")
	}
}

// TestDrawnWithinStrata has two treatments without any difference within: drawn
// within them there is no spread.
func TestDrawnWithinStrata(t *testing.T) {
	lots := []stats.Lot{lotOf("a", 20, 14, 4), lotOf("b", 20, 14, 4), lotOf("c", 20, 14, 12), lotOf("d", 20, 14, 12)}
	open, _ := stats.CurveSpreads(context.Background(), lots, []int{14}, stats.Drawing{Replicates: 100, Seed: 1})
	for i := range lots {
		lots[i].Stratum = "one"
		if i > 1 {
			lots[i].Stratum = "two"
		}
	}
	within, _ := stats.CurveSpreads(context.Background(), lots, []int{14}, stats.Drawing{Replicates: 100, Seed: 1})
	if open[0].Logit == 0 || within[0].Logit > 1e-6 || within[0].Share > 1e-6 {
		t.Errorf("spread %v over all, %v within treatments", open, within)
	}
	lots = append(lots, stats.Lot{ID: "e", Cuttings: 20, Stratum: "three", Looks: lots[0].Looks})
	if alone, _ := stats.CurveSpreads(context.Background(), lots, []int{14}, stats.Drawing{Replicates: 100, Seed: 1}); alone[0].Logit == 0 {
		t.Error("a stratum of one lot leaves no spread")
	}
}

func TestDrawingEndsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := stats.CurveSpreads(ctx, fiveLots(), []int{14}, stats.Drawing{Replicates: 10, Seed: 1}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v", err)
	}
}

// TestReplicateIsTheCurveOfItsDraw draws one lot only: each replicate is its curve.
func TestReplicateIsTheCurveOfItsDraw(t *testing.T) {
	lot, days := byHand(), []int{10, 14, 21, 30, 42, 50}
	inc := stats.FitIncidence(stats.Pool([]stats.Lot{lot}), 0)
	err := stats.Resample(context.Background(), []stats.Lot{lot}, stats.Drawing{Replicates: 1}, func(_ int, c *stats.Replicate) {
		shares := make([]float64, len(days))
		c.RootedBy(days, shares)
		for i, day := range days {
			want, _ := inc.RootedBy(day)
			near(t, "share", shares[i], want, 1e-4)
		}
	})
	if err != nil {
		t.Fatal(err)
	}
}

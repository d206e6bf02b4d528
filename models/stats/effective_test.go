package stats_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"withybed/models/stats"
)

func ExampleEffectiveNumber() {
	fmt.Printf("%.2f\n", stats.EffectiveNumber([]int{18, 2, 2, 2}))
	// Output: 1.71
}

func TestEffectiveNumber(t *testing.T) {
	for _, c := range []struct {
		counts []int
		want   float64
	}{
		{nil, 0}, {[]int{0, 0}, 0}, {[]int{5}, 1}, {[]int{6, 6, 6, 6}, 4}, {[]int{6, 0, 6}, 2},
		{[]int{18, 2, 2, 2}, 576.0 / 336}, {[]int{1, 2, 3}, 36.0 / 14}, {[]int{10, -10}, 1},
		{[]int{10_000_000, 10_000_000}, 2},
	} {
		if got := stats.EffectiveNumber(c.counts); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("of %v: %v, want %v", c.counts, got, c.want)
		}
	}
}

// It lies between 1 and the number of parts, is that number where they are equal, and
// knows neither their order nor their unit.
func TestEffectiveNumberProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		counts := rapid.SliceOfN(rapid.IntRange(1, 1000), 1, 40).Draw(t, "counts")
		n := stats.EffectiveNumber(counts)
		if n < 1-1e-9 || n > float64(len(counts))+1e-9 {
			t.Fatalf("of %d parts: %v", len(counts), n)
		}
		turned, scaled, equal := slices.Clone(counts), make([]int, len(counts)), slices.Repeat([]int{counts[0]}, len(counts))
		slices.Reverse(turned)
		for i, c := range counts {
			scaled[i] = 7 * c
		}
		for _, other := range [][]int{turned, scaled} {
			if got := stats.EffectiveNumber(other); math.Abs(got-n) > 1e-9 {
				t.Errorf("%v has %v, and %v has %v", counts, n, other, got)
			}
		}
		if got := stats.EffectiveNumber(equal); math.Abs(got-float64(len(counts))) > 1e-9 {
			t.Errorf("%d equal parts have %v", len(counts), got)
		}
	})
}

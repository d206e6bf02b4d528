package stats_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"withybed/models/stats"
)

var (
	stemsInPlots  = []int{12, 7, 0, 15, 9, 4, 11, 6, 8, 13}
	clumpsInPlots = []int{3, 1, 0, 2, 4, 1, 2, 0, 3, 2}
	stemsOnClumps = []int{22, 35, 14, 28, 41, 19, 30, 25}
)

func ExampleTotalFromPlots() {
	plots := stats.Plots{PlotArea: 4, StandArea: 400, Counts: []int{12, 7, 0, 15, 9, 4, 11, 6, 8, 13}}
	total, err := stats.TotalFromPlots(plots, 0.90)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f stems, standard error %.1f, at least %.1f\n", total.Estimate, total.StandardError, total.LowerBound)
	// Output: 850 stems, standard error 135.1, at least 663.2
}

func ExampleTotalFromClumps() {
	total, err := stats.TotalFromClumps(37, []int{22, 35, 14, 28, 41, 19, 30, 25}, 0.90)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f stems, at least %.1f\n", total.Estimate, total.LowerBound)
	// Output: 989.75 stems, at least 847.0
}

func ExampleTotalFromClumpsInPlots() {
	plots := stats.Plots{PlotArea: 25, StandArea: 600, Counts: []int{3, 1, 0, 2, 4, 1, 2, 0, 3, 2}}
	total, err := stats.TotalFromClumpsInPlots(plots, []int{22, 35, 14, 28, 41, 19, 30, 25}, 0.90)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f stems, at least %.1f\n", total.Estimate, total.LowerBound)
	// Output: 1155.6 stems, at least 812.4
}

func TestTotalReferenceValues(t *testing.T) {
	plots := func(confidence float64) (stats.Total, error) {
		return stats.TotalFromPlots(stats.Plots{PlotArea: 4, StandArea: 400, Counts: stemsInPlots}, confidence)
	}
	clumps := func(confidence float64) (stats.Total, error) {
		return stats.TotalFromClumps(37, stemsOnClumps, confidence)
	}
	both := func(confidence float64) (stats.Total, error) {
		return stats.TotalFromClumpsInPlots(stats.Plots{PlotArea: 25, StandArea: 600, Counts: clumpsInPlots}, stemsOnClumps, confidence)
	}
	for _, c := range []struct {
		name                            string
		total                           func(float64) (stats.Total, error)
		confidence, estimate, se, bound float64
		df                              int
	}{
		{"plots at 80 %", plots, 0.80, 850, 135.093, 730.7, 9},
		{"plots at 90 %", plots, 0.90, 850, 135.093, 663.2, 9},
		{"plots at 95 %", plots, 0.95, 850, 135.093, 602.4, 9},
		{"clumps", clumps, 0.90, 989.75, 100.915, 847.0, 7},
		{"clumps in plots", both, 0.90, 1155.6, 242.558, 812.4, 7},
		{"an even chance", plots, 0.5, 850, 135.093, 850, 9},
	} {
		got, err := c.total(c.confidence)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		near(t, c.name+" estimate", got.Estimate, c.estimate, 1e-9)
		near(t, c.name+" standard error", got.StandardError, c.se, 5e-4)
		near(t, c.name+" bound", got.LowerBound, c.bound, 0.05)
		if got.DF != c.df || got.Census {
			t.Errorf("%s: df %d, census %v; want %d, false", c.name, got.DF, got.Census, c.df)
		}
	}
}

// With ten plots in a stand of a hundred, SE = 100·√(s²/n·(1−n/100)).
func TestSpreadOfSmallOrUniformSamples(t *testing.T) {
	for _, c := range []struct {
		name     string
		counts   []int
		variance float64 // s² the estimator must use
	}{
		{"three alike", []int{5, 5, 5}, 5},
		{"four, narrower than chance", []int{4, 5, 5, 6}, 5},
		{"four, wider than chance", []int{0, 10, 2, 8}, 68.0 / 3},
		{"five alike", []int{5, 5, 5, 5, 5}, 5},
		{"five, narrow but not alike", []int{4, 5, 5, 5, 6}, 0.5},
		{"nothing anywhere", []int{0, 0, 0, 0, 0, 0}, 0},
	} {
		got, err := stats.TotalFromPlots(stats.Plots{PlotArea: 1, StandArea: 100, Counts: c.counts}, 0.90)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		n := float64(len(c.counts))
		near(t, c.name, got.StandardError, 100*math.Sqrt(c.variance/n*(1-n/100)), 1e-9)
	}
}

func TestEverythingCountedIsACensus(t *testing.T) {
	census := func(stems float64) stats.Total {
		return stats.Total{Estimate: stems, LowerBound: stems, Census: true}
	}
	for name, c := range map[string]struct {
		got  func() (stats.Total, error)
		want stats.Total
	}{
		"plots cover the stand": {func() (stats.Total, error) {
			return stats.TotalFromPlots(stats.Plots{PlotArea: 4, StandArea: 40, Counts: stemsInPlots}, 0.90)
		}, census(85)},
		"areas that round up": {func() (stats.Total, error) { // 3 × 0.1 is above 0.3
			return stats.TotalFromPlots(stats.Plots{PlotArea: 0.1, StandArea: 0.3, Counts: []int{1, 2, 3}}, 0.90)
		}, census(6)},
		"areas that round down": {func() (stats.Total, error) {
			return stats.TotalFromPlots(stats.Plots{PlotArea: 1 - 5e-10, StandArea: 3, Counts: []int{1, 2, 3}}, 0.90)
		}, census(6)},
		"one plot is the stand": {func() (stats.Total, error) {
			return stats.TotalFromPlots(stats.Plots{PlotArea: 9, StandArea: 9, Counts: []int{7}}, 0.90)
		}, census(7)},
		"every clump": {func() (stats.Total, error) {
			return stats.TotalFromClumps(8, stemsOnClumps, 0.90)
		}, census(214)},
		"both clumps of two": {func() (stats.Total, error) {
			return stats.TotalFromClumps(2, []int{11, 0}, 0.90)
		}, census(11)},
		"every clump of plots that cover the stand": {func() (stats.Total, error) {
			return stats.TotalFromClumpsInPlots(stats.Plots{PlotArea: 10, StandArea: 30, Counts: []int{3, 0, 5}}, stemsOnClumps, 0.90)
		}, census(214)},
	} {
		got, err := c.got()
		if err != nil || got != c.want {
			t.Errorf("%s: %+v, %v; want %+v", name, got, err, c.want)
		}
	}
}

func TestPlotsThatCoverTheStandHaveCountedItsClumps(t *testing.T) {
	got, err := stats.TotalFromClumpsInPlots(stats.Plots{PlotArea: 20, StandArea: 40, Counts: []int{30, 7}}, stemsOnClumps, 0.90)
	want, _ := stats.TotalFromClumps(37, stemsOnClumps, 0.90)
	if err != nil || got != want {
		t.Errorf("%+v, %v; want %+v", got, err, want)
	}
}

func TestBoundIsNeverBelowTheStemsCounted(t *testing.T) {
	for name, c := range map[string]struct {
		got         func() (stats.Total, error)
		bound, most float64
	}{
		"patchy plots": {func() (stats.Total, error) {
			return stats.TotalFromPlots(stats.Plots{PlotArea: 1, StandArea: 10, Counts: []int{90, 0, 0}}, 0.95)
		}, 90, 300},
		"one great clump": {func() (stats.Total, error) {
			return stats.TotalFromClumps(10, []int{200, 0, 1}, 0.95)
		}, 201, 670},
		"plots that met no clump": {func() (stats.Total, error) {
			return stats.TotalFromClumpsInPlots(stats.Plots{PlotArea: 1, StandArea: 10, Counts: []int{0, 0, 0}}, []int{4, 5, 6}, 0.90)
		}, 15, 0},
	} {
		got, err := c.got()
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		near(t, name+" bound", got.LowerBound, c.bound, 0)
		near(t, name+" estimate", got.Estimate, c.most, 1e-9)
	}
}

func TestTotalsAreRefused(t *testing.T) {
	plots := func(plot, stand float64, counts ...int) error {
		_, err := stats.TotalFromPlots(stats.Plots{PlotArea: plot, StandArea: stand, Counts: counts}, 0.90)
		return err
	}
	clumps := func(clumps int, stems ...int) error {
		_, err := stats.TotalFromClumps(clumps, stems, 0.90)
		return err
	}
	both := func(counts []int, stems ...int) error {
		_, err := stats.TotalFromClumpsInPlots(stats.Plots{PlotArea: 10, StandArea: 100, Counts: counts}, stems, 0.90)
		return err
	}
	at := func(confidence float64) error {
		_, err := stats.TotalFromClumps(37, stemsOnClumps, confidence)
		return err
	}
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name string
		err  error
		want error
		says string
	}{
		{"one plot", plots(4, 400, 12), stats.ErrTooFewPlots, "1 counted, and at least 3"},
		{"two plots", plots(4, 400, 12, 3), stats.ErrTooFewPlots, "2 counted"},
		{"no plots", plots(4, 400), stats.ErrTooFewPlots, "0 counted"},
		{"plot larger than the stand", plots(500, 400, 12), stats.ErrPlotsBeyondStand, "1 of 500 m²"},
		{"plots add up to more", plots(150, 400, 1, 2, 3), stats.ErrPlotsBeyondStand, "than its 400 m²"},
		{"just beyond the slack", plots(1+3e-9, 3, 1, 2, 3), stats.ErrPlotsBeyondStand, ""},
		{"no plot area", plots(0, 400, 1, 2, 3), stats.ErrPlotArea, "it is 0 m²"},
		{"plot area NaN", plots(nan, 400, 1, 2, 3), stats.ErrPlotArea, ""},
		{"stand area below 0", plots(4, -1, 1, 2, 3), stats.ErrStandArea, "it is -1 m²"},
		{"stand without end", plots(4, inf, 1, 2, 3), stats.ErrStandArea, ""},
		{"negative count", plots(4, 400, 1, 2, -3), stats.ErrPlotCount, "number 3 is -3"},
		{"beyond floats", plots(1e-300, 1e300, 1, 2, 3), stats.ErrTooLarge, ""},
		{"beyond exact counting", plots(4, 400, math.MaxInt, 2, 3), stats.ErrTooLarge, ""},
		{"two clumps of nine", clumps(9, 4, 5), stats.ErrTooFewClumps, "2 counted"},
		{"no clumps at all", clumps(0), stats.ErrTooFewClumps, "0 counted"},
		{"sample above the clumps", clumps(3, 4, 5, 6, 7), stats.ErrSampleBeyondClumps, "4 are sampled of 3"},
		{"clumps below 0", clumps(-1), stats.ErrSampleBeyondClumps, "of -1"},
		{"negative stems", clumps(9, 4, -5, 6), stats.ErrStemCount, "number 2 is -5"},
		{"two plots of clumps", both([]int{1, 2}, 4, 5, 6), stats.ErrTooFewPlots, ""},
		{"two clumps for plots", both([]int{1, 2, 3}, 4, 5), stats.ErrTooFewClumps, ""},
		{"negative clumps in a plot", both([]int{1, -2, 3}, 4, 5, 6), stats.ErrPlotCount, ""},
		{"negative stems for plots", both([]int{1, 2, 3}, 4, 5, -6), stats.ErrStemCount, ""},
		{"percent for a share", at(90), stats.ErrConfidence, "it is 90"},
		{"full confidence", at(1), stats.ErrConfidence, ""},
		{"less than an even chance", at(0.4), stats.ErrConfidence, ""},
		{"confidence NaN", at(nan), stats.ErrConfidence, ""},
	} {
		if !errors.Is(c.err, c.want) || !strings.Contains(fmt.Sprint(c.err), c.says) {
			t.Errorf("%s: %v; want %q with %q", c.name, c.err, c.want, c.says)
		}
	}
}

// sound is what holds of every total, whatever was counted.
func sound(t rapid.TB, total stats.Total, counted int) {
	t.Helper()
	for _, x := range []float64{total.Estimate, total.StandardError, total.LowerBound} {
		if math.IsNaN(x) || math.IsInf(x, 0) || x < 0 {
			t.Fatalf("%+v", total)
		}
	}
	floor := float64(counted)
	if total.LowerBound < floor || total.LowerBound > max(total.Estimate, floor) {
		t.Fatalf("%+v with %d stems counted", total, counted)
	}
	if total.Census && (total.StandardError != 0 || total.LowerBound != total.Estimate) {
		t.Fatalf("%+v", total)
	}
}

func sum(counts []int) (all int) {
	for _, n := range counts {
		all += n
	}
	return all
}

// checkTotal holds one estimator to what is true at any two confidences.
func checkTotal(t *rapid.T, counted int, estimate func(confidence float64) (stats.Total, error)) {
	low := rapid.Float64Range(0.5, 0.99).Draw(t, "low")
	high := rapid.Float64Range(low, 0.9999).Draw(t, "high")
	at, err := estimate(low)
	if err != nil {
		t.Fatal(err)
	}
	sound(t, at, counted)
	above, err := estimate(high)
	if err != nil {
		t.Fatal(err)
	}
	sound(t, above, counted)
	if above.LowerBound > at.LowerBound || above.Estimate != at.Estimate || above.StandardError != at.StandardError {
		t.Fatalf("at %v %+v, at %v %+v", low, at, high, above)
	}
}

func TestTotalProperties(t *testing.T) {
	counts := rapid.SliceOfN(rapid.IntRange(0, 10_000_000), 3, 40)
	few := rapid.SliceOfN(rapid.IntRange(0, 3), 3, 12)
	area := rapid.Float64Range(0.01, 1000)
	t.Run("plots", rapid.MakeCheck(func(t *rapid.T) {
		plots := stats.Plots{PlotArea: area.Draw(t, "area"), Counts: rapid.OneOf(counts, few).Draw(t, "counts")}
		plots.StandArea = plots.PlotArea * float64(len(plots.Counts)) * rapid.Float64Range(1, 1e4).Draw(t, "part")
		checkTotal(t, sum(plots.Counts), func(c float64) (stats.Total, error) { return stats.TotalFromPlots(plots, c) })
	}))
	t.Run("clumps", rapid.MakeCheck(func(t *rapid.T) {
		stems := rapid.OneOf(counts, few).Draw(t, "stems")
		clumps := len(stems) + rapid.IntRange(0, 1000).Draw(t, "others")
		checkTotal(t, sum(stems), func(c float64) (stats.Total, error) { return stats.TotalFromClumps(clumps, stems, c) })
	}))
	t.Run("clumps in plots", rapid.MakeCheck(func(t *rapid.T) {
		plots := stats.Plots{PlotArea: area.Draw(t, "area"), Counts: few.Draw(t, "clumps")}
		plots.StandArea = plots.PlotArea * float64(len(plots.Counts)) * rapid.Float64Range(1.001, 1e4).Draw(t, "part")
		stems := rapid.OneOf(counts, few).Draw(t, "stems")
		checkTotal(t, sum(stems), func(c float64) (stats.Total, error) {
			return stats.TotalFromClumpsInPlots(plots, stems, c)
		})
	}))
}

// A square metre or an acre, the number of stems is the same.
func TestTotalDoesNotDependOnTheUnitOfArea(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		scale := rapid.Float64Range(1e-4, 1e4).Draw(t, "scale")
		one, err := stats.TotalFromPlots(stats.Plots{PlotArea: 4, StandArea: 400, Counts: stemsInPlots}, 0.90)
		if err != nil {
			t.Fatal(err)
		}
		other, err := stats.TotalFromPlots(stats.Plots{PlotArea: 4 * scale, StandArea: 400 * scale, Counts: stemsInPlots}, 0.90)
		if err != nil || math.Abs(one.LowerBound-other.LowerBound) > 1e-9*one.LowerBound {
			t.Fatalf("%+v and %+v, %v", one, other, err)
		}
	})
}

func FuzzTotals(f *testing.F) {
	f.Add(4.0, 400.0, 0.9, 37, []byte{12, 7, 0, 15})
	f.Add(0.1, 0.3, 0.5, 3, []byte{1, 2, 3})
	f.Add(math.MaxFloat64, 5e-324, 0.9999999999999999, -1, []byte{})
	f.Add(5e-324, math.MaxFloat64, 0.9, 1<<62, []byte{0, 0, 0})
	f.Fuzz(func(t *testing.T, plotArea, standArea, confidence float64, clumps int, raw []byte) {
		counts := make([]int, len(raw))
		for i, b := range raw {
			counts[i] = int(b)
		}
		plots := stats.Plots{PlotArea: plotArea, StandArea: standArea, Counts: counts}
		if total, err := stats.TotalFromPlots(plots, confidence); err == nil {
			sound(t, total, sum(counts))
		}
		if total, err := stats.TotalFromClumps(clumps, counts, confidence); err == nil {
			sound(t, total, sum(counts))
		}
		if total, err := stats.TotalFromClumpsInPlots(plots, counts, confidence); err == nil {
			sound(t, total, sum(counts))
		}
	})
}

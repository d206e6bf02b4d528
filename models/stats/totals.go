package stats

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

const (
	leastSample = 3    // fewer plots or clumps say too little about their spread
	areaSlack   = 1e-9 // relative; areas are typed as decimals and multiplied as floats
)

// What a survey's total can be refused for. The errors returned wrap one of
// these and go on with the numbers, so that errors.Is tells which value is at
// fault.
var (
	ErrConfidence         = errors.New("the confidence must be at least 0.5 and below 1")
	ErrPlotArea           = errors.New("the plot area must be above 0")
	ErrStandArea          = errors.New("the stand area must be above 0")
	ErrPlotCount          = errors.New("a count in a plot is below 0")
	ErrStemCount          = errors.New("a count of stems on a clump is below 0")
	ErrTooFewPlots        = errors.New("too few plots")
	ErrTooFewClumps       = errors.New("too few clumps with their stems counted")
	ErrPlotsBeyondStand   = errors.New("the plots cover more than the stand")
	ErrSampleBeyondClumps = errors.New("more clumps are sampled than the stand has")
	ErrTooLarge           = errors.New("the counts or areas are too large to work with")
)

// Total is what a survey says about the number of stems in a stand.
//
// LowerBound is one-sided, at the confidence asked for, and called nominal:
// where stems grow in patches the true number falls below it more often than
// that. It is never below the stems that were counted one by one, and for that
// reason alone it can stand above the estimate.
type Total struct {
	Estimate      float64 // stems
	StandardError float64 // stems; 0 for a census
	LowerBound    float64 // stems
	DF            int     // degrees of freedom of the t quantile; 0 for a census
	Census        bool    // everything was counted: bound and estimate are the count
}

// Plots are equal plots laid in a stand, with what was counted in each.
type Plots struct {
	PlotArea  float64 // of one plot, m², above 0
	StandArea float64 // m², above 0
	Counts    []int   // one for each plot, 0 or more
}

// TotalFromPlots estimates the stems of a stand from stems counted in n plots,
// with a one-sided lower bound at the given confidence (0.5 or more, below 1).
// With N = stand area / plot area,
//
//	T = N·ȳ, SE = N·√(s²/n·(1−n/N)), bound = T − t(confidence, n−1)·SE
//
// for a simple random sample without replacement: Cochran (1977), Sampling
// Techniques, 3rd ed., ch. 2. Where all counts are equal or n is below 5, s² is
// at least the mean, which is the variance of stems strewn at random (Poisson).
// Plots that cover the stand, within 1e-9 of its area, are a census.
//
// Errors: ErrConfidence, ErrPlotArea, ErrStandArea, ErrPlotCount,
// ErrPlotsBeyondStand, ErrTooFewPlots (under 3, and no census), ErrTooLarge.
func TotalFromPlots(plots Plots, confidence float64) (Total, error) {
	sample, fraction, err := plots.tally(confidence)
	if err != nil {
		return Total{}, err
	}
	if fraction == 1 {
		return census(sample.sum), nil
	}
	if sample.n < leastSample {
		return Total{}, tooFewPlots(sample.n)
	}
	expansion := plots.StandArea / plots.PlotArea
	se := expansion * math.Sqrt(sample.meanVariance()*(1-fraction))
	return bounded(expansion*sample.mean(), se, sample.n-1, sample.sum, confidence)
}

// TotalFromClumps estimates the stems of a stand all of whose clumps were
// counted, from the stems on m of them. With C clumps,
//
//	T = C·z̄, SE = C·√(s²/m·(1−m/C)), bound = T − t(confidence, m−1)·SE
//
// with s² as in TotalFromPlots (Cochran 1977). A clump may have no stems. Stems
// counted on every clump are a census.
//
// Errors: ErrConfidence, ErrStemCount, ErrSampleBeyondClumps, ErrTooFewClumps
// (under 3, and no census), ErrTooLarge.
func TotalFromClumps(clumps int, stemsOnSample []int, confidence float64) (Total, error) {
	if err := checkConfidence(confidence); err != nil {
		return Total{}, err
	}
	sample, err := tally(stemsOnSample, ErrStemCount)
	if err != nil {
		return Total{}, err
	}
	if sample.n > clumps {
		return Total{}, fmt.Errorf("%w: %d are sampled of %d; count the clumps again", ErrSampleBeyondClumps, sample.n, clumps)
	}
	if sample.n == clumps && clumps > 0 {
		return census(sample.sum), nil
	}
	if sample.n < leastSample {
		return Total{}, tooFewClumps(sample.n)
	}
	all := float64(clumps)
	se := all * math.Sqrt(sample.meanVariance()*(1-float64(sample.n)/all))
	return bounded(all*sample.mean(), se, sample.n-1, sample.sum, confidence)
}

// TotalFromClumpsInPlots estimates the stems of a stand from clumps counted in
// plots and stems counted on some clumps, which need not stand in the plots.
// Ĉ and SE(Ĉ) are those of TotalFromPlots, z̄ is the mean of the m clumps with
// SE(z̄) = √(s²/m), and
//
//	T = Ĉ·z̄, Var = Ĉ²·SE(z̄)² + z̄²·SE(Ĉ)² − SE(Ĉ)²·SE(z̄)²
//
// Goodman (1960), J Am Stat Assoc 55:708-713, for two independent estimates. The
// t quantile has the degrees of freedom of the smaller sample. SE(z̄) has no
// finite correction, because the number of clumps is itself an estimate.
//
// Stems counted one by one are those on the sampled clumps: the bound is never
// below their sum, even where the plots met so few clumps that the estimate is.
// Plots that cover the stand have counted its clumps, and the answer is that of
// TotalFromClumps.
//
// Errors: those of TotalFromPlots and TotalFromClumps.
func TotalFromClumpsInPlots(plots Plots, stemsOnSample []int, confidence float64) (Total, error) {
	clumps, fraction, err := plots.tally(confidence)
	if err != nil {
		return Total{}, err
	}
	if fraction == 1 {
		return TotalFromClumps(int(clumps.sum), stemsOnSample, confidence)
	}
	stems, err := tally(stemsOnSample, ErrStemCount)
	switch {
	case err != nil:
		return Total{}, err
	case clumps.n < leastSample:
		return Total{}, tooFewPlots(clumps.n)
	case stems.n < leastSample:
		return Total{}, tooFewClumps(stems.n)
	}
	expansion := plots.StandArea / plots.PlotArea
	c, z := expansion*clumps.mean(), stems.mean()
	varC := expansion * expansion * clumps.meanVariance() * (1 - fraction)
	varZ := stems.meanVariance()
	variance := c*c*varZ + z*z*varC - varC*varZ
	return bounded(c*z, math.Sqrt(max(variance, 0)), min(clumps.n, stems.n)-1, stems.sum, confidence)
}

// tally checks the plots and adds them up. The fraction of the stand they cover
// is exactly 1 where they cover it within the slack.
func (p Plots) tally(confidence float64) (counts, float64, error) {
	if err := checkConfidence(confidence); err != nil {
		return counts{}, 0, err
	}
	if !positive(p.PlotArea) {
		return counts{}, 0, fmt.Errorf("%w: it is %g m²", ErrPlotArea, p.PlotArea)
	}
	if !positive(p.StandArea) {
		return counts{}, 0, fmt.Errorf("%w: it is %g m²", ErrStandArea, p.StandArea)
	}
	sample, err := tally(p.Counts, ErrPlotCount)
	if err != nil {
		return counts{}, 0, err
	}
	fraction := float64(sample.n) * p.PlotArea / p.StandArea
	if fraction > 1+areaSlack {
		return counts{}, 0, fmt.Errorf("%w: %d of %g m² are more than its %g m²; check both areas",
			ErrPlotsBeyondStand, sample.n, p.PlotArea, p.StandArea)
	}
	if fraction >= 1-areaSlack {
		fraction = 1
	}
	return sample, fraction, nil
}

func census(stems float64) Total {
	return Total{Estimate: stems, LowerBound: stems, Census: true}
}

// bounded puts the lower bound to an estimate; counted is the number of stems
// counted one by one.
func bounded(estimate, se float64, df int, counted, confidence float64) (Total, error) {
	if !finite(estimate) || !finite(se) {
		return Total{}, fmt.Errorf("%w: the stand would have %g stems; check the areas and counts", ErrTooLarge, estimate)
	}
	bound := estimate
	if se > 0 {
		t := distuv.StudentsT{Sigma: 1, Nu: float64(df)}.Quantile(confidence)
		bound -= t * se
	}
	return Total{Estimate: estimate, StandardError: se, LowerBound: max(bound, counted), DF: df}, nil
}

func checkConfidence(confidence float64) error {
	if confidence >= 0.5 && confidence < 1 {
		return nil
	}
	return fmt.Errorf("%w: it is %g", ErrConfidence, confidence)
}

func tooFewPlots(n int) error {
	return fmt.Errorf("%w: %d counted, and at least %d are needed", ErrTooFewPlots, n, leastSample)
}

func tooFewClumps(n int) error {
	return fmt.Errorf("%w: %d counted, and at least %d are needed", ErrTooFewClumps, n, leastSample)
}

package stats

import (
	"fmt"
	"math"
)

const (
	smallSample = 5       // below this size a narrow spread may be chance
	mostCounted = 1 << 53 // whole numbers are exact in a float64 up to here
)

// counts are the sums of a sample of counts: all that the estimators need.
type counts struct {
	n            int
	sum          float64 // whole, and exact
	squaresAbout float64 // squared distances from the mean, added up
}

func tally(values []int, negative error) (counts, error) {
	c := counts{n: len(values)}
	for i, value := range values {
		if value < 0 {
			return counts{}, fmt.Errorf("%w: number %d is %d", negative, i+1, value)
		}
		c.sum += float64(value)
	}
	if c.sum > mostCounted {
		return counts{}, fmt.Errorf("%w: the counts add up to %g", ErrTooLarge, c.sum)
	}
	for _, value := range values {
		distance := float64(value) - c.mean()
		c.squaresAbout += distance * distance
	}
	return c, nil
}

// mean of at least one count.
func (c counts) mean() float64 { return c.sum / float64(c.n) }

// meanVariance is s²/n, the variance of the mean, for at least two counts. A
// small or uniform sample can show less spread than chance alone would give, so
// there s² is at least the Poisson variance.
func (c counts) meanVariance() float64 {
	variance := c.squaresAbout / float64(c.n-1)
	if variance == 0 || c.n < smallSample {
		variance = max(variance, c.mean())
	}
	return variance / float64(c.n)
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

func positive(x float64) bool { return finite(x) && x > 0 }

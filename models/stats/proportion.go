package stats

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Interval is a confidence interval for a share; both ends lie in 0 to 1 and
// Lower is never above Upper.
type Interval struct {
	Lower, Upper float64
}

// Wilson is the two-sided score interval for the share x of n, both counts of
// one batch: 14 of 20 cuttings rooted. It holds within that batch only, since
// cuttings of different batches are not independent draws. The lower end is
// exactly 0 where x is 0, and the upper exactly 1 where x is n.
//
// The domain is 0 ≤ x ≤ n and 0 ≤ confidence ≤ 1; a value outside is taken as
// the nearest end. With n of 0 or less nothing is known: 0 to 1.
//
// Wilson (1927), J Am Stat Assoc 22:209-212; coverage compared by Newcombe
// (1998), Stat Med 17:857-872.
func Wilson(x, n int, confidence float64) Interval {
	if n <= 0 {
		return Interval{Lower: 0, Upper: 1}
	}
	level := min(max(confidence, 0), 1)
	z := distuv.UnitNormal.Quantile((1 + level) / 2)
	return WilsonScore(float64(x)/float64(n), float64(n), z)
}

// WilsonScore is the score interval around the share p of n, z standard errors
// to each side. n need not be whole and z need not be a normal quantile, so
// that an effective sample size and a Student t quantile can stand in for them
// where batches differ.
//
// p outside 0 to 1 is taken as the nearest end, and z below 0 as 0. Where n is
// not above 0, z is not finite, or any of them is not a number, nothing is
// known: 0 to 1.
//
// The ends are the roots in π of n(p−π)² = z²π(1−π), Wilson (1927).
func WilsonScore(p, n, z float64) Interval {
	if !(n > 0) || math.IsInf(n, 0) || math.IsNaN(p) || math.IsNaN(z) || math.IsInf(z, 1) {
		return Interval{Lower: 0, Upper: 1}
	}
	p, z = min(max(p, 0), 1), max(z, 0)
	return Interval{ // rounding must not push an end past p
		Lower: min(p, scoreLower(p, n, z)),
		Upper: max(p, 1-scoreLower(1-p, n, z)),
	}
}

// scoreLower is the smaller root. It is written as a quotient, which loses no
// digits where p is small and is exactly 0 where p is 0; the larger root is its
// mirror image.
func scoreLower(p, n, z float64) float64 {
	if p == 0 {
		return 0
	}
	root := z * math.Sqrt(z*z+4*n*p*(1-p))
	return 2 * n * p * p / (2*n*p + z*z + root)
}

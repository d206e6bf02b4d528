package stats

import "math"

// Difference is a difference of two rates with its limits, from -1 to 1.
type Difference struct {
	Estimate, Lower, Upper float64
}

// Newcombe is p1 - p2 with limits made of those of the two rates: d - √((p1-l1)² +
// (u2-p2)²) to d + √((u1-p1)² + (p2-l2)²), method 10 of Newcombe (1998), Stat Med
// 17:873-890. With Wilson's limits for effective numbers and Student's t with
// B1+B2-2 degrees of freedom in both it allows for batches that differ.
func Newcombe(p1, p2 float64, i1, i2 Interval) Difference {
	d := p1 - p2
	return Difference{
		Estimate: d,
		Lower:    max(-1, d-math.Hypot(p1-i1.Lower, i2.Upper-p2)),
		Upper:    min(1, d+math.Hypot(i1.Upper-p1, p2-i2.Lower)),
	}
}

// RateDifference is the difference of the rates of two groups of lots that were
// all watched long enough, with df = B1+B2-2 degrees of freedom, or 0 for normal
// limits where each is one lot: they then hold within these two lots.
func RateDifference(ones, twos []Share, level float64) (d Difference, df int) {
	df = max(0, len(ones)+len(twos)-2)
	t := quantile(level, df)
	one, two := CrudeRate(ones, level), CrudeRate(twos, level)
	return Newcombe(one.Estimate, two.Estimate,
		WilsonScore(one.Estimate, one.NEff, t), WilsonScore(two.Estimate, two.NEff, t)), df
}

// Block is the rates of two arms tried side by side, and how many cuttings each
// had.
type Block struct {
	P1, P2 float64
	N1, N2 float64
}

// fewestBlocks is how many blocks it takes to give limits.
const fewestBlocks = 4

// BlockedDifference is the mean of the differences within blocks, weighted by
// n1 n2/(n1+n2), with limits by Student's t with S-1 degrees of freedom from how
// the S block differences spread; there are none below four blocks, where df is 0
// and the limits are -1 and 1. What differs between blocks cancels.
func BlockedDifference(blocks []Block, level float64) (d Difference, df int) {
	weights, total := make([]float64, len(blocks)), 0.0
	for i, b := range blocks {
		if b.N1+b.N2 > 0 {
			weights[i] = b.N1 * b.N2 / (b.N1 + b.N2)
			total += weights[i]
		}
	}
	if total == 0 {
		return Difference{Lower: -1, Upper: 1}, 0
	}
	for i, b := range blocks {
		d.Estimate += weights[i] / total * (b.P1 - b.P2)
	}
	s := float64(len(blocks))
	if len(blocks) < fewestBlocks {
		d.Lower, d.Upper = -1, 1
		return d, 0
	}
	v := 0.0
	for i, b := range blocks {
		off := weights[i] / total * (b.P1 - b.P2 - d.Estimate)
		v += off * off
	}
	if v < 1e-18 { // blocks that happen to be alike tell nothing of how others differ
		d.Lower, d.Upper = -1, 1
		return d, 0
	}
	half := quantile(level, len(blocks)-1) * math.Sqrt(v*s/(s-1))
	d.Lower, d.Upper = max(-1, d.Estimate-half), min(1, d.Estimate+half)
	return d, len(blocks) - 1
}

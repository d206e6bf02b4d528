package stats

import (
	"math"
	"slices"
)

// RateLaw is a beta law of the rates of lots, by its mean and the correlation rho of
// two cuttings of a lot, and the weight it has among others: 1 where it is known.
type RateLaw struct{ Mean, Rho, Weight float64 }

// lawNodes is how many means, and how many values of rho, are weighed.
const lawNodes = 40

// Posterior is what lots tell of the beta law of rates: laws weighed by how likely
// they make what was seen, so that what the lots do not tell is not taken for known.
// Before any are seen the mean has Jeffreys' law Beta(1/2, 1/2), and rho the law
// Beta(1, 1/UsualRho - 1), whose mean is UsualRho: it stays near that where lots do
// not tell rho, as one lot does not. Each mean comes once, with the mean of rho for
// it, which gives a new lot the right variance.
//
// The likelihood is that of Griffiths (1973), Biometrics 29:637-648; it costs as much
// as the largest lot has cuttings. The weights sum to 1. There must be a cutting.
func Posterior(shares []Share) []RateLaw {
	c, rhos := countsAbove(shares), usualRhos()
	c.choose = 0 // the same for all laws
	means := likelyMeans(shares)
	heights := make([]float64, 0, len(means)*len(rhos))
	for _, mean := range means {
		for _, rho := range rhos {
			heights = append(heights, c.logLikelihood(mean, rho/(1-rho)))
		}
	}
	top, sum := slices.Max(heights), 0.0
	laws := make([]RateLaw, 0, len(means))
	for i, mean := range means {
		law := RateLaw{Mean: mean}
		for j, rho := range rhos {
			weight := math.Exp(heights[i*len(rhos)+j] - top)
			law.Weight, law.Rho = law.Weight+weight, law.Rho+weight*rho
		}
		if law.Weight < 1e-9 {
			continue
		}
		law.Rho /= law.Weight
		laws, sum = append(laws, law), sum+law.Weight
	}
	for i := range laws {
		laws[i].Weight /= sum
	}
	return laws
}

// usualRhos are values of rho that are as likely as each other before lots are seen.
func usualRhos() []float64 {
	rhos := make([]float64, lawNodes)
	for j := range rhos {
		rhos[j] = 1 - math.Pow(1-(float64(j)+0.5)/lawNodes, UsualRho/(1-UsualRho))
	}
	return rhos
}

// likelyMeans are means around the share that rooted, as likely as each other before
// lots are seen: even steps of the arc sine of the root, which lies within 4/√B of
// that of the share for certain, with B lots of equal size or what others are worth.
func likelyMeans(shares []Share) []float64 {
	p, n := sumUp(shares)
	squares := 0.0
	for _, s := range shares {
		squares += float64(s.Stuck) * float64(s.Stuck)
	}
	middle, width := math.Asin(math.Sqrt(p)), 4*math.Sqrt(squares)/n
	from, to := max(0, middle-width), min(math.Pi/2, middle+width)
	means := make([]float64, lawNodes)
	for i := range means {
		root := math.Sin(from + (to-from)*(float64(i)+0.5)/lawNodes)
		means[i] = root * root
	}
	return means
}

// Alike is the one beta law whose mean and variance are those of laws by weight: what
// a new lot is expected to do, without knowing which of the laws holds.
func Alike(laws []RateLaw) BetaLaw {
	mean, square := 0.0, 0.0
	for _, l := range laws {
		mean += l.Weight * l.Mean
		square += l.Weight * (l.Mean*l.Mean + l.Mean*(1-l.Mean)*l.Rho)
	}
	sum := mean*(1-mean)/(square-mean*mean) - 1
	return BetaLaw{A: mean * sum, B: (1 - mean) * sum}
}

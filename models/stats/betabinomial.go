package stats

import (
	"errors"
	"math"
	"slices"
)

// ErrSpread is of lots that cannot tell how far lots differ.
var ErrSpread = errors.New("how far batches differ cannot be estimated")

// The reasons, each an ErrSpread.
var (
	ErrOneLot   = spreadError("with fewer than two batches there is nothing to hold against each other")
	ErrAllAlike = spreadError("all of them rooted, or none did")
	ErrWholes   = spreadError("every batch rooted whole or not at all")
	ErrSingles  = spreadError("there is but one cutting in each batch")
)

type spreadError string

func (e spreadError) Error() string        { return string(e) }
func (e spreadError) Is(target error) bool { return target == ErrSpread }

// BetaBinomial is rooting of lots whose rates differ by a beta law with mean Mu
// and 1/(a+b) = Theta. Rho = Theta/(1+Theta) is the correlation of two cuttings of
// a lot. Theta 0 is lots that do not differ.
type BetaBinomial struct {
	Mu, Theta, Rho        float64
	LogLikelihood         float64 // with binomial coefficients
	LogLikelihoodBinomial float64 // of lots that do not differ
	TaroneZ, TaroneP      float64 // test of no difference, one-sided
}

// FitBetaBinomial is the most likely beta-binomial law of lots that were all
// watched long enough:
//
//	ℓ = Σj [#{r>j} ln(μ+jθ) + #{n-r>j} ln(1-μ+jθ) - #{n>j} ln(1+jθ)] + Σ ln choose(n, r)
//
// (Griffiths 1973, Biometrics 29:637-648; Prentice 1986, J Am Stat Assoc
// 81:321-327), which is exact at θ = 0 and costs as much as the largest lot has
// cuttings. Where θ = 0 is as likely Rho is 0. Z is that of Tarone (1979),
// Biometrika 66:585-590.
//
// It fails with an ErrSpread where nothing can be told. Lots that are still open
// look like failures, and must not be among them.
func FitBetaBinomial(shares []Share) (BetaBinomial, error) {
	if err := tellsSpread(shares); err != nil {
		return BetaBinomial{}, err
	}
	c := countsAbove(shares)
	p, _ := sumUp(shares)
	fit := BetaBinomial{Mu: p, LogLikelihoodBinomial: c.logLikelihood(p, 0)}
	fit.TaroneZ, fit.TaroneP = tarone(shares, p)
	fit.LogLikelihood = fit.LogLikelihoodBinomial
	if theta := c.likeliestTheta(); c.profile(theta) > fit.LogLikelihoodBinomial+thetaGain {
		fit.Mu, fit.Theta, fit.Rho = c.likeliestMu(theta), theta, theta/(1+theta)
		fit.LogLikelihood = c.logLikelihood(fit.Mu, theta)
	}
	return fit, nil
}

// thetaGain is how much likelier lots that differ must be: less is rounding.
const thetaGain = 1e-9

func tellsSpread(shares []Share) error {
	p, n := sumUp(shares)
	wholes, singles := true, true
	for _, s := range shares {
		wholes = wholes && (s.Rooted == 0 || s.Rooted == s.Stuck)
		singles = singles && s.Stuck < 2
	}
	switch {
	case len(shares) < 2:
		return ErrOneLot
	case n == 0 || p == 0 || p == 1:
		return ErrAllAlike
	case singles:
		return ErrSingles
	case wholes:
		return ErrWholes
	}
	return nil
}

// above counts lots with more than j rooted, not rooted and stuck, by j.
type above struct {
	rooted, failed, stuck []float64
	choose                float64 // Σ ln choose(n, r)
}

func countsAbove(shares []Share) above {
	most := 0
	for _, s := range shares {
		most = max(most, s.Stuck)
	}
	c := above{make([]float64, most), make([]float64, most), make([]float64, most), 0}
	for _, s := range shares {
		fill := func(to []float64, n int) {
			for j := range n {
				to[j]++
			}
		}
		fill(c.rooted, s.Rooted)
		fill(c.failed, s.Stuck-s.Rooted)
		fill(c.stuck, s.Stuck)
		c.choose += choicesLog(s.Stuck, s.Rooted)
	}
	return c
}

func (c *above) logLikelihood(mu, theta float64) float64 {
	ell := c.choose
	for j := range c.stuck {
		step := float64(j) * theta
		ell += times(c.rooted[j], mu+step) + times(c.failed[j], 1-mu+step) - times(c.stuck[j], 1+step)
	}
	return ell
}

// times is n ln x, and 0 where n is.
func times(n, x float64) float64 {
	if n == 0 {
		return 0
	}
	return n * math.Log(x)
}

// likeliestMu is the mean for a theta. The likelihood is concave in it, so that its
// slope is halved down to nought.
func (c *above) likeliestMu(theta float64) float64 {
	low, high := 0.0, 1.0
	for range 80 {
		mu, slope := (low+high)/2, 0.0
		for j := range c.stuck {
			step := float64(j) * theta
			slope += quotient(c.rooted[j], mu+step) - quotient(c.failed[j], 1-mu+step)
		}
		if slope > 0 {
			low = mu
		} else {
			high = mu
		}
	}
	return (low + high) / 2
}

func quotient(n, x float64) float64 {
	if n == 0 {
		return 0
	}
	return n / x
}

func (c *above) profile(theta float64) float64 { return c.logLikelihood(c.likeliestMu(theta), theta) }

// likeliestTheta looks over the logarithm of theta in steps and then ever more
// closely around the best of them (golden section: Kiefer 1953, Proc Am Math Soc
// 4:502-506).
func (c *above) likeliestTheta() float64 {
	const from, to, steps = -18.0, 8.0, 52
	values := make([]float64, steps+1)
	at := func(i int) float64 { return from + (to-from)*float64(i)/steps }
	for i := range values {
		values[i] = c.profile(math.Exp(at(i)))
	}
	best := slices.Index(values, slices.Max(values))
	low, high := at(max(0, best-1)), at(min(steps, best+1))
	golden := (math.Sqrt(5) - 1) / 2
	for range 60 {
		width := golden * (high - low)
		if c.profile(math.Exp(high-width)) > c.profile(math.Exp(low+width)) {
			high = low + width
		} else {
			low = high - width
		}
	}
	return math.Exp((low + high) / 2)
}

// tarone is [Σ(r-np)²/(p(1-p)) - Σn] ÷ √(2 Σ n(n-1)), and its one-sided p.
func tarone(shares []Share, p float64) (z, oneSided float64) {
	squares, n, pairs := 0.0, 0.0, 0.0
	for _, s := range shares {
		stuck := float64(s.Stuck)
		off := float64(s.Rooted) - p*stuck
		squares, n, pairs = squares+off*off, n+stuck, pairs+stuck*(stuck-1)
	}
	z = (squares/(p*(1-p)) - n) / math.Sqrt(2*pairs)
	return z, math.Erfc(z/math.Sqrt2) / 2
}

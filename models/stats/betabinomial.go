package stats

import (
	"cmp"
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
// 81:321-327), which is exact at θ = 0. Where θ = 0 is as likely Rho is 0. Z is that of
// Tarone (1979), Biometrika 66:585-590. The sums over the first cuttings of a lot are
// added up, and those over the rest of a large one are had from integrals, so that it
// costs as much as there are lots, however large they are.
//
// It fails with an ErrSpread where nothing can be told. Lots that are still open
// look like failures, and must not be among them.
func FitBetaBinomial(shares []Share) (BetaBinomial, error) {
	if err := tellsSpread(shares); err != nil {
		return BetaBinomial{}, err
	}
	shares = slices.SortedFunc(slices.Values(shares), func(a, b Share) int { // their order is nothing to the sums
		return cmp.Or(a.Stuck-b.Stuck, a.Rooted-b.Rooted)
	})
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

// oneByOne is how many cuttings of a lot are added up one by one. From there on the
// terms are so smooth that three terms of Euler and Maclaurin miss less than rounding.
const oneByOne = 256

// above counts lots with more than j rooted, not rooted and stuck, by j up to oneByOne,
// and keeps the sizes of those that go on.
type above struct {
	rooted, failed, stuck sizes
	choose                float64 // Σ ln choose(n, r)
}

type sizes struct {
	above []float64 // by j
	large []int
}

func countsAbove(shares []Share) above {
	var c above
	for _, s := range shares {
		c.rooted.add(s.Rooted)
		c.failed.add(s.Stuck - s.Rooted)
		c.stuck.add(s.Stuck)
		c.choose += choicesLog(s.Stuck, s.Rooted)
	}
	return c
}

func (s *sizes) add(n int) {
	few := min(n, oneByOne)
	s.above = append(s.above, make([]float64, max(0, few-len(s.above)))...)
	for j := range few {
		s.above[j]++
	}
	if n > oneByOne {
		s.large = append(s.large, n)
	}
}

// logs is Σj #{n>j} ln(x+jθ), and inverses Σj #{n>j} / (x+jθ).
func (s *sizes) logs(x, theta float64) float64     { return s.sum(x, theta, times, logsOf) }
func (s *sizes) inverses(x, theta float64) float64 { return s.sum(x, theta, quotient, inversesOf) }

// sum adds up some number of terms at each x+jθ, and the rest of large lots at once.
func (s *sizes) sum(x, theta float64, terms func(n, at float64) float64, rest func(from, theta, n float64) float64) float64 {
	sum := 0.0
	for j, n := range s.above {
		sum += terms(n, x+float64(j)*theta)
	}
	for _, n := range s.large {
		sum += rest(x+oneByOne*theta, theta, float64(n-oneByOne))
	}
	return sum
}

// logsOf is Σ ln(x+jθ) over j < n, and inversesOf Σ 1/(x+jθ), by the integral and what
// it misses (Euler-Maclaurin; Abramowitz and Stegun 1964, 23.1.30). Both want x to be
// many θ.
func logsOf(x, theta, n float64) float64 {
	if theta == 0 {
		return n * math.Log(x)
	}
	end, grows := x+n*theta, n*theta/x
	integral := n*math.Log(x) + x/theta*((1+grows)*math.Log1p(grows)-grows)
	slope, third := theta/end-theta/x, 2*(cube(theta/end)-cube(theta/x))
	return integral - math.Log1p(grows)/2 + slope/12 - third/720
}

func inversesOf(x, theta, n float64) float64 {
	if theta == 0 {
		return n / x
	}
	end := x + n*theta
	slope, third := theta/(x*x)-theta/(end*end), 6*(cube(theta/x)/x-cube(theta/end)/end)
	return math.Log1p(n*theta/x)/theta + (1/x-1/end)/2 + slope/12 - third/720
}

func cube(x float64) float64 { return x * x * x }

func (c *above) logLikelihood(mu, theta float64) float64 {
	return c.choose + c.rooted.logs(mu, theta) + c.failed.logs(1-mu, theta) - c.stuck.logs(1, theta)
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
		mu := (low + high) / 2
		if c.rooted.inverses(mu, theta) > c.failed.inverses(1-mu, theta) {
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

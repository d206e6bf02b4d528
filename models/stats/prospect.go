package stats

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// LotState is a lot as its last look at roots left it.
type LotState struct {
	Day    int // of that look, 0 without one
	Rooted int // ever found rooted
	Lost   int // before they rooted
	Open   int // neither, and not taken out
}

// Prospect is what becomes of the open cuttings of a lot. The share that roots
// differs from lot to lot by a beta law with the mean of a pool and the correlation
// rho of two cuttings of a lot; what was found so far tells which shares are likely
// in this one. How fast they root, and how fast the others are lost, is the same in
// all lots of the pool.
//
// Of a lot with the share pi, found on day c with r rooted, l lost and u open:
// P(found | pi) = pi^r (1-pi)^l [pi (1-G(c)) + (1-pi)(1-H(c))]^u with G the law of
// the days to root and H that of the days to loss of those that do not root, and
// an open one has rooted by day d with chance
// q(d | pi) = pi (G(d)-G(c)) / [pi (1-G(c)) + (1-pi)(1-H(c))].
// So the number rooted by d is a mixture of binomial ones. Skellam (1948), J R Stat
// Soc B 10:257-261, for the beta mixture; Lawless & Fredette (2005), Biometrika
// 92:529-542, for forecasts that allow for what is not known.
type Prospect struct {
	LotState
	law     Law
	shares  []float64 // likely values of pi
	weights []float64 // of these, summing to 1
	roots   float64   // 1 - G(c)
	stands  float64   // 1 - H(c)
}

// ErrProspect is of a lot or a law of which nothing can be foretold.
var ErrProspect = errors.New("nothing can be foretold")

// pooledRho is the correlation below which lots are taken not to differ.
const pooledRho = 1e-4

// Foretell looks ahead from a state of a lot. Of rho, 0 and up to but not 1, less
// than 0.0001 means that lots do not differ.
func Foretell(m Mixture, rho float64, s LotState) (*Prospect, error) {
	if min(s.Day, s.Rooted, s.Lost, s.Open) < 0 {
		return nil, fmt.Errorf("%w: a count below 0", ErrProspect)
	}
	if !(m.PiRoot > 0 && m.PiRoot <= 1) || !(rho >= 0 && rho < 1) || !(m.Rooting.Sigma > 0) {
		return nil, fmt.Errorf("%w: a share of %g, a correlation of %g", ErrProspect, m.PiRoot, rho)
	}
	p := &Prospect{LotState: s, law: m.Rooting, roots: m.Rooting.Between(float64(s.Day), math.Inf(1)), stands: 1}
	if m.PiLoss > 0 {
		p.stands -= m.PiLoss / (m.PiLoss + m.PiNever) * m.Losing.By(float64(s.Day))
	}
	p.shares, p.weights = []float64{m.PiRoot}, []float64{1}
	if rho >= pooledRho && m.PiRoot < 1 {
		p.weigh(m.PiRoot*(1-rho)/rho, (1-m.PiRoot)*(1-rho)/rho)
	}
	return p, nil
}

const (
	faintest    = 35.0 // how far below the highest log density nodes are left out
	finestNodes = 400  // nodes across what is likely
	widestStep  = 0.1  // between nodes, in logits
	mostNodes   = 20000
)

// weigh finds the likely shares after what was found, with a beta(a, b) law before
// it. In logits the density is smooth and falls off exponentially on both sides,
// where the plain trapezoid is as exact as any rule: Trefethen & Weideman (2014),
// SIAM Review 56:385-458.
func (p *Prospect) weigh(a, b float64) {
	alpha, beta := a+float64(p.Rooted), b+float64(p.Lost)
	log := func(x float64) float64 {
		pi, rest := expit(x), expit(-x)
		open := 0.0
		if p.Open > 0 {
			open = float64(p.Open) * math.Log(max(pi*p.roots+rest*p.stands, math.SmallestNonzeroFloat64))
		}
		return alpha*shareLog(x) + beta*shareLog(-x) + open
	}
	from, to := -faintest/alpha-40, faintest/beta+40
	for range 4 { // each time what is likely is seen more closely
		from, to = likely(log, from, to)
	}
	steps := min(max(finestNodes, int((to-from)/widestStep)), mostNodes)
	nodes, heights := make([]float64, steps+1), make([]float64, steps+1)
	for i := range nodes {
		nodes[i] = from + (to-from)*float64(i)/float64(steps)
		heights[i] = log(nodes[i])
	}
	p.take(nodes, heights)
}

// likely narrows a stretch to where a log density is not far below its highest.
func likely(log func(float64) float64, from, to float64) (float64, float64) {
	const steps = 500
	step := (to - from) / steps
	heights := make([]float64, steps+1)
	for i := range heights {
		heights[i] = log(from + float64(i)*step)
	}
	top := slices.Max(heights)
	first := slices.IndexFunc(heights, func(h float64) bool { return h > top-faintest })
	last := steps
	for last > 0 && !(heights[last] > top-faintest) {
		last--
	}
	return max(from, from+float64(first-1)*step), min(to, from+float64(last+1)*step)
}

// take keeps the nodes that matter, as shares with weights.
func (p *Prospect) take(nodes, heights []float64) {
	p.shares, p.weights = p.shares[:0], p.weights[:0]
	top, sum := slices.Max(heights), 0.0
	for i, h := range heights {
		if h-top > -faintest {
			w := math.Exp(h - top)
			p.shares, p.weights, sum = append(p.shares, expit(nodes[i])), append(p.weights, w), sum+w
		}
	}
	for i := range p.weights {
		p.weights[i] /= sum
	}
}

// shareLog is log(1 / (1 + e^-x)) without loss far below 0.
func shareLog(x float64) float64 {
	if x < 0 {
		return x - math.Log1p(math.Exp(x))
	}
	return -math.Log1p(math.Exp(-x))
}

// chance is that of an open cutting of a lot with a share to have rooted by a day,
// +Inf for ever.
func (p *Prospect) chance(share, day float64) float64 {
	still := share*p.roots + (1-share)*p.stands
	if !(still > 0) {
		return 0
	}
	return min(1, share*p.law.Between(float64(p.Day), day)/still)
}

// Chance is that of an open cutting to have rooted by a day; by +Inf, to root at
// all.
func (p *Prospect) Chance(day float64) float64 {
	sum := 0.0
	for i, share := range p.shares {
		sum += p.weights[i] * p.chance(share, day)
	}
	return min(sum, 1)
}

// Expected is the number expected to have rooted by a day, those found among them.
func (p *Prospect) Expected(day float64) float64 {
	return float64(p.Rooted) + float64(p.Open)*p.Chance(day)
}

// Counts are the chances that none, one, ... all of the open cuttings have rooted
// by a day.
func (p *Prospect) Counts(day float64) []float64 {
	pmf := make([]float64, p.Open+1)
	for i, share := range p.shares {
		addBinomial(pmf, p.chance(share, day), p.weights[i])
	}
	return pmf
}

// negligible is a weight that changes no chance one could read.
const negligible = 1e-13

// addBinomial adds the binomial chances of q with a weight, from the likeliest count
// outwards to where they no longer matter.
func addBinomial(pmf []float64, q, weight float64) {
	n := len(pmf) - 1
	switch {
	case weight < negligible:
		return
	case q <= 0:
		pmf[0] += weight
		return
	case q >= 1:
		pmf[n] += weight
		return
	}
	mode := min(n, int(float64(n+1)*q))
	top := weight * math.Exp(choicesLog(n, mode)+float64(mode)*math.Log(q)+float64(n-mode)*math.Log1p(-q))
	odds := q / (1 - q)
	for k, height := mode, top; k <= n && height > negligible*negligible; k++ {
		pmf[k] += height
		height *= odds * float64(n-k) / float64(k+1)
	}
	for k, height := mode, top; k > 0; k-- {
		height *= float64(k) / (odds * float64(n-k+1))
		if height <= negligible*negligible {
			return
		}
		pmf[k-1] += height
	}
}

func choicesLog(n, k int) float64 {
	a, _ := math.Lgamma(float64(n + 1))
	b, _ := math.Lgamma(float64(k + 1))
	c, _ := math.Lgamma(float64(n - k + 1))
	return a - b - c
}

// Band is the band of a level of the number rooted by a day, those found among
// them: the smallest counts that are not exceeded with chances of (1-level)/2 and
// (1+level)/2. Mass is the chance that the number lies in it, both ends included:
// more than the level, since counts are whole.
func (p *Prospect) Band(day, level float64) (lower, upper int, mass float64) {
	pmf := p.Counts(day)
	lower, upper = countAt(pmf, (1-level)/2), countAt(pmf, (1+level)/2)
	for k := lower; k <= upper; k++ {
		mass += pmf[k]
	}
	return p.Rooted + lower, p.Rooted + upper, min(mass, 1)
}

func countAt(pmf []float64, q float64) int {
	sum := 0.0
	for k, height := range pmf {
		if sum += height; sum >= q-negligible {
			return k
		}
	}
	return len(pmf) - 1
}

// AtLeast is the chance that a number or more have rooted by a day, those found
// among them.
func (p *Prospect) AtLeast(wanted int, day float64) float64 {
	missing := wanted - p.Rooted
	switch {
	case missing <= 0:
		return 1
	case missing > p.Open:
		return 0
	}
	sum := 0.0
	for _, height := range p.Counts(day)[missing:] {
		sum += height
	}
	return min(sum, 1)
}

// FirstDay is the first whole day, from the last look up to a horizon, by which a
// wanted number have rooted with a chance; ok is false where there is none.
func (p *Prospect) FirstDay(wanted int, chance float64, horizon int) (day int, ok bool) {
	if !(p.AtLeast(wanted, float64(horizon)) >= chance) || horizon < p.Day {
		return 0, false
	}
	early, late := p.Day-1, horizon // never by early, always by late
	for late-early > 1 {
		middle := (early + late) / 2
		if p.AtLeast(wanted, float64(middle)) >= chance {
			late = middle
		} else {
			early = middle
		}
	}
	return late, true
}

// RankedScore is the ranked probability score of chances of none, one, ... all n
// cuttings against what came, as a share of n: sum over k of (F(k) - 1{came <=
// k})^2 / n. 0 is best. Epstein (1969), J Appl Meteorol 8:985-987.
func RankedScore(pmf []float64, came int) float64 {
	if len(pmf) < 2 {
		return 0
	}
	sum, by := 0.0, 0.0
	for k, height := range pmf {
		by += height
		miss := by
		if came <= k {
			miss = 1 - by
		}
		sum += miss * miss
	}
	return sum / float64(len(pmf)-1)
}

// BetaBinomialCounts are the chances of none, one, ... n of n cuttings of a lot,
// where lots differ around a mean with the correlation rho of two cuttings. With
// θ = rho/(1-rho) each follows from the one before,
//
//	P(k+1) ÷ P(k) = (n-k) (μ+kθ) ÷ [(k+1) (1-μ+(n-k-1)θ)],
//
// which is the binomial law at θ = 0 and loses no digits near it. Skellam (1948), J
// R Stat Soc B 10:257-261.
func BetaBinomialCounts(n int, mean, rho float64) []float64 {
	pmf := make([]float64, n+1)
	if mean <= 0 || mean >= 1 {
		addBinomial(pmf, mean, 1)
		return pmf
	}
	theta, top := rho/(1-rho), 0.0
	for k := range n {
		up := float64(n-k) * (mean + float64(k)*theta)
		down := float64(k+1) * (1 - mean + float64(n-k-1)*theta)
		pmf[k+1] = pmf[k] + math.Log(up/down)
		top = max(top, pmf[k+1])
	}
	sum := 0.0
	for k := range pmf {
		pmf[k] = math.Exp(pmf[k] - top)
		sum += pmf[k]
	}
	for k := range pmf {
		pmf[k] /= sum
	}
	return pmf
}

package stats

import (
	"math"
	"math/bits"
	"sort"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/stat/distuv"
)

// MostCuttings is the largest number a need is looked for; beyond, it is out of
// reach.
const MostCuttings = 100_000

const assuranceSlack = 1e-9 // how far below an assurance still reaches it

// AtLeast is the chance that of n cuttings in one lot a number or more root, where
// lots differ around a mean rate with the correlation rho of two cuttings: the tail
// of a beta-binomial law, of a binomial one where rho is 0.
func AtLeast(wanted, n int, mean, rho float64) float64 {
	switch {
	case wanted <= 0:
		return 1
	case wanted > n || !(mean > 0):
		return 0
	case mean >= 1:
		return 1
	}
	return upFrom(BetaBinomialCounts(n, mean, rho), wanted)
}

// upFrom adds up the shorter side.
func upFrom(pmf []float64, wanted int) float64 {
	sum := 0.0
	if 2*wanted > len(pmf) {
		for _, p := range pmf[wanted:] {
			sum += p
		}
		return min(1, sum)
	}
	for _, p := range pmf[:wanted] {
		sum += p
	}
	return max(0, 1-sum)
}

// CuttingsNeeded is the smallest number of cuttings in one lot of which a wanted
// number root with a chance of assurance, where lots differ around a mean rate with
// the correlation rho. Ok is false where that many are out of reach.
func CuttingsNeeded(wanted int, mean, rho, assurance float64) (n int, ok bool) {
	return Smallest(wanted, MostCuttings, assurance, func(n int) float64 { return AtLeast(wanted, n, mean, rho) })
}

// CuttingsNeededOver is CuttingsNeeded with the cuttings spread evenly over a
// number of lots that differ by themselves: the more lots, the fewer it takes.
func CuttingsNeededOver(lots, wanted int, mean, rho, assurance float64) (n int, ok bool) {
	return Smallest(wanted, MostCuttings, assurance, func(n int) float64 { return atLeastOver(lots, wanted, n, mean, rho) })
}

// AtLeastOver is the chance that of n cuttings, spread evenly over lots that differ
// by themselves, a wanted number root, where one of some laws holds for all of them.
func AtLeastOver(laws []RateLaw, lots, wanted, n int) float64 {
	sum := 0.0
	for _, l := range laws {
		sum += l.Weight * atLeastOver(lots, wanted, n, l.Mean, l.Rho)
	}
	return min(1, sum)
}

// Smallest is the least n, from wanted up to most, with a chance of assurance; the
// chance never falls as n rises. Nothing wanted takes nothing. Ok is false where that
// many are out of reach.
func Smallest(wanted, most int, assurance float64, chance func(n int) float64) (n int, ok bool) {
	if wanted <= 0 {
		return 0, true
	}
	reaches := func(n int) bool { return chance(n) >= assurance-assuranceSlack }
	low, high := wanted, wanted
	for !reaches(high) {
		if high >= most {
			return 0, false
		}
		low, high = high+1, min(2*high, most)
	}
	return low + sort.Search(high-low, func(i int) bool { return reaches(low + i) }), true
}

// atLeastOver adds up lots of a number of cuttings as equal as can be. The law of a
// sum is the product of the Fourier transforms of its parts.
func atLeastOver(lots, wanted, n int, mean, rho float64) float64 {
	if lots <= 1 || wanted <= 0 || wanted > n {
		return AtLeast(wanted, n, mean, rho)
	}
	size, larger := n/lots, n%lots
	length := 1 << bits.Len(uint(n)) // room for every sum
	fft := fourier.NewCmplxFFT(length)
	whole := transformed(fft, length, BetaBinomialCounts(size, mean, rho))
	more := transformed(fft, length, BetaBinomialCounts(size+1, mean, rho))
	for i := range whole {
		whole[i] = power(whole[i], lots-larger) * power(more[i], larger)
	}
	sums := fft.Sequence(nil, whole)
	pmf := make([]float64, n+1)
	for k := range pmf {
		pmf[k] = max(0, real(sums[k])/float64(length))
	}
	return upFrom(pmf, wanted)
}

func transformed(fft *fourier.CmplxFFT, length int, pmf []float64) []complex128 {
	padded := make([]complex128, length)
	for k, p := range pmf {
		padded[k] = complex(p, 0)
	}
	return fft.Coefficients(nil, padded)
}

// power is x to the n, by squares.
func power(x complex128, n int) complex128 {
	y := complex(1, 0)
	for ; n > 0; n >>= 1 {
		if n&1 == 1 {
			y *= x
		}
		x *= x
	}
	return y
}

// BetaLaw is a beta law of the share of a step that comes through.
type BetaLaw struct{ A, B float64 }

// Mean is the mean share.
func (l BetaLaw) Mean() float64 { return l.A / (l.A + l.B) }

// Rho is the correlation of two cuttings of a lot.
func (l BetaLaw) Rho() float64 { return 1 / (1 + l.A + l.B) }

// MostChained is the largest number of cuttings that a chain of steps is looked for:
// it costs as much as the square of them.
const MostChained = 10_000

// AtLeastInChain is the chance that of k cuttings of one lot a wanted number come
// through every step.
func AtLeastInChain(wanted, k int, steps []BetaLaw) float64 {
	switch {
	case wanted <= 0:
		return 1
	case wanted > k:
		return 0
	}
	return upFrom(ChainCounts(k, steps), wanted)
}

// ChainCounts are the chances of none, one, ... all of k cuttings of one lot to come
// through every step, the share of each step drawn once for the lot from its beta
// law: X of a step is beta-binomial of the X of the step before. So X of the last is
// binomial by the product of the shares, in whichever order the steps come.
func ChainCounts(k int, steps []BetaLaw) []float64 {
	counts := make([]float64, k+1)
	counts[k] = 1
	for _, step := range steps {
		through := newThrough(k, step)
		next := make([]float64, k+1)
		for n, chance := range counts {
			if chance > negligible*negligible {
				through.add(next, n, chance)
			}
		}
		counts = next
	}
	return counts
}

// through is a beta-binomial law laid out so that it is quick for one number after the
// other: its log is whole[n] + stays[x] + goes[n-x], and it rises from x to x+1 by
// more[x] ÷ less[n-x-1].
type through struct {
	law                            BetaLaw
	whole, stays, goes, more, less []float64
}

func newThrough(k int, law BetaLaw) *through {
	t := &through{law, make([]float64, k+1), make([]float64, k+1), make([]float64, k+1), make([]float64, k), make([]float64, k)}
	for i := range k {
		j := float64(i)
		t.more[i], t.less[i] = (law.A+j)/(j+1), (law.B+j)/(j+1)
		t.whole[i+1] = t.whole[i] + math.Log((j+1)/(law.A+law.B+j))
		t.stays[i+1] = t.stays[i] + math.Log(t.more[i])
		t.goes[i+1] = t.goes[i] + math.Log(t.less[i])
	}
	return t
}

// add adds the chances of none, one, ... all n to come through with a weight, from the
// likeliest number outwards to where they no longer matter.
func (t *through) add(to []float64, n int, weight float64) {
	mode := t.mode(n)
	top := weight * math.Exp(t.whole[n]+t.stays[mode]+t.goes[n-mode])
	for x, height := mode, top; height > top*negligible*negligible; x++ {
		to[x] += height
		if x == n {
			break
		}
		height *= t.more[x] / t.less[n-x-1]
	}
	for x, height := mode, top; x > 0; x-- {
		if height *= t.less[n-x] / t.more[x-1]; height <= top*negligible*negligible {
			return
		}
		to[x-1] += height
	}
}

// mode is the likeliest number of n: where the law stops rising, or an end of it.
func (t *through) mode(n int) int {
	best := 0
	if t.stays[n]+t.goes[0] > t.stays[0]+t.goes[n] {
		best = n
	}
	if t.law.A > 1 && t.law.B > 1 {
		best = int(float64(n+1) * (t.law.A - 1) / (t.law.A + t.law.B - 2))
	}
	return min(n, best)
}

// Power of a test between two arms: a two-sided level of 5 %.
const (
	testLevel     = 0.95
	mostPerArm    = 2000 // batches an arm that are looked for
	leastBatchArm = 2
)

// BatchesPerArm is the smallest number of lots each arm needs for a difference of
// two rates to be found with a power, at a two-sided level of 5 %: the test is
// Student's t of 2B-2 degrees of freedom over lots of n cuttings each, whose
// variance is v = [p1(1-p1) + p0(1-p0)] [1+(n-1)rho] ÷ n, with the noncentrality
// (p1-p0) ÷ √(v/B). Name the difference that matters, never the one seen. Ok is
// false where it takes more than 2,000, or there is no difference.
//
// Donner & Klar (2000), Design and Analysis of Cluster Randomization Trials, ch. 5.
func BatchesPerArm(p1, p0 float64, cuttings int, rho, power float64) (batches int, ok bool) {
	v := (p1*(1-p1) + p0*(1-p0)) * (1 + float64(cuttings-1)*rho) / float64(cuttings)
	if p1 == p0 || cuttings < 1 || !(v >= 0) {
		return 0, false
	}
	found := func(b int) bool {
		if v == 0 {
			return true
		}
		return TPower(math.Abs(p1-p0)/math.Sqrt(v/float64(b)), 2*b-2) >= power-assuranceSlack
	}
	if !found(mostPerArm) {
		return 0, false
	}
	return leastBatchArm + sort.Search(mostPerArm-leastBatchArm, func(i int) bool { return found(leastBatchArm + i) }), true
}

// TPower is the chance that Student's t of df degrees of freedom with a
// noncentrality is beyond its two-sided 5 % quantile q:
// 1 - ∫ [Φ(qs-δ) - Φ(-qs-δ)] f(s) ds, with s the root of chi-squared over df
// (Johnson, Kotz & Balakrishnan 1995, Continuous Univariate Distributions 2, ch. 31).
func TPower(noncentrality float64, df int) float64 {
	q, nu := quantile(testLevel, df), float64(df)
	chi := distuv.ChiSquared{K: nu}
	low, high := max(1e-9, 1-12/math.Sqrt(2*nu)), 1+12/math.Sqrt(2*nu)
	const steps = 2000 // Simpson's rule
	width, inside := (high-low)/steps, 0.0
	for i := range steps + 1 {
		s := low + float64(i)*width
		weight := 2.0 + 2*float64(i%2)
		if i == 0 || i == steps {
			weight = 1
		}
		density := 2 * nu * s * math.Exp(chi.LogProb(nu*s*s))
		inside += weight * density * (normalBelow(q*s-noncentrality) - normalBelow(-q*s-noncentrality))
	}
	return min(1, max(0, 1-inside*width/3))
}

// normalBelow is the normal distribution function, exact in its lower tail.
func normalBelow(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// MeanRule is the number of plants divided by the mean rate, rounded up: what gives
// about an even chance. It is at most MostCuttings.
func MeanRule(wanted int, mean float64) int {
	return int(min(MostCuttings, math.Ceil(float64(wanted)/mean-assuranceSlack)))
}

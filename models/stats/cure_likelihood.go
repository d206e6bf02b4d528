package stats

import "math"

// leastChance keeps logarithms finite where a law far off gives a cell no chance.
const leastChance = 1e-300

// lossPart is how losses enter a fit.
type lossPart int

const (
	noLosses   lossPart = iota
	heldLosses          // with a law that is not fitted
	freeLosses
)

// cureShape is which parameters of a mixture are fitted: on the free scale, the
// logits of the shares against the last of them, then mu and log sigma of rooting,
// then those of loss.
type cureShape struct {
	family Family
	losses lossPart
	held   Law  // of losses that are held
	never  bool // a share never roots
}

// shares is how many parameters the shares take.
func (s cureShape) shares() int {
	n := 0
	if s.losses != noLosses {
		n++
	}
	if s.never {
		n++
	}
	return n
}

func (s cureShape) size() int {
	if s.losses == freeLosses {
		return s.shares() + 4
	}
	return s.shares() + 2
}

// mixture is what parameters on the free scale mean.
func (s cureShape) mixture(x []float64) Mixture {
	k := s.shares()
	m := Mixture{Rooting: lawAt(s.family, x[k:]), Losing: s.held}
	if s.losses == freeLosses {
		m.Losing = lawAt(Weibull, x[k+2:])
	}
	switch {
	case k == 2:
		m.PiNever, m.PiRoot, m.PiLoss = softmax(x[0], x[1])
	case s.never:
		m.PiRoot, m.PiNever = expit(x[0]), expit(-x[0])
	case k == 1:
		m.PiRoot, m.PiLoss = expit(x[0]), expit(-x[0])
	default:
		m.PiRoot = 1
	}
	return m
}

// lawAt is the law of mu and log sigma, kept where nothing overflows.
func lawAt(family Family, x []float64) Law {
	return Law{family, min(max(x[0], -30), 30), math.Exp(min(max(x[1], -7), 4))}
}

// free is a mixture on the free scale.
func (s cureShape) free(m Mixture) []float64 {
	var x []float64
	switch {
	case s.shares() == 2:
		x = append(x, math.Log(m.PiRoot/m.PiNever), math.Log(m.PiLoss/m.PiNever))
	case s.never:
		x = append(x, math.Log(m.PiRoot/m.PiNever))
	case s.losses != noLosses:
		x = append(x, math.Log(m.PiRoot/m.PiLoss))
	}
	x = append(x, m.Rooting.Mu, math.Log(m.Rooting.Sigma))
	if s.losses == freeLosses {
		x = append(x, m.Losing.Mu, math.Log(m.Losing.Sigma))
	}
	return x
}

// softmax are the shares of 0, a and b, without overflow.
func softmax(a, b float64) (none, first, second float64) {
	top := max(0, a, b)
	none, first, second = math.Exp(-top), math.Exp(a-top), math.Exp(b-top)
	sum := none + first + second
	return none / sum, first / sum, second / sum
}

// cureCell is a cell with its days on the log scale of a problem.
type cureCell struct {
	fate     Fate
	from, to float64
	count    float64
}

// given are the chances of a cell given that its cuttings never root nor are lost,
// root, or are lost: P = pi1 (G1(R) - G1(L)) for one rooted in (L, R], the like for
// one lost, and pi0 + pi1 (1 - G1(r)) + pi2 (1 - G2(d)) for one not rooted by day r
// and not lost by day d.
func (s cureShape) given(m *Mixture, c *cureCell) (never, root, loss float64) {
	switch c.fate {
	case FateRooted:
		return 0, m.Rooting.within(c.from, c.to), 0
	case FateLost:
		return 0, 0, m.Losing.within(c.from, c.to)
	}
	root = m.Rooting.within(c.from, math.Inf(1))
	if s.losses != noLosses {
		loss = m.Losing.within(c.to, math.Inf(1))
	}
	return 1, root, loss
}

// chance is that of a cell, of what is given in it.
func (m *Mixture) chance(never, root, loss float64) float64 {
	return max(leastChance, m.PiNever*never+m.PiRoot*root+m.PiLoss*loss)
}

// score is the chance of a cell and, in slope, the derivative of its logarithm by
// each parameter.
func (s cureShape) score(m *Mixture, c *cureCell, slope []float64) (chance float64) {
	never, root, loss := s.given(m, c)
	chance = m.chance(never, root, loss)
	rooting, losing := s.bends(m, c)
	k := s.shares()
	if k > 0 {
		slope[0] = m.PiRoot * (root - chance) / chance
	}
	if k == 2 {
		slope[1] = m.PiLoss * (loss - chance) / chance
	}
	slope[k], slope[k+1] = m.PiRoot*rooting.byMu/chance, m.PiRoot*rooting.byLogSigma/chance
	if s.losses == freeLosses {
		slope[k+2], slope[k+3] = m.PiLoss*losing.byMu/chance, m.PiLoss*losing.byLogSigma/chance
	}
	return chance
}

// bend is how the share of a law in a stretch of days changes with mu and with log
// sigma.
type bend struct{ byMu, byLogSigma float64 }

// bends are those of what is given in a cell.
func (s cureShape) bends(m *Mixture, c *cureCell) (rooting, losing bend) {
	switch c.fate {
	case FateRooted:
		return m.Rooting.bend(c.from, c.to), bend{}
	case FateLost:
		return bend{}, m.Losing.bend(c.from, c.to)
	}
	rooting = m.Rooting.bend(c.from, math.Inf(1))
	if s.losses != noLosses {
		losing = m.Losing.bend(c.to, math.Inf(1))
	}
	return rooting, losing
}

// within is the share of a law between two days on the log scale.
func (l Law) within(from, to float64) float64 {
	return l.Family.between(l.standard(from), l.standard(to))
}

func (l Law) bend(from, to float64) bend {
	muA, sigmaA := l.slopes(l.standard(from))
	muB, sigmaB := l.slopes(l.standard(to))
	return bend{muB - muA, sigmaB - sigmaA}
}

// logLikelihood is Σ n ln P at parameters on the free scale and, where gradient
// is not nil, its derivatives there.
func (s cureShape) logLikelihood(cells []cureCell, x, gradient []float64) float64 {
	m := s.mixture(x)
	ell := 0.0
	if gradient == nil {
		for i := range cells {
			ell += cells[i].count * math.Log(m.chance(s.given(&m, &cells[i])))
		}
		return ell
	}
	slope := make([]float64, len(x))
	clear(gradient)
	for i := range cells {
		c := &cells[i]
		ell += c.count * math.Log(s.score(&m, c, slope))
		for j := range gradient {
			gradient[j] += c.count * slope[j]
		}
	}
	return ell
}

package stats

import "math"

// solver finds the masses of atoms that make rows of cuttings most likely. Each
// row covers a run of atoms, so that all sums are prefix sums: an iteration costs
// rows + atoms. It keeps its memory from one problem to the next.
type solver struct {
	atoms []stretch
	spans []span
	mass  []float64
	gap   float64

	starts, ends         []int
	gradient             []float64
	prefix, held         []float64
	slope, curvature     []float64
	trial, target, pools []float64
	weights              []float64
	sizes                []int
}

const (
	mostRounds = 2000 // of which a few dozen are needed
	emFirst    = 10   // EM steps in each of the first rounds, and one later
	emRounds   = 4
	armijo     = 1e-4
	mostHalves = 40
)

// solve finds the masses. It starts from equal ones, and ends with gap as wanted
// or, where rounding allows no better, with the gap it could reach.
func (s *solver) solve(wanted float64) {
	m, n := len(s.atoms), s.cuttings()
	s.mass = clean(s.mass, m)
	for j := range s.mass {
		s.mass[j] = 1 / float64(m)
	}
	for round := range mostRounds {
		s.gap = s.slopes(n)
		if s.gap <= wanted || m == 1 {
			break
		}
		s.expect(n)
		if round < emRounds {
			for range emFirst - 1 {
				s.slopes(n)
				s.expect(n)
			}
		}
		s.minorant()
		s.slopes(n)
		s.expect(n)
	}
	s.gap = max(0, s.gap)
}

func (s *solver) cuttings() float64 {
	n := 0.0
	for _, r := range s.spans {
		n += r.count
	}
	return n
}

// slopes works out the gradient of the log-likelihood at every atom and answers
// how far the likelihood may be from its maximum.
func (s *solver) slopes(n float64) float64 {
	s.sum(s.mass)
	s.gradient = clean(s.gradient, len(s.mass)+1)
	for _, r := range s.spans {
		pull := r.count / s.chance(r)
		s.gradient[r.first] += pull
		s.gradient[r.last+1] -= pull
	}
	running, most := 0.0, math.Inf(-1)
	for j := range s.mass {
		running += s.gradient[j]
		s.gradient[j] = running
		most = max(most, running)
	}
	return most - n
}

// expect is one EM step: mass × gradient ÷ N, and the masses sum to 1 again.
func (s *solver) expect(n float64) {
	sum := 0.0
	for j := range s.mass {
		s.mass[j] = max(0, s.mass[j]*s.gradient[j]/n)
		sum += s.mass[j]
	}
	for j := range s.mass {
		s.mass[j] /= sum
	}
}

// sum keeps the running sums of masses: prefix[j] is that of the atoms before j.
func (s *solver) sum(mass []float64) {
	s.prefix = clean(s.prefix, len(mass)+1)
	for j, m := range mass {
		s.prefix[j+1] = s.prefix[j] + m
	}
}

func (s *solver) chance(r span) float64 { return s.prefix[r.last+1] - s.prefix[r.first] }

// logLikelihood of some masses; -Inf where a row has no chance.
func (s *solver) logLikelihood(mass []float64) float64 {
	s.sum(mass)
	ell := 0.0
	for _, r := range s.spans {
		p := s.chance(r)
		if p <= 0 {
			return math.Inf(-1)
		}
		ell += r.count * math.Log(p)
	}
	return ell
}

// minorant is one step of iterative convex minorants on the cumulated masses: the
// Newton step of each by itself, made monotone, then as much of the way there as
// raises the likelihood (Armijo 1966).
func (s *solver) minorant() {
	m := len(s.mass)
	before := s.logLikelihood(s.mass)
	s.newton(m - 1)
	s.target = clean(s.target, m-1)
	s.monotone(m - 1)
	gain := 0.0
	for j := range m - 1 {
		s.target[j] = min(1, max(0, s.target[j]))
		gain += s.slope[j] * (s.target[j] - s.prefix[j+1])
	}
	s.prefix, s.held = s.held, s.prefix // held is of the masses as they are
	s.backtrack(before, gain)
}

func (s *solver) backtrack(before, gain float64) {
	m, from := len(s.mass), s.held
	s.trial = clean(s.trial, m)
	for a, halves := 1.0, 0; halves < mostHalves; a, halves = a/2, halves+1 {
		last := 0.0
		for j := range m - 1 {
			x := from[j+1] + a*(s.target[j]-from[j+1])
			s.trial[j] = max(0, x-last)
			last = max(last, x)
		}
		s.trial[m-1] = max(0, 1-last)
		if s.logLikelihood(s.trial) >= before+armijo*a*gain {
			s.mass, s.trial = s.trial, s.mass
			return
		}
	}
}

// newton is the slope and the curvature of the log-likelihood in each of the n
// cumulated masses.
func (s *solver) newton(n int) {
	s.slope, s.curvature = clean(s.slope, n), clean(s.curvature, n)
	for _, r := range s.spans {
		p := s.chance(r)
		pull := r.count / p
		if r.last < n {
			s.slope[r.last] += pull
			s.curvature[r.last] += pull / p
		}
		if r.first > 0 {
			s.slope[r.first-1] -= pull
			s.curvature[r.first-1] += pull / p
		}
	}
}

// monotone is the Newton step pooled until it rises (Ayer et al. 1955, Ann Math
// Stat 26:641-647), weighted by curvature.
func (s *solver) monotone(n int) {
	s.pools, s.weights, s.sizes = s.pools[:0], s.weights[:0], s.sizes[:0]
	for j := range n {
		weight := s.curvature[j]
		value, size := s.prefix[j+1]+s.slope[j]/weight, 1
		for k := len(s.pools) - 1; k >= 0 && s.pools[k] >= value; k-- {
			value = (s.pools[k]*s.weights[k] + value*weight) / (s.weights[k] + weight)
			weight += s.weights[k]
			size += s.sizes[k]
			s.pools, s.weights, s.sizes = s.pools[:k], s.weights[:k], s.sizes[:k]
		}
		s.pools, s.weights, s.sizes = append(s.pools, value), append(s.weights, weight), append(s.sizes, size)
	}
	j := 0
	for k, size := range s.sizes {
		for range size {
			s.target[j] = s.pools[k]
			j++
		}
	}
}

// fixed says of each cumulated mass, from that before the first atom to that of
// all, whether every solution has it. Atoms below the greatest gradient carry no
// mass in any solution. The chance of each row is the same in all of them, and it
// ties the sum before its first atom to the sum with its last one; what is tied to
// the ends is determined (the columns of the atoms are then independent:
// Gentleman & Geyer 1994).
func (s *solver) fixed() []bool {
	n := s.cuttings()
	s.slopes(n)
	node := make([]int, len(s.atoms)+1) // atoms that may carry mass, before each
	for j, g := range s.gradient[:len(s.atoms)] {
		node[j+1] = node[j]
		if g >= n*(1-1e-6) {
			node[j+1]++
		}
	}
	parent := make([]int, node[len(s.atoms)]+1)
	for k := range parent {
		parent[k] = k
	}
	root := func(k int) int {
		for parent[k] != k {
			parent[k] = parent[parent[k]]
			k = parent[k]
		}
		return k
	}
	for _, r := range s.spans {
		parent[root(node[r.first])] = root(node[r.last+1])
	}
	parent[root(0)] = root(node[len(s.atoms)])
	fixed := make([]bool, len(node))
	for j := range fixed {
		fixed[j] = root(node[j]) == root(0)
	}
	return fixed
}

package stats

import "math"

// Scorer says of a lot whether it rooted earlier or later than all of a pool: the
// sum over its cuttings of the slope of their log-likelihood as rooting is made
// faster, at the pooled curve. Positive is earlier; over all lots of the pool they
// sum to 0.
//
// With S = 1 - F1 and S∞ what is left of it in the end, a cutting rooted in (L, R]
// scores [S(L) ln S(L) - S(R) ln S(R)] ÷ [S(L) - S(R)] (Finkelstein 1986, Biometrics
// 42:845-854), one lost ln S∞, and one not rooted by day r and not lost by day d
// [S(r) ln S(r) - F2(d) ln S∞] ÷ [S(r) - F2(d)]: the share lost shrinks as the
// share never rooting does (subdistribution of Fine & Gray 1999, J Am Stat Assoc
// 94:496-509).
type Scorer struct {
	pooled *Incidence
	end    atEnd
	known  map[fact]float64
	cells  []Cell
}

// NewScorer scores lots at a pooled curve.
func NewScorer(pooled *Incidence) *Scorer {
	rooted := pooled.share(func(s Step) bool { return s.Fate != FateRooted })
	return &Scorer{pooled: pooled, end: entropy(1 - rooted), known: map[fact]float64{}}
}

// Score is that of a lot, 0 of one without a look.
func (s *Scorer) Score(l *Lot) float64 {
	s.cells = l.appendCells(s.cells[:0])
	sum := 0.0
	for _, c := range s.cells {
		score, there := s.known[c.fact()]
		if !there {
			score = s.pooled.score(c, s.end)
			s.known[c.fact()] = score
		}
		sum += c.Count * score
	}
	return sum
}

// BatchScores are the scores of lots by their IDs.
func BatchScores(lots []Lot, pooled *Incidence) map[string]float64 {
	scores, scorer := make(map[string]float64, len(lots)), NewScorer(pooled)
	for i := range lots {
		scores[lots[i].ID] += scorer.Score(&lots[i])
	}
	return scores
}

// atEnd is S∞ and its logarithm, 0 for a share of 0, where it multiplies nothing.
type atEnd struct{ log float64 }

func entropy(rooted float64) atEnd {
	if rooted >= 1-leastMass {
		return atEnd{}
	}
	return atEnd{math.Log1p(-rooted)}
}

func (inc *Incidence) score(c Cell, end atEnd) float64 {
	switch c.Fate {
	case FateRooted:
		from, to := 1-inc.rootedBy(c.From), 1-inc.rootedBy(c.To)
		return ratio(xLogX(from)-xLogX(to), from-to)
	case FateLost:
		return end.log
	}
	left, lost := 1-inc.rootedBy(c.From), inc.lostBy(c.To)
	return ratio(xLogX(left)-lost*end.log, left-lost)
}

func xLogX(x float64) float64 {
	if x <= 0 {
		return 0
	}
	return x * math.Log(x)
}

// ratio is 0 where nothing can be divided by: such a cell has no chance.
func ratio(a, b float64) float64 {
	if !(b > 1e-300) {
		return 0
	}
	return a / b
}

// rootedBy and lostBy are the shares of this solution, one of several where the
// data do not determine them.
func (inc *Incidence) rootedBy(day int) float64 {
	return 1 - inc.share(func(s Step) bool { return s.Fate != FateRooted || s.To > day })
}

func (inc *Incidence) lostBy(day int) float64 {
	return inc.share(func(s Step) bool { return s.Fate == FateLost && s.To <= day })
}

// share is the mass of the atoms at the front of the axis.
func (inc *Incidence) share(front func(Step) bool) float64 {
	if len(inc.below) == 0 {
		return 1
	}
	return inc.below[inc.cut(front)]
}

package stats

import (
	"cmp"
	"slices"
	"sort"
)

// Step is a stretch of days (From, To] in which a share of the cuttings came to
// an end; how it lies within the stretch is not determined. A step of FateOpen is
// the share not seen to end, after day From; its To is 0.
type Step struct {
	Fate     Fate
	From, To int
	Mass     float64
}

// Incidence is the nonparametric maximum likelihood estimate of the cumulative
// incidence of rooting and of loss.
type Incidence struct {
	Steps         []Step  // with mass, in time: rooted, then lost, then not seen to end
	Cuttings      float64 // it was worked out from
	LogLikelihood float64 // Σ n ln P, without multinomial constants
	Gap           float64 // the log-likelihood could be higher by this at most
	Unique        bool    // no other masses have that likelihood
	Days          []int   // of the looks, ascending, without day 0

	line  []Step    // every atom in the order of the axis: lost, open, rooted backwards
	below []float64 // mass of the atoms before each, and of all
	fixed []bool    // whether that mass is determined
}

// leastMass is what is shown of a step: less is nought.
const leastMass = 1e-9

// FitIncidence is the curve that makes the cells most likely, with rooting and
// loss competing and each known to lie between looks only. It is found by EM
// steps and iterative convex minorant steps (Wellner & Zhan 1997, J Am Stat Assoc
// 92:945-959) on one axis, and stops once the certificate
// gap = max over atoms of the gradient - N is at most gap, since by concavity the
// maximum lies no higher than that (Gentleman & Geyer 1994, Biometrika
// 81:618-623). Gap 0 is taken as FinestGap of the number of cuttings.
//
// Turnbull (1976), J R Stat Soc B 38:290-295; competing ends: Hudgens, Satten &
// Longini (2001), Biometrics 57:74-80. No cells give an empty curve: nothing is
// known.
func FitIncidence(cells []Cell, gap float64) *Incidence {
	var s solver
	l, rows, counts := layOut(cells)
	if len(rows) == 0 {
		return &Incidence{Unique: true}
	}
	s.atomize(rows, counts, 2*l.last()+1)
	n := 0.0
	for _, c := range counts {
		n += c
	}
	if gap <= 0 {
		gap = FinestGap(n)
	}
	s.solve(gap)
	inc := &Incidence{
		Cuttings: n, LogLikelihood: s.logLikelihood(s.mass), Gap: s.gap, Days: l.days[1:],
		below: cumulate(s.mass), fixed: s.fixed(),
	}
	inc.Unique = !slices.Contains(inc.fixed, false)
	for j, a := range s.atoms {
		step := l.step(a.from, a.to)
		step.Mass = s.mass[j]
		inc.line = append(inc.line, step)
	}
	inc.Steps = shown(inc.line)
	return inc
}

// FinestGap is how near to the maximum a curve of n cuttings is solved: a
// millionth, above 100,000 cuttings 1e-8 n up to a thousandth.
func FinestGap(n float64) float64 {
	if n <= 1e5 {
		return 1e-6
	}
	return min(1e-3, 1e-8*n)
}

func layOut(cells []Cell) (l line, rows []stretch, counts []float64) {
	l = newLine(cells)
	for _, c := range cells {
		if c.Count <= 0 {
			continue
		}
		from, to := l.stretch(c)
		rows = append(rows, stretch{from, to})
		counts = append(counts, c.Count)
	}
	return l, rows, counts
}

// cumulate is the mass before each atom, and of all of them, which is exactly 1.
func cumulate(mass []float64) []float64 {
	below := make([]float64, len(mass)+1)
	for j, m := range mass {
		below[j+1] = min(1, below[j]+m)
	}
	below[len(mass)] = 1
	return below
}

// shown are the steps with mass: rooted in the order of days, then lost, then open.
func shown(line []Step) []Step {
	var steps []Step
	for _, s := range line {
		if s.Mass >= leastMass {
			steps = append(steps, s)
		}
	}
	slices.SortFunc(steps, func(a, b Step) int {
		return cmp.Or(cmp.Compare(a.Fate, b.Fate), cmp.Compare(a.From, b.From))
	})
	return steps
}

// RootedBy is the share rooted by the end of a day: at least lower, at most upper.
// They differ within a step, and where the data do not determine the masses.
func (inc *Incidence) RootedBy(day int) (lower, upper float64) {
	sure := inc.cut(func(s Step) bool { return s.Fate != FateRooted || s.To > day })
	maybe := inc.cut(func(s Step) bool { return s.Fate != FateRooted || s.From >= day })
	return 1 - inc.sumUp(sure), 1 - inc.sumDown(maybe)
}

// LostBy is the share lost by the end of a day: at least lower, at most upper.
func (inc *Incidence) LostBy(day int) (lower, upper float64) {
	sure := inc.cut(func(s Step) bool { return s.Fate == FateLost && s.To <= day })
	maybe := inc.cut(func(s Step) bool { return s.Fate == FateLost && s.From < day })
	return inc.sumDown(sure), inc.sumUp(maybe)
}

// Rooted is the share rooted on all days together. The last of it can hang on one
// cutting: see Tau.
func (inc *Incidence) Rooted() float64 {
	return 1 - inc.sumUp(inc.cut(func(s Step) bool { return s.Fate != FateRooted }))
}

// Lost is the share lost on all days together.
func (inc *Incidence) Lost() float64 {
	return inc.sumDown(inc.cut(func(s Step) bool { return s.Fate == FateLost }))
}

// cut is the number of atoms at the front of the axis for which a condition
// holds; it holds for none after the first for which it does not.
func (inc *Incidence) cut(front func(Step) bool) int {
	return sort.Search(len(inc.line), func(j int) bool { return !front(inc.line[j]) })
}

// sumDown is the mass before atom j, or as much of it as is determined.
func (inc *Incidence) sumDown(j int) float64 {
	if len(inc.below) == 0 {
		return 0
	}
	for !inc.fixed[j] {
		j--
	}
	return inc.below[j]
}

// sumUp is the mass before atom j, or the least more of it that is determined.
func (inc *Incidence) sumUp(j int) float64 {
	if len(inc.below) == 0 {
		return 1
	}
	for !inc.fixed[j] {
		j++
	}
	return inc.below[j]
}

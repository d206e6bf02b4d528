package stats

import (
	"cmp"
	"math"
	"slices"
)

// cureProblem is what the fits of some lots share: days are divided by the day by
// which half of those that rooted had, which leaves every chance as it is and
// puts all parameters near 1.
type cureProblem struct {
	lots    []Lot
	pooled  []Cell
	cells   []cureCell // of pooled
	center  float64    // logarithm of the day that is 1
	curve   *Incidence
	losses  lossPart
	held    Law
	lastDay int
}

func newCureProblem(lots []Lot) *cureProblem {
	p := &cureProblem{lots: Seen(lots)}
	p.pooled = Pool(p.lots)
	for i := range p.lots {
		p.lastDay = max(p.lastDay, p.lots[i].LastDay())
	}
	if p.declined() != "" {
		return p
	}
	p.curve = FitIncidence(p.pooled, 0)
	rooted := middles(p.curve.Steps, FateRooted)
	p.center = math.Log(middleAt(rooted, 0.5))
	for _, c := range p.pooled {
		p.cells = append(p.cells, p.cell(c))
	}
	p.holdLosses()
	return p
}

func (p *cureProblem) cell(c Cell) cureCell {
	return cureCell{c.Fate, logDay(float64(c.From)) - p.center, logDay(float64(c.To)) - p.center, c.Count}
}

// declined is why no family can be fitted, empty where one can.
func (p *cureProblem) declined() string {
	rooted, one := p.intervals(FateRooted)
	switch {
	case len(p.lots) == 0:
		return "nobody has looked at the roots of these batches yet"
	case rooted == 0:
		return "nothing has been found rooted"
	case one:
		return "all rootings could have come at one time: looks further apart in time, or more of them, are needed to fit their days"
	case rooted < 3:
		return "rootings lie in fewer than three intervals between looks: too few to fit their days"
	}
	return ""
}

// intervals is how many different intervals hold ends of a fate, and whether one
// moment lies in all of them.
func (p *cureProblem) intervals(fate Fate) (n int, one bool) {
	after, by := 0, math.MaxInt
	for _, c := range p.pooled {
		if c.Fate == fate {
			n++
			after, by = max(after, c.From), min(by, c.To)
		}
	}
	return n, n > 0 && after < by
}

// holdLosses gives losses that lie in too few intervals an exponential law with
// the mean of their middles.
func (p *cureProblem) holdLosses() {
	n, one := p.intervals(FateLost)
	switch {
	case n == 0:
		p.losses = noLosses
	case n >= 3 && !one:
		p.losses = freeLosses
	default:
		p.losses = heldLosses
		sum, count := 0.0, 0.0
		for _, c := range p.pooled {
			if c.Fate == FateLost {
				sum, count = sum+c.Count*float64(c.From+c.To)/2, count+c.Count
			}
		}
		p.held = Law{Weibull, math.Log(sum/count) - p.center, 1}
	}
}

// middle is the middle of a step of a curve.
type middle struct{ day, mass float64 }

func middles(steps []Step, fate Fate) []middle {
	var all []middle
	for _, s := range steps {
		if s.Fate == fate {
			all = append(all, middle{float64(s.From+s.To) / 2, s.Mass})
		}
	}
	slices.SortFunc(all, func(a, b middle) int { return cmp.Compare(a.day, b.day) })
	return all
}

// middleAt is the first middle by which a share q of the mass has come; 1 where
// there is none.
func middleAt(all []middle, q float64) float64 {
	sum, day := 0.0, 1.0
	for _, m := range all {
		sum += m.mass
	}
	below := 0.0
	for _, m := range all {
		day = m.day
		if below += m.mass; below >= q*sum {
			break
		}
	}
	return day
}

// starts are three places to start from: as the curve has it, and with laws that
// are slower and wider, and faster and narrower, than that.
func (p *cureProblem) starts(s cureShape) [][]float64 {
	rooting := p.lawFrom(s.family, FateRooted)
	losing := p.held
	if s.losses == freeLosses {
		losing = p.lawFrom(Weibull, FateLost)
	}
	root, loss := max(0.02, p.curve.Rooted()), max(0.02, p.curve.Lost())
	never := max(0.05, 1-root-loss)
	var starts [][]float64
	for _, shift := range []struct{ mu, sigma, never float64 }{{0, 1, 1}, {0.2, 1.4, 0.6}, {-0.15, 0.75, 1.5}} {
		m := Mixture{PiRoot: root, PiLoss: loss, PiNever: never * shift.never, Rooting: rooting, Losing: losing}
		m.Rooting.Mu += shift.mu
		m.Rooting.Sigma *= shift.sigma
		m.Losing.Mu += shift.mu
		m.Losing.Sigma *= shift.sigma
		starts = append(starts, s.free(m))
	}
	return starts
}

// lawFrom is a law near the steps of the curve.
func (p *cureProblem) lawFrom(family Family, fate Fate) Law {
	all := middles(p.curve.Steps, fate)
	t10, t50, t90 := middleAt(all, 0.1), middleAt(all, 0.5), middleAt(all, 0.9)
	sigma := math.Log(t90/t10) / (family.quantile(0.9) - family.quantile(0.1))
	sigma = min(max(sigma, 0.08), 2)
	return Law{family, math.Log(t50) - p.center - sigma*family.quantile(0.5), sigma}
}

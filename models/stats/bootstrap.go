package stats

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"

	"gonum.org/v1/gonum/stat"
)

// Drawing says how often lots are drawn again, and from which seed: the same
// gives the same numbers, on any computer.
type Drawing struct {
	Replicates int // 0 draws none
	Seed       uint64
}

// Resample draws lots again, with replacement, as whole lots and within their
// stratum, and gives each replicate the curve of its lots: cuttings of one lot
// are not independent. at works on the curve of replicate number r; it is called
// from several goroutines at once, each with its own r. Where a stratum has but
// one lot, lots are drawn from all of them.
//
// With days on a grid that is coarse against the number of cuttings the curve is
// a root-n matter, for which this holds (Maathuis & Hudgens 2011, Biometrika
// 98:325-340; Tang, Banerjee & Kosorok 2012, Ann Statist 40:45-72); with
// continuous days it need not. It fails where ctx ends.
func Resample(ctx context.Context, lots []Lot, d Drawing, at func(r int, c *Replicate)) error {
	base := newSample(Seen(lots))
	workers := min(runtime.GOMAXPROCS(0), max(1, d.Replicates))
	var wait sync.WaitGroup
	for first := range workers {
		wait.Go(func() {
			c := Replicate{sample: base}
			for r := first; r < d.Replicates && ctx.Err() == nil; r += workers {
				c.draw(rand.New(rand.NewPCG(d.Seed, uint64(r))))
				at(r, &c)
			}
		})
	}
	wait.Wait()
	return ctx.Err()
}

// sample is lots laid out to be drawn from: of each, which rows of the likelihood
// it adds to and by how many.
type sample struct {
	line   line
	rows   []stretch
	of     [][]share // by lot
	strata [][]int   // lots by stratum
}

type share struct {
	row   int
	count float64
}

func newSample(lots []Lot) *sample {
	cells := Pool(lots)
	s := &sample{line: newLine(cells), of: make([][]share, len(lots)), strata: strataOf(lots)}
	row := make(map[Cell]int, len(cells))
	for i, c := range cells {
		from, to := s.line.stretch(c)
		s.rows = append(s.rows, stretch{from, to})
		c.Count = 0
		row[c] = i
	}
	for i := range lots {
		for _, c := range lots[i].Cells() {
			n := c.Count
			c.Count = 0
			s.of[i] = append(s.of[i], share{row[c], n})
		}
	}
	return s
}

func strataOf(lots []Lot) [][]int {
	all := make([]int, len(lots))
	within := map[string][]int{}
	var names []string
	for i := range lots {
		all[i] = i
		name := lots[i].Stratum
		if within[name] == nil {
			names = append(names, name)
		}
		within[name] = append(within[name], i)
	}
	slices.Sort(names)
	var strata [][]int
	for _, name := range names {
		if len(within[name]) < 2 {
			return [][]int{all}
		}
		strata = append(strata, within[name])
	}
	return strata
}

// Replicate is the curve of lots that were drawn again.
type Replicate struct {
	sample *sample
	solver solver
	counts []float64
	n      float64 // cuttings drawn
}

// draw draws lots and solves their curve as far as a replicate needs.
func (c *Replicate) draw(random *rand.Rand) {
	c.counts = clean(c.counts, len(c.sample.rows))
	for _, stratum := range c.sample.strata {
		for range stratum {
			for _, share := range c.sample.of[stratum[random.IntN(len(stratum))]] {
				c.counts[share.row] += share.count
			}
		}
	}
	c.n = 0
	for _, count := range c.counts {
		c.n += count
	}
	c.solver.atomize(c.sample.rows, c.counts, 2*c.sample.line.last()+1)
	c.solver.solve(1e-4 * max(1, c.n/1e4))
}

// RootedBy is the share found rooted by the end of each of some days, ascending.
func (c *Replicate) RootedBy(days []int, shares []float64) {
	s, l := &c.solver, c.sample.line
	sum, j := 0.0, len(s.atoms)-1
	for i, day := range days {
		at, found := slices.BinarySearch(l.days, day)
		if !found {
			at--
		}
		// rooting by the day stands at 2M+2-at and above
		for ; j >= 0 && s.atoms[j].from >= 2*l.last()+2-at; j-- {
			sum += s.mass[j]
		}
		shares[i] = min(1, sum)
	}
}

// LogitSpread is the standard error of the logit of the share rooted by each of
// some days, ascending: sd √(B/(B-1)), where sd is that of logit F over
// replicates of B lots. A replicate in which none or all had rooted counts as if
// half a cutting more or less had. All are 0 below two replicates or lots.
func LogitSpread(ctx context.Context, lots []Lot, days []int, d Drawing) ([]float64, error) {
	errors, b := make([]float64, len(days)), float64(len(Seen(lots)))
	if b < 2 || d.Replicates < 2 {
		return errors, ctx.Err()
	}
	logits := make([][]float64, d.Replicates)
	err := Resample(ctx, lots, d, func(r int, c *Replicate) {
		shares := make([]float64, len(days))
		c.RootedBy(days, shares)
		for i, share := range shares {
			shares[i] = logit(within(share, c.n))
		}
		logits[r] = shares
	})
	if err != nil {
		return nil, err
	}
	column := make([]float64, d.Replicates)
	for i := range days {
		for r := range logits {
			column[r] = logits[r][i]
		}
		errors[i] = stat.StdDev(column, nil) * math.Sqrt(b/(b-1))
	}
	return errors, nil
}

// ShareSpread is the standard error of the share rooted by a day: sd √(B/(B-1))
// over replicates of B lots. It is 0 below two replicates or lots.
func ShareSpread(ctx context.Context, lots []Lot, day int, d Drawing) (float64, error) {
	b := float64(len(Seen(lots)))
	if b < 2 || d.Replicates < 2 {
		return 0, ctx.Err()
	}
	shares, days := make([]float64, d.Replicates), []int{day}
	if err := Resample(ctx, lots, d, func(r int, c *Replicate) { c.RootedBy(days, shares[r:r+1]) }); err != nil {
		return 0, err
	}
	return stat.StdDev(shares, nil) * math.Sqrt(b/(b-1)), nil
}

// within keeps a share of n cuttings half a cutting away from none and from all.
func within(share, n float64) float64 { return min(max(share, 0.5/n), 1-0.5/n) }

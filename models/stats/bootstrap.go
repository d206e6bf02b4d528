package stats

import (
	"context"
	"encoding/binary"
	"maps"
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
				c.draw(rand.NewPCG(d.Seed, uint64(r)))
				at(r, &c)
			}
		})
	}
	wait.Wait()
	return ctx.Err()
}

// sample is lots laid out to be drawn from. Lots of one make, of which the same is
// known, add the same to the likelihood: it is enough to count how many of each make
// were drawn.
type sample struct {
	line   line
	rows   []stretch
	shares []share   // of make after make
	ends   []int     // of the shares of each make
	strata [][]int32 // the makes of the lots in each stratum
}

// share is a row of the likelihood that a lot adds to, and by how many.
type share struct {
	row   int32
	count float64
}

func newSample(lots []Lot) *sample {
	cells := Pool(lots)
	s := &sample{line: newLine(cells)}
	row := make(map[fact]int32, len(cells))
	for i, c := range cells {
		from, to := s.line.stretch(c)
		s.rows = append(s.rows, stretch{from, to})
		row[c.fact()] = int32(i)
	}
	s.strata = strataOf(lots, s.sortOut(lots, row))
	return s
}

// sortOut lays out the makes of lots, and answers that of each lot.
func (s *sample) sortOut(lots []Lot, row map[fact]int32) []int32 {
	makes, known := make([]int32, len(lots)), map[string]int32{}
	var cells []Cell
	var key []byte
	for i := range lots {
		cells, key = lots[i].appendCells(cells[:0]), key[:0]
		from := len(s.shares)
		for _, c := range cells {
			at := row[c.fact()]
			s.shares = append(s.shares, share{at, c.Count})
			key = binary.AppendUvarint(binary.AppendUvarint(key, uint64(at)), uint64(c.Count))
		}
		before, there := known[string(key)]
		if there {
			makes[i], s.shares = before, s.shares[:from]
			continue
		}
		makes[i] = int32(len(s.ends))
		known[string(key)] = makes[i]
		s.ends = append(s.ends, len(s.shares))
	}
	return makes
}

// strataOf are the makes of lots by stratum, in the order of their names, or of all
// together where a stratum has but one lot.
func strataOf(lots []Lot, makes []int32) [][]int32 {
	within := map[string][]int32{}
	for i := range lots {
		within[lots[i].Stratum] = append(within[lots[i].Stratum], makes[i])
	}
	strata := make([][]int32, 0, len(within))
	for _, name := range slices.Sorted(maps.Keys(within)) {
		if len(within[name]) < 2 {
			return [][]int32{makes}
		}
		strata = append(strata, within[name])
	}
	return strata
}

// Replicate is the curve of lots that were drawn again.
type Replicate struct {
	sample *sample
	solver solver
	drawn  []int // lots of each make
	counts []float64
	n      float64 // cuttings drawn
}

// draw draws lots and solves their curve as far as a replicate needs.
func (c *Replicate) draw(random *rand.PCG) {
	s := c.sample
	c.drawn = clean(c.drawn, len(s.ends))
	for _, makes := range s.strata {
		for range makes {
			c.drawn[makes[below(random, uint64(len(makes)))]]++
		}
	}
	c.counts, c.n = clean(c.counts, len(s.rows)), 0
	from := 0
	for i, end := range s.ends {
		if times := float64(c.drawn[i]); times > 0 {
			for _, share := range s.shares[from:end] {
				c.counts[share.row] += times * share.count
			}
		}
		from = end
	}
	for _, count := range c.counts {
		c.n += count
	}
	c.solver.atomize(s.rows, c.counts, 2*s.line.last()+1)
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

// CurveSpread is the standard error of the share rooted by a day, and of its logit.
type CurveSpread struct{ Share, Logit float64 }

// CurveSpreads are the standard errors of the shares rooted by some days, ascending:
// sd √(B/(B-1)) over replicates of B lots. For the logit a replicate in which none or
// all had rooted counts as if half a cutting more or less had. All are 0 below two
// replicates or lots.
func CurveSpreads(ctx context.Context, lots []Lot, days []int, d Drawing) ([]CurveSpread, error) {
	spreads, b := make([]CurveSpread, len(days)), float64(len(Seen(lots)))
	if b < 2 || d.Replicates < 2 {
		return spreads, ctx.Err()
	}
	shares, logits := table(len(days), d.Replicates), table(len(days), d.Replicates)
	err := Resample(ctx, lots, d, func(r int, c *Replicate) {
		by := make([]float64, len(days))
		c.RootedBy(days, by)
		for i, share := range by {
			shares[i][r], logits[i][r] = share, logit(within(share, c.n))
		}
	})
	if err != nil {
		return nil, err
	}
	for i := range days {
		wider := math.Sqrt(b / (b - 1))
		spreads[i] = CurveSpread{stat.StdDev(shares[i], nil) * wider, stat.StdDev(logits[i], nil) * wider}
	}
	return spreads, nil
}

func table(rows, columns int) [][]float64 {
	t := make([][]float64, rows)
	for i := range t {
		t[i] = make([]float64, columns)
	}
	return t
}

// within keeps a share of n cuttings half a cutting away from none and from all.
func within(share, n float64) float64 { return min(max(share, 0.5/n), 1-0.5/n) }

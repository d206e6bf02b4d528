package stats

import (
	"cmp"
	"slices"
)

// Fate is what became of a cutting, as far as it was seen.
type Fate int

// The fates. Open is neither found rooted nor lost when last seen.
const (
	FateRooted Fate = iota
	FateLost
	FateOpen
)

// Cell is what is known of some cuttings: rooted in (From, To], lost in
// (From, To], or open, that is not rooted by day From and not lost by day To.
// Count is how many.
type Cell struct {
	Fate     Fate
	From, To int
	Count    float64
}

// fact is a cell without its count: what is known, of however many.
type fact struct {
	fate     Fate
	from, to int
}

func (c Cell) fact() fact { return fact{c.Fate, c.From, c.To} }

// Cells is what is known of the cuttings of a lot. A cutting found rooted had
// rooted since the last look at roots, one found lost was lost since the tray was
// last counted. Those withdrawn were open on that day. A rooted cutting that died
// later is still a rooted one.
func (l *Lot) Cells() []Cell { return l.appendCells(nil) }

// appendCells is Cells in memory that is there already, for lots by the million.
func (l *Lot) appendCells(cells []Cell) []Cell {
	add := func(fate Fate, from, to, n int) {
		if n > 0 {
			cells = append(cells, Cell{fate, from, to, float64(n)})
		}
	}
	roots, alive := 0, 0 // when all were last seen unrooted, and last counted
	for _, k := range l.Looks {
		day := int(k.Day)
		add(FateRooted, roots, day, int(k.Rooted))
		add(FateLost, alive, day, int(k.Lost))
		add(FateOpen, day, day, int(k.Withdrawn))
		add(FateOpen, roots, alive, int(k.Gone))
		if k.Saw >= SawLosses {
			alive = day
		}
		if k.Saw == SawRoots {
			roots = day
		}
	}
	add(FateOpen, roots, alive, l.Open())
	return cells
}

// Pool adds up the cells of lots, in order: the same whatever order they come in.
func Pool(lots []Lot) []Cell {
	sums := map[fact]float64{}
	var known []Cell
	for i := range lots {
		known = lots[i].appendCells(known[:0])
		for _, c := range known {
			sums[c.fact()] += c.Count
		}
	}
	cells := make([]Cell, 0, len(sums))
	for f, n := range sums {
		cells = append(cells, Cell{f.fate, f.from, f.to, n})
	}
	slices.SortFunc(cells, compareCells)
	return cells
}

func compareCells(a, b Cell) int {
	return cmp.Or(cmp.Compare(a.Fate, b.Fate), cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To))
}

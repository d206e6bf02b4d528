package stats

import "slices"

// line is the axis on which every cell of a curve with two ends is one stretch.
// Between the days 0 = d(0) < d(1) < … < d(M) of the looks, loss in (d(k-1), d(k)]
// stands at place k, "not seen to end" at M+1, and rooting in (d(k-1), d(k)] at
// 2M+2-k, so that open cuttings hold a stretch as well. The likelihood of two
// competing ends is then that of one interval-censored time (t → 1/t for rooted,
// -1/t for lost, 0 for never), and everything known of that one holds.
type line struct {
	days []int // d(0) = 0 and every day after it
}

func newLine(cells []Cell) line {
	days := []int{0}
	for _, c := range cells {
		days = append(days, c.From, c.To)
	}
	slices.Sort(days)
	return line{slices.Compact(days)}
}

func (l line) last() int { return len(l.days) - 1 } // M

func (l line) index(day int) int {
	i, _ := slices.BinarySearch(l.days, day)
	return i
}

// stretch is the places a cell may stand at, both ends included.
func (l line) stretch(c Cell) (from, to int) {
	i, j := l.index(c.From), l.index(c.To)
	switch c.Fate {
	case FateLost:
		return i + 1, j
	case FateRooted:
		return 2*l.last() + 2 - j, 2*l.last() + 1 - i
	}
	return j + 1, 2*l.last() + 1 - i
}

// step is a stretch of places as what it means.
func (l line) step(from, to int) Step {
	m := l.last()
	switch {
	case to <= m:
		return Step{Fate: FateLost, From: l.days[from-1], To: l.days[to]}
	case from >= m+2:
		return Step{Fate: FateRooted, From: l.days[2*m+1-to], To: l.days[2*m+2-from]}
	}
	return Step{Fate: FateOpen, From: l.days[from-1]}
}

// span is a stretch of atoms that a row of the likelihood covers, both ends
// included, with the number of cuttings.
type span struct {
	first, last int
	count       float64
}

// atomize finds the innermost stretches, the only ones that can carry mass
// (Peto 1973; Turnbull 1976): each start of a row that is directly followed by an
// end, starts standing before ends at one place. Rows without cuttings are
// nothing. It answers the ends of the atoms and, in spans, which atoms each row
// with cuttings covers.
func (s *solver) atomize(rows []stretch, counts []float64, places int) {
	s.starts, s.ends = clean(s.starts, places+2), clean(s.ends, places+2)
	for i, r := range rows {
		if counts[i] > 0 {
			s.starts[r.from], s.ends[r.to] = 1, 1
		}
	}
	s.atoms = s.atoms[:0]
	start := 0
	for place := 1; place <= places; place++ {
		if s.starts[place] > 0 {
			start = place
		}
		if s.ends[place] > 0 && start > 0 {
			s.atoms = append(s.atoms, stretch{start, place})
			start = 0
		}
		s.starts[place] = len(s.atoms) // from here on: atoms that end at or before the place
	}
	s.spans = s.spans[:0]
	for i, r := range rows {
		if counts[i] > 0 {
			s.spans = append(s.spans, span{s.starts[r.from-1], s.starts[r.to] - 1, counts[i]})
		}
	}
}

// stretch is places from one to another, both included.
type stretch struct{ from, to int }

// clean is a slice of n zeros, in the old one's memory where that is enough.
func clean[T int | float64](old []T, n int) []T {
	if cap(old) < n {
		return make([]T, n)
	}
	old = old[:n]
	clear(old)
	return old
}

package stats

import (
	"maps"
	"slices"
)

const (
	fewestAtRisk  = 10  // cuttings under watch for a day to count
	shareAtRisk   = 0.1 // of all of them, where that is more
	fewestBatches = 3   // batches they must stand in, where there are as many
)

// Watch is how many cuttings were under watch on the days of the looks.
type Watch struct {
	Days    []int // every day of a look, ascending
	AtRisk  []int // cuttings unrooted before the day, in lots looked at that day or later
	batches []int // the lots they stand in
	all     int   // cuttings of all lots
	lots    int
}

// WatchOf counts what was under watch in lots of which something was seen.
func WatchOf(lots []Lot) Watch {
	w := Watch{lots: len(lots)}
	days := map[int]bool{}
	for i := range lots {
		w.all += lots[i].Cuttings
		for _, k := range lots[i].Looks {
			days[int(k.Day)] = true
		}
	}
	w.Days = slices.Sorted(maps.Keys(days))
	w.AtRisk, w.batches = make([]int, len(w.Days)+1), make([]int, len(w.Days)+1)
	for i := range lots {
		w.add(&lots[i])
	}
	for d := range w.Days {
		w.AtRisk[d+1] += w.AtRisk[d]
		w.batches[d+1] += w.batches[d]
	}
	w.AtRisk, w.batches = w.AtRisk[:len(w.Days)], w.batches[:len(w.Days)]
	return w
}

// add counts a lot where it changes: its cuttings from its first day on, less
// those a look took out from the day after, none after its last look at roots.
func (w *Watch) add(l *Lot) {
	left, from, last := l.Cuttings, 0, l.LastRoots()
	for _, k := range l.Looks {
		if left == 0 || int(k.Day) > last {
			return
		}
		at, _ := slices.BinarySearch(w.Days, int(k.Day))
		w.AtRisk[from] += left
		w.AtRisk[at+1] -= left
		w.batches[from]++
		w.batches[at+1]--
		left, from = left-k.counted(), at+1
	}
}

// Tau is the last day of a look with enough under watch to say something of the
// share rooted: at least 10 cuttings and a tenth of all, in at least three lots
// where there are three. One lot has no thin tail, and fewer than ten cuttings
// nothing but one: there it is the last day of all. It is 0 without looks.
//
// Beyond it the curve of several lots can hang on a single cutting.
func (w *Watch) Tau() int {
	if len(w.Days) == 0 {
		return 0
	}
	last := w.Days[len(w.Days)-1]
	if w.lots == 1 || w.all < fewestAtRisk {
		return last
	}
	for d := len(w.Days) - 1; d >= 0; d-- {
		if float64(w.AtRisk[d]) >= max(fewestAtRisk, shareAtRisk*float64(w.all)) && w.batches[d] >= min(fewestBatches, w.lots) {
			return w.Days[d]
		}
	}
	return w.Days[0]
}

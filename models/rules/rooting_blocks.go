package rules

import (
	"slices"

	"withybed/models/stats"
)

// armBlock is the part of an arm that stands in a block.
type armBlock struct{ arm, block string }

// cut takes an arm apart by the blocks that are compared.
func (t *trial) cut(a *trialArm) {
	pools := map[string]*Pool{}
	for i := range a.batches {
		block := blockOf(&a.batches[i])
		if pools[block] == nil {
			pools[block] = &Pool{}
		}
		pools[block].Batches = append(pools[block].Batches, a.batches[i])
	}
	for _, block := range t.held {
		if p := pools[block]; p != nil {
			t.parts[armBlock{a.name, block}] = judgePool(p, t.draw)
		}
	}
}

// blocks are the rates of two arms block by block, and how many blocks that hold
// both are left out, since what had rooted in one of them by the day of the
// difference is not known.
func (t *trial) blocks(one, two string) (blocks []stats.Block, short int) {
	for _, block := range t.held {
		ones, twos := t.parts[armBlock{one, block}], t.parts[armBlock{two, block}]
		if ones == nil || twos == nil {
			continue
		}
		p1, known1 := t.shareOf(ones, t.day)
		p2, known2 := t.shareOf(twos, t.day)
		if !known1 || !known2 {
			short++
			continue
		}
		blocks = append(blocks, stats.Block{P1: p1, P2: p2, N1: ones.inc.Cuttings, N2: twos.inc.Cuttings})
	}
	return blocks, short
}

// shareOf is the share rooted of a part by a day, and whether it is known: whether
// the part was watched until then, or until nothing was left to root, and looked at
// such that the share on that day is one number. From the day of a final rate on,
// the first look then or later says it, as for every final rate, since blocks are
// seldom looked at on the same day.
func (t *trial) shareOf(j *judged, day int) (share float64, known bool) {
	switch {
	case t.whole:
		return stats.CrudeRate(j.closedShares(), rootingLevel).Estimate, true
	case day >= t.final:
		day = j.finalLook()
	}
	unwatched := func(l stats.Lot) bool { return l.Open() > 0 && l.LastRoots() < day }
	return j.rootedBy(day), j.determined(day) && !slices.ContainsFunc(j.lots, unwatched)
}

// finalLook is the first look on the final day or later on which the curve is
// determined, or the final day where there is none.
func (j *judged) finalLook() int {
	for _, day := range j.watch.Days {
		if day >= j.final && j.determined(day) {
			return day
		}
	}
	return j.final
}

// blocksDay is the day of a difference within blocks: the one of the arms where at
// least half of the blocks were watched until then, otherwise the last look before
// it until which half were.
func (t *trial) blocksDay() int {
	var days []int
	for _, part := range t.parts {
		days = append(days, part.watch.Days...)
	}
	slices.Sort(days)
	days = slices.Compact(days)
	for _, day := range slices.Backward(append(days[:before(days, t.day)], t.day)) {
		if 2*t.watchedBlocks(day) >= len(t.held) {
			return day
		}
	}
	return t.day
}

func before(days []int, day int) int {
	i, _ := slices.BinarySearch(days, day)
	return i
}

// watchedBlocks counts the blocks of which every part has a known share by a day.
func (t *trial) watchedBlocks(day int) int {
	short := map[string]bool{}
	for at, part := range t.parts {
		if _, known := t.shareOf(part, day); !known {
			short[at.block] = true
		}
	}
	return len(t.held) - len(short)
}

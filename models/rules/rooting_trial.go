package rules

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"

	"withybed/models"
	"withybed/models/stats"
)

// trial is the arms of a comparison, the reference first. What is worked out of
// them once they are settled stands beside them.
type trial struct {
	by    contrast
	arms  []trialArm
	blank int // batches of which the value was not recorded
	draw  stats.Drawing

	held    []string // the blocks that hold two arms or more, in order
	parts   map[armBlock]*judged
	leftOut int  // batches in none of them, where there are any
	short   int  // differences within blocks that are left out: see blocks
	final   int  // days after sticking of which a final rate speaks
	whole   bool // every batch was watched long enough, and none had cuttings taken out
	day     int  // of the difference: the last one that all arms speak of
	scored  []stats.Scored
	scores  map[string]float64 // by batch, at the pooled curve
}

// trialArm is the batches of an arm of which something was seen, with their curve,
// and how many there are of which nothing was.
type trialArm struct {
	name    string
	batches []Watched
	unseen  int
	*judged
}

func newTrial(batches []Watched, by contrast, draw stats.Drawing) *trial {
	t := &trial{by: by, draw: draw}
	arms := map[string]*trialArm{}
	var order []string
	for _, w := range batches {
		value := by.of(&w)
		if value == "" {
			t.blank++
			continue
		}
		id := models.NameKey(value)
		if arms[id] == nil {
			arms[id] = &trialArm{name: value}
			order = append(order, id)
		}
		arms[id].add(w)
	}
	slices.SortFunc(order, func(a, b string) int { return cmp.Or(byAmount(a, b), cmp.Compare(a, b)) })
	for _, id := range order {
		arm := arms[id]
		slices.SortFunc(arm.batches, func(a, b Watched) int { return cmp.Compare(a.Lot.ID, b.Lot.ID) })
		t.arms = append(t.arms, *arm)
	}
	return t
}

// byAmount puts numbers in their order.
func byAmount(a, b string) int {
	x, errX := strconv.ParseFloat(a, 64)
	y, errY := strconv.ParseFloat(b, 64)
	if errX != nil || errY != nil {
		return 0
	}
	return cmp.Compare(x, y)
}

func (a *trialArm) add(w Watched) {
	if !w.Lot.Seen() {
		a.unseen++
		return
	}
	a.batches = append(a.batches, w)
}

// refer puts the arm that others are held against first.
func (t *trial) refer(name string) error {
	if name == "" || len(t.arms) == 0 {
		return nil
	}
	i := slices.IndexFunc(t.arms, func(a trialArm) bool { return models.NameKey(a.name) == models.NameKey(name) })
	if i < 0 {
		var names []string
		for _, a := range t.arms {
			names = append(names, a.name)
		}
		err := models.InvalidQuestion("unknown-arm", "reference", name, "is %q, and the arms are %s", name, models.OneOf(names))
		err.Suggestions = Near(name, names)
		return err
	}
	reference := t.arms[i]
	t.arms = slices.Insert(slices.Delete(t.arms, i, i+1), 0, reference)
	return nil
}

// settle leaves out what stands in no block that holds two arms where others do,
// and works out what the answers share.
func (t *trial) settle() {
	t.held, t.parts = t.heldBlocks(), map[armBlock]*judged{}
	t.whole = true
	for i := range t.arms {
		a := &t.arms[i]
		if t.blocked() {
			all := len(a.batches)
			a.batches = slices.DeleteFunc(slices.Clone(a.batches), func(w Watched) bool { return !slices.Contains(t.held, blockOf(&w)) })
			t.leftOut += all - len(a.batches)
		}
		a.judged = judgePool(&Pool{Batches: a.batches}, t.draw)
		t.final = max(t.final, a.final)
		t.whole = t.whole && a.whole
		t.cut(a)
	}
	if t.day = t.final; !t.whole {
		t.day = t.lastDay()
	}
	if t.blocked() && !t.whole {
		t.day = t.blocksDay()
	}
	t.score()
}

// lastDay is the first look on the final day or later for which the curves of all
// arms are determined, or where there is none the last day of which all of them say
// anything.
func (t *trial) lastDay() int {
	last := math.MaxInt
	var seen []*judged
	var days []int
	for i := range t.arms {
		if j := t.arms[i].judged; j.tau > 0 {
			last = min(last, j.tau)
			seen, days = append(seen, j), append(days, j.watch.Days...)
		}
	}
	if len(seen) == 0 {
		return t.final
	}
	slices.Sort(days)
	for _, day := range days {
		if day >= t.final && day <= last && !slices.ContainsFunc(seen, func(j *judged) bool { return !j.determined(day) }) {
			return day
		}
	}
	return last
}

// score gives each batch its score at the pooled curve, in its block where there
// are any.
func (t *trial) score() {
	var lots []stats.Lot
	for i := range t.arms {
		lots = append(lots, t.arms[i].lots...)
	}
	t.scores = stats.BatchScores(lots, stats.FitIncidence(stats.Pool(lots), 0))
	for arm := range t.arms {
		for i := range t.arms[arm].batches {
			w := &t.arms[arm].batches[i]
			block := max(0, slices.Index(t.held, blockOf(w)))
			t.scored = append(t.scored, stats.Scored{Score: t.scores[w.Lot.ID], Arm: arm, Block: block})
		}
	}
}

// blockOf is the block of a batch: named in a file, or the harvest it was split
// from. Season and bench are no blocks unless they are named as such.
func blockOf(w *Watched) string {
	if w.Block != "" {
		return "block " + models.NameKey(w.Block)
	}
	if w.Harvest != "" {
		return "harvest " + w.Harvest
	}
	return ""
}

// heldBlocks are the blocks that hold batches of two arms or more, in order.
func (t *trial) heldBlocks() []string {
	first, held := map[string]int{}, map[string]bool{}
	for arm := range t.arms {
		for i := range t.arms[arm].batches {
			id := blockOf(&t.arms[arm].batches[i])
			if id == "" {
				continue
			}
			if before, known := first[id]; known && before != arm {
				held[id] = true
			} else if !known {
				first[id] = arm
			}
		}
	}
	return slices.Sorted(maps.Keys(held))
}

func (t *trial) blocked() bool { return len(t.held) > 0 }

// early says that what is known ends long before the day of a final rate.
func (t *trial) early() bool { return !t.whole && 2*t.day < t.final }

// unseen names an arm of which nothing was seen.
func (t *trial) unseen() string {
	for _, a := range t.arms {
		if len(a.batches) == 0 {
			return a.name
		}
	}
	return ""
}

// alone names an arm that is one batch: how batches differ cannot be told there.
func (t *trial) alone() string {
	for _, a := range t.arms {
		if len(a.batches) == 1 {
			return a.name
		}
	}
	return ""
}

// only is the trial of two of the arms.
func (t *trial) only(reference, arm int) *trial {
	pair := &trial{by: t.by, draw: t.draw, arms: []trialArm{t.arms[reference], t.arms[arm]}}
	pair.settle()
	return pair
}

// notes are what to know before the numbers of a trial are used.
func (t *trial) notes() []string {
	notes := []string{}
	say := func(format string, args ...any) { notes = append(notes, fmt.Sprintf(format, args...)) }
	if t.leftOut > 0 {
		say("%d of the batches stand in no block with two arms, and are left out", t.leftOut)
	}
	if t.blank > 0 {
		say("%d of the batches have no recorded %s, and are in no arm", t.blank, t.by.name)
	}
	for _, a := range t.arms {
		if a.unseen > 0 {
			say("nobody has looked at the roots of %d of the batches of %s", a.unseen, a.name)
		}
	}
	if t.short > 0 {
		say("%s within blocks left out, since a batch was not watched to the day of the difference", models.Counted(t.short, "difference"))
	}
	if least, most := t.followUp(); 4*least < 3*most {
		say("the arms were not watched as long, %d days against %d: what is compared ends on day %d, and the test sees less", least, most, t.day)
	}
	if n := t.thrownOut(); n > 0 {
		say("%d of the batches were thrown out or ended early, maybe because of how they did: that can make arms look different", n)
	}
	for _, name := range t.differing() {
		say("the arms differ in %s as well, which may be what is seen", name)
	}
	return notes
}

// followUp is the shortest and the longest of how long arms were watched, by the
// mean of their last days.
func (t *trial) followUp() (least, most int) {
	for i, a := range t.arms {
		if len(a.batches) == 0 {
			continue
		}
		days := 0
		for j := range a.batches {
			days += a.batches[j].Lot.LastDay()
		}
		days /= len(a.batches)
		if i == 0 || least == 0 {
			least, most = days, days
		}
		least, most = min(least, days), max(most, days)
	}
	return least, most
}

func (t *trial) thrownOut() int {
	n := 0
	for i := range t.arms {
		for j := range t.arms[i].batches {
			w := &t.arms[i].batches[j]
			if w.Lot.Discards() || w.Lot.Finished && w.Lot.LastDay() < w.FinalAt {
				n++
			}
		}
	}
	return n
}

// differing are the recorded things of which the arms have different values.
func (t *trial) differing() []string {
	var names []string
	for _, name := range []string{"taxon", "kind", "treatment", "medium", "heated", "mist"} {
		if name == t.by.name || name == "treatment" && dosed(t.by.name) {
			continue
		}
		if t.differs(name) {
			names = append(names, name)
		}
	}
	return names
}

// dosed says that what is compared is a part of the treatment.
func dosed(name string) bool {
	return name == "willow_water" || name == "soak_days" || name == "auxin_ppm"
}

func (t *trial) differs(name string) bool {
	var first []string
	for i := range t.arms {
		if len(t.arms[i].batches) == 0 {
			continue
		}
		var values []string
		for j := range t.arms[i].batches {
			values = append(values, models.NameKey(t.arms[i].batches[j].Keys[name]))
		}
		slices.Sort(values)
		if values = slices.Compact(values); first != nil && !slices.Equal(values, first) {
			return true
		}
		first = values
	}
	return false
}

package rules

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"

	"withybed/models"
	"withybed/models/stats"
)

// trial is the arms of a comparison, the reference first.
type trial struct {
	by      contrast
	arms    []trialArm
	blank   int // batches of which the value was not recorded
	draw    stats.Drawing
	day     int // of the difference: the last one that all arms speak of
	leftOut int // batches in no block that holds two arms, while others are
}

// trialArm is the batches of an arm of which something was seen, and how many
// there are of which nothing was.
type trialArm struct {
	name    string
	batches []Watched
	unseen  int
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
	t.settle()
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

func (a *trialArm) lots() []stats.Lot {
	p := Pool{Batches: a.batches}
	return p.Lots()
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
		err := models.InvalidField("unknown-arm", "reference", name, "is %q, and the arms are %s", name, models.OneOf(names))
		err.Suggestions = Near(name, names)
		return err
	}
	reference := t.arms[i]
	t.arms = slices.Insert(slices.Delete(t.arms, i, i+1), 0, reference)
	return nil
}

// settle finds the day of the difference, and leaves out what stands in no block
// that holds two arms where others do.
func (t *trial) settle() {
	if held := t.heldBlocks(); len(held) > 0 {
		for i := range t.arms {
			all := len(t.arms[i].batches)
			t.arms[i].batches = slices.DeleteFunc(slices.Clone(t.arms[i].batches), func(w Watched) bool { return !held[blockOf(&w)] })
			t.leftOut += all - len(t.arms[i].batches)
		}
	}
	if t.day = t.final(); t.whole() {
		return
	}
	t.day = t.lastDay()
}

// lastDay is the first look on the final day or later for which the curves of all
// arms are determined, or where there is none the last day of which all of them say
// anything.
func (t *trial) lastDay() int {
	final, last := t.final(), math.MaxInt
	var pools []*judged
	for i := range t.arms {
		if j := judgePool(&Pool{Batches: t.arms[i].batches}, t.draw); j.tau > 0 {
			last = min(last, j.tau)
			pools = append(pools, j)
		}
	}
	if len(pools) == 0 {
		return final
	}
	var days []int
	for _, j := range pools {
		days = append(days, j.watch.Days...)
	}
	slices.Sort(days)
	for _, day := range days {
		if day >= final && day <= last && !slices.ContainsFunc(pools, func(j *judged) bool { return !j.determined(day) }) {
			return day
		}
	}
	return last
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

// heldBlocks are the blocks that hold batches of two arms or more.
func (t *trial) heldBlocks() map[string]bool {
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
	return held
}

func (t *trial) blocked() bool { return len(t.heldBlocks()) > 0 }

// final is the day of which a final rate speaks.
func (t *trial) final() int {
	day := 0
	for i := range t.arms {
		for j := range t.arms[i].batches {
			day = max(day, t.arms[i].batches[j].FinalAt)
		}
	}
	return day
}

// whole says that every batch was watched long enough and none had cuttings taken
// out.
func (t *trial) whole() bool {
	for i := range t.arms {
		for j := range t.arms[i].batches {
			if w := &t.arms[i].batches[j]; !w.Closed() || w.Lot.Withdrawn() > 0 {
				return false
			}
		}
	}
	return true
}

// early says that what is known ends long before the day of a final rate.
func (t *trial) early() bool { return !t.whole() && 2*t.day < t.final() }

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
	if n := t.short(); n > 0 {
		say("%s within blocks left out, since a batch was not watched to the day of the difference", models.Counted(n, "difference"))
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

// short is how many differences within blocks are left out: see blocks.
func (t *trial) short() int {
	n := 0
	for arm := 1; arm < len(t.arms); arm++ {
		if pair := t.only(0, arm); pair.blocked() {
			_, short := pair.blocks(&pair.arms[1], &pair.arms[0])
			n += short
		}
	}
	return n
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
			_, thrown := w.Lot.DiscardsGone()
			if thrown || w.Lot.Finished && w.Lot.LastDay() < w.FinalAt {
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

package rules

import (
	"cmp"
	"slices"
	"strings"

	"withybed/models"
)

// Flags is what a batch asks for on the day of its story, at most one item of
// each flag, each with its reason. A flag is there as long as the data asks for
// it and is gone when they no longer do; nothing else is remembered. Closed
// batches, emptied trays and batches cut for other purposes ask for nothing; a
// batch to review asks like any other.
func Flags(r *models.BatchRecord, s *Story, set models.Settings) []models.DueItem {
	asks := asksOf(r, s, &set)
	var items []models.DueItem
	for _, flag := range models.Flags {
		if item, due := itemOn(r, asks, flag, s.On); due {
			items = append(items, item)
		}
	}
	return items
}

// Coming is what a batch will ask for after the day of its story, up to and with
// the day until, if nothing more is entered: each flag that does not stand yet,
// as it will read on the first day it does, which is its Since.
func Coming(r *models.BatchRecord, s *Story, set models.Settings, until models.Date) []models.DueItem {
	asks := asksOf(r, s, &set)
	var items []models.DueItem
	for _, flag := range models.Flags {
		first, asked := firstDay(asks, flag)
		if !asked || !first.After(s.On) || first.After(until) {
			continue
		}
		item, _ := itemOn(r, asks, flag, first)
		items = append(items, item)
	}
	return items
}

// stillAsks says that something of a batch can fall due, on this day or another.
func stillAsks(r *models.BatchRecord, s *Story) bool {
	return s.State != models.Ended && s.State != models.NeverWas && remindedOf(r.Purpose) && s.Tally.Waiting()+s.Tally.Live() > 0
}

// remindedOf says that batches cut for a purpose are stuck and looked after.
func remindedOf(p models.Purpose) bool {
	return p == models.Rooting || p == models.DirectStick || p == ""
}

// SortDue puts items in the order in which they want hands: the urgent first,
// then by what is lost soonest, the longest due, bench and batch.
func SortDue(items []models.DueItem) {
	slices.SortStableFunc(items, func(a, b models.DueItem) int {
		return cmp.Or(
			-compareBool(a.Urgent, b.Urgent),
			cmp.Compare(slices.Index(models.Flags, a.Flag), slices.Index(models.Flags, b.Flag)),
			a.Since.Compare(b.Since),
			cmp.Compare(a.Bench, b.Bench),
			cmp.Compare(a.Batch, b.Batch),
		)
	})
}

// SortByBench puts items in the order of a walk along the benches: by bench, the
// urgent first on each, then by batch.
func SortByBench(items []models.DueItem) {
	slices.SortStableFunc(items, func(a, b models.DueItem) int {
		return cmp.Or(
			cmp.Compare(a.Bench, b.Bench),
			-compareBool(a.Urgent, b.Urgent),
			cmp.Compare(a.Batch, b.Batch),
		)
	})
}

func compareBool(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return 1
	}
	return -1
}

// ask is one thing a batch asks for from a day on, as long as nothing is
// entered. Every rule makes its own; none of them ends by the calendar alone.
type ask struct {
	flag  models.Flag
	since models.Date
	bench string
	tell  func(on models.Date) words
}

// words is an ask in the words and numbers of one day.
type words struct {
	count  int
	urgent bool
	reason string
}

// asker holds what the rules look at.
type asker struct {
	*models.Thresholds
	record *models.BatchRecord
	story  *Story
}

func asksOf(r *models.BatchRecord, s *Story, set *models.Settings) []ask {
	if !stillAsks(r, s) {
		return nil
	}
	a := &asker{&set.Thresholds, r, s}
	asks := a.waiting()
	if r.Sticking != nil && s.Tally.Live() > 0 {
		asks = append(asks, a.tray()...)
	}
	return asks
}

func firstDay(asks []ask, flag models.Flag) (first models.Date, asked bool) {
	for _, k := range asks {
		if k.flag == flag && (!asked || k.since.Before(first)) {
			first, asked = k.since, true
		}
	}
	return first, asked
}

// itemOn is the item of a flag on a day: all asks of that flag that are due by
// then, as one.
func itemOn(r *models.BatchRecord, asks []ask, flag models.Flag, on models.Date) (item models.DueItem, due bool) {
	var reasons []string
	item = models.DueItem{Batch: r.Code, Taxon: r.Taxon.ScientificName, Flag: flag}
	item.Since, _ = firstDay(asks, flag)
	for _, k := range asks {
		if k.flag != flag || k.since.After(on) {
			continue
		}
		t := k.tell(on)
		item.Bench = k.bench
		item.Count += t.count
		item.Urgent = item.Urgent || t.urgent
		reasons = append(reasons, t.reason)
	}
	item.Reason = strings.Join(reasons, "; ")
	return item, len(reasons) > 0
}

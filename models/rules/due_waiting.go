package rules

import (
	"fmt"
	"strings"

	"withybed/models"
)

// waiting is what cuttings ask for before they are stuck, one ask for each place
// and day they have waited from. Their bench is empty: they stand on none.
func (a *asker) waiting() []ask {
	var asks []ask
	for _, w := range a.story.Waits {
		switch {
		case w.Count == 0:
		case w.In == inHand:
			asks = append(asks, a.stickAsk(w))
		case w.In == models.ToSoak:
			asks = append(asks, a.soakAsk(w))
		default:
			asks = append(asks, a.storeAsk(w))
		}
	}
	return asks
}

// stickAsk is asked for cuttings in hand, two days after the cut by default.
// Cuttings in leaf wilt at once, so theirs is urgent.
func (a *asker) stickAsk(w Wait) ask {
	return ask{flag: models.FlagStick, since: w.Since.Add(a.StickAfter), tell: func(on models.Date) words {
		return words{w.Count, a.record.Kind.InLeaf(), fmt.Sprintf(
			"%s in hand since %s, %s, and neither stuck, soaking nor stored: they dry out",
			models.Counted(w.Count, "cutting"), w.Since, models.Counted(on.Sub(w.Since), "day"))}
	}}
}

// soakAsk is asked two days, by default, before the longest soak is over, and is
// urgent from the last day on.
func (a *asker) soakAsk(w Wait) ask {
	limit, of := a.longestSoak()
	last := w.Since.Add(limit)
	since := models.Later(w.Since, last.Add(-a.SoakWarning))
	return ask{flag: models.FlagSoak, since: since, tell: func(on models.Date) words {
		next := fmt.Sprintf("take them out by %s", last)
		if !on.Before(last) {
			next = "take them out now"
		}
		return words{w.Count, !on.Before(last), fmt.Sprintf(
			"%s in soak since %s, %s of at most %d %s: %s",
			models.Counted(w.Count, "cutting"), w.Since, models.Counted(on.Sub(w.Since), "day"), limit, of, next)}
	}}
}

// longestSoak is the longest soak of the batch in days and what it is for. Where
// the kind of cutting was not recorded it may be in leaf, so the shorter counts.
func (a *asker) longestSoak() (days int, of string) {
	days, of = a.dormantSoak()
	switch kind := a.record.Kind; {
	case kind.InLeaf():
		return a.SoakInLeaf, "in leaf"
	case kind == "" && a.SoakInLeaf < days:
		return a.SoakInLeaf, "in leaf (the kind of cutting is not recorded, so the shorter limit counts)"
	case kind == "":
		return days, of + " (the kind of cutting is not recorded, so the shorter limit counts)"
	}
	return days, of
}

func (a *asker) dormantSoak() (days int, of string) {
	taxon := &a.record.Taxon
	switch {
	case taxon.SoakDays != nil:
		return *taxon.SoakDays, "for dormant " + taxon.ScientificName
	case willowOrCottonwood(taxon):
		return a.SoakWillow, "for dormant willow and cottonwood"
	case genus(taxon) == "cornus":
		return a.SoakDogwood, "for dormant dogwood"
	}
	return a.SoakOther, "for dormant wood of this kind"
}

func willowOrCottonwood(taxon *models.Taxon) bool {
	g := genus(taxon)
	return g == "salix" || g == "populus"
}

// genus is the first word of the scientific name, in lower case.
func genus(taxon *models.Taxon) string {
	name, _, _ := strings.Cut(models.NameKey(taxon.ScientificName), " ")
	return name
}

// storeAsk is asked on the day the longest stay in a store is reached. Frost
// kills cuttings in leaf, so those ask at once, and urgently.
func (a *asker) storeAsk(w Wait) ask {
	if w.In == models.ToColdStore && a.record.Kind.InLeaf() {
		return a.frozenLeafAsk(w)
	}
	limit, place := a.StoreRefrigerator, "in the refrigerator"
	if w.In == models.ToColdStore {
		limit, place = a.StoreCold, "in the cold store"
	}
	return ask{flag: models.FlagStore, since: w.Since.Add(limit), tell: func(on models.Date) words {
		return words{w.Count, false, fmt.Sprintf("%s %s since %s, %s of at most %d: stick them or use them",
			models.Counted(w.Count, "cutting"), place, w.Since, models.Counted(on.Sub(w.Since), "day"), limit)}
	}}
}

func (a *asker) frozenLeafAsk(w Wait) ask {
	return ask{flag: models.FlagStore, since: w.Since, tell: func(models.Date) words {
		return words{w.Count, true, fmt.Sprintf(
			"%s in leaf in the cold store since %s, and -2 to 0.5 °C kills leaves: take them out and stick them now",
			models.Counted(w.Count, "cutting"), w.Since)}
	}}
}

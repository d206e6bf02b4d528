package stats

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
)

// Sight is how much of a tray a look saw.
type Sight uint8

// What a look saw. It bounds what is known of the cuttings it did not count.
const (
	SawPart   Sight = iota // only those it counts: found rooted when potted, lifted
	SawLosses              // the tray was counted, its roots were not examined
	SawRoots               // the roots of the whole tray were examined
)

// Look is what one day's look at a batch found since the look before: cuttings
// newly Rooted, newly Lost before rooting, of these thrown out on purpose
// (Discarded), Withdrawn unrooted, and Gone: out of sight since the look before,
// nobody knows how. Day counts from sticking, 1 or later. A nursery has looks by the
// million, so that they are kept small.
type Look struct {
	Day       int32
	Rooted    int32
	Lost      int32
	Discarded int32 // of Lost
	Withdrawn int32
	Gone      int32
	Saw       Sight
}

func (k Look) counted() int { return int(k.Rooted) + int(k.Lost) + int(k.Withdrawn) + int(k.Gone) }

// Lot is one batch as statistics see it: cuttings stuck on day 0, and what each
// look found, in the order of days, at most one a day. ID tells lots apart and
// puts them in order, so that no result hangs on the order they come in.
type Lot struct {
	ID       string
	Cuttings int
	Looks    []Look
	Finished bool   // declared finished: nobody will look again
	Stratum  string // lots are drawn again within theirs
}

// ErrLot is of a lot that cannot be.
var ErrLot = errors.New("a lot cannot be so")

// Check says what of a lot cannot be, as an ErrLot: no cuttings, days that do not
// rise from 1, counts below 0, more counted than were stuck.
func (l *Lot) Check() error {
	if l.Cuttings < 1 {
		return fmt.Errorf("%w: %s has %d cuttings", ErrLot, l.ID, l.Cuttings)
	}
	last, sum := int32(0), 0
	for _, k := range l.Looks {
		if k.Day <= last {
			return fmt.Errorf("%w: %s was looked at on day %d after day %d", ErrLot, l.ID, k.Day, last)
		}
		if min(k.Rooted, k.Lost, k.Discarded, k.Withdrawn, k.Gone) < 0 || k.Discarded > k.Lost {
			return fmt.Errorf("%w: %s has a count below 0 on day %d", ErrLot, l.ID, k.Day)
		}
		last, sum = k.Day, sum+k.counted()
	}
	if sum > l.Cuttings {
		return fmt.Errorf("%w: %s counts %d of %d cuttings", ErrLot, l.ID, sum, l.Cuttings)
	}
	return nil
}

// Rooted is how many have been found rooted.
func (l *Lot) Rooted() int { return l.sum(func(k Look) int { return int(k.Rooted) }) }

// Lost is how many were lost before they rooted.
func (l *Lot) Lost() int { return l.sum(func(k Look) int { return int(k.Lost) }) }

// Withdrawn is how many were taken out unrooted.
func (l *Lot) Withdrawn() int { return l.sum(func(k Look) int { return int(k.Withdrawn) }) }

// Open is how many are neither rooted, lost nor withdrawn, as far as is known.
func (l *Lot) Open() int { return l.Cuttings - l.sum(Look.counted) }

func (l *Lot) sum(of func(Look) int) int {
	n := 0
	for _, k := range l.Looks {
		n += of(k)
	}
	return n
}

// LastDay is the day of the last look, 0 where there was none.
func (l *Lot) LastDay() int {
	if len(l.Looks) == 0 {
		return 0
	}
	return int(l.Looks[len(l.Looks)-1].Day)
}

// LastRoots is the last day on which the roots of the whole tray were looked at, or
// of any look where nothing was left to look at; 0 where there was none.
func (l *Lot) LastRoots() int {
	if l.Open() == 0 {
		return l.LastDay()
	}
	for _, k := range slices.Backward(l.Looks) {
		if k.Saw == SawRoots {
			return int(k.Day)
		}
	}
	return 0
}

// Seen says that the lot tells something of rooting: its roots were looked at,
// or nothing of it is left to look at. Other lots enter no estimate.
func (l *Lot) Seen() bool {
	return l.Open() == 0 || slices.ContainsFunc(l.Looks, func(k Look) bool { return k.Saw == SawRoots || k.Rooted > 0 })
}

// Until is the lot as it was known on a day: what was found later is left out.
func (l *Lot) Until(day int) Lot {
	known := *l
	known.Looks = l.Looks[:len(l.Looks)-len(l.after(day))]
	known.Finished = l.Finished && len(known.Looks) == len(l.Looks)
	return known
}

func (l *Lot) after(day int) []Look {
	i, _ := slices.BinarySearchFunc(l.Looks, day+1, func(k Look, d int) int { return cmp.Compare(int(k.Day), d) })
	return l.Looks[i:]
}

// Seen are the lots that tell something of rooting, in the order of their IDs. They
// are not copied where all of them do and are in that order already.
func Seen(lots []Lot) []Lot {
	if seenInOrder(lots) {
		return lots
	}
	seen := make([]Lot, 0, len(lots))
	for i := range lots {
		if lots[i].Seen() {
			seen = append(seen, lots[i])
		}
	}
	slices.SortFunc(seen, func(a, b Lot) int { return cmp.Compare(a.ID, b.ID) })
	return seen
}

func seenInOrder(lots []Lot) bool {
	for i := range lots {
		if !lots[i].Seen() || i > 0 && lots[i-1].ID > lots[i].ID {
			return false
		}
	}
	return true
}

// Discards says that something was thrown out on purpose.
func (l *Lot) Discards() bool {
	return slices.ContainsFunc(l.Looks, func(k Look) bool { return k.Discarded > 0 })
}

// DiscardsGone is the lot with what was thrown out on purpose taken as out of sight
// since the look before.
func (l *Lot) DiscardsGone() Lot {
	if !l.Discards() {
		return *l
	}
	lot := *l
	lot.Looks = slices.Clone(l.Looks)
	for i := range lot.Looks {
		k := &lot.Looks[i]
		k.Lost, k.Gone, k.Discarded = k.Lost-k.Discarded, k.Gone+k.Discarded, 0
	}
	return lot
}

package stats

import (
	"cmp"
	"math"
	"slices"
)

// levelSlack keeps a level such as 0.07 × 100, which a float puts just above 7,
// from asking for one cutting more.
const levelSlack = 1e-9

// Found is a number of cuttings found rooted at one look: each rooted after day
// After, when it was last seen unrooted, and by day By. Days are counted from
// sticking, After below By; Count is 0 or more.
type Found struct {
	After, By, Count int
}

// BracketStatus says whether a quantile of the days to root can be bracketed.
type BracketStatus string

// What the looks say about a quantile.
const (
	Reached    BracketStatus = "reached"     // it lies in (After, By]
	NotReached BracketStatus = "not_reached" // fewer have been found rooted
	Undefined  BracketStatus = "undefined"   // there is nothing to take it of
)

// DayBracket holds a quantile of the days to root: after day After and by day
// By. Both are 0 unless the status is Reached.
type DayBracket struct {
	Status    BracketStatus
	After, By int
}

// Bracket is where the q-quantile of the days to root of the cuttings found
// rooted must lie, pooled over all rows, with no model of what happened between
// the looks: of one batch, "half had rooted between day 14 and day 21".
//
// The quantile is the k-th smallest day, k = ⌈q·n⌉ of n found (inverse of the
// distribution function, type 1 of Hyndman & Fan 1996, Am Stat 50:361-365). The
// k-th smallest of the true days T lies after the k-th smallest of the After
// days and not after the k-th smallest of the By days: k of the cuttings have
// T ≤ T(k), so their k After days lie before T(k); and the k cuttings with the
// smallest By days have all rooted by the k-th of these.
//
// Undefined where nothing was found rooted, q is not above 0 and at most 1, or
// a row is no bracket (After below 0, By not later than After, Count below 0).
func Bracket(found []Found, q float64) DayBracket {
	n, ok := countFound(found)
	if !ok || n == 0 || !(q > 0 && q <= 1) {
		return DayBracket{Status: Undefined}
	}
	return bracketOf(found, level(q, n))
}

// BracketOfStuck is Bracket with the level taken of all cuttings stuck: the
// days by which q of them had rooted. Lost and unrooted ones stay in the
// number stuck. NotReached where fewer than ⌈q·stuck⌉ have been found rooted.
//
// The By day always holds: k cuttings had rooted by then. The After day holds
// where those not found rooted were lost, or seen unrooted after that day. That
// is so in one batch from which none were withdrawn; a younger batch in the
// pool may still root before it, so pool batches that were watched as long.
//
// Undefined where stuck is 0 or less or below the number found, and as in
// Bracket; nothing found of some stuck is NotReached.
func BracketOfStuck(found []Found, stuck int, q float64) DayBracket {
	n, ok := countFound(found)
	if !ok || stuck <= 0 || n > stuck || !(q > 0 && q <= 1) {
		return DayBracket{Status: Undefined}
	}
	k := level(q, stuck)
	if n < k {
		return DayBracket{Status: NotReached}
	}
	return bracketOf(found, k)
}

func bracketOf(found []Found, k int) DayBracket {
	return DayBracket{
		Status: Reached,
		After:  kthDay(found, k, func(f Found) int { return f.After }),
		By:     kthDay(found, k, func(f Found) int { return f.By }),
	}
}

// countFound adds the rows up; ok is false where one of them is no bracket.
func countFound(found []Found) (n int, ok bool) {
	for _, f := range found {
		if f.After < 0 || f.By <= f.After || f.Count < 0 {
			return 0, false
		}
		n += f.Count
	}
	return n, true
}

// level is the rank of the q-quantile of n, from 1 to n.
func level(q float64, n int) int {
	return max(1, int(math.Ceil(q*float64(n)-levelSlack)))
}

// kthDay is the k-th smallest day over all cuttings, of which there are at
// least k.
func kthDay(found []Found, k int, day func(Found) int) int {
	sorted := slices.SortedFunc(slices.Values(found), func(a, b Found) int {
		return cmp.Compare(day(a), day(b))
	})
	i := 0
	for ; k > sorted[i].Count; i++ {
		k -= sorted[i].Count
	}
	return day(sorted[i])
}

package rules_test

import (
	"encoding/json"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

// The stand of these tests may be closed, at rest, looked over for nests and salvaged,
// in days since a base. It was counted on one day, so that 40 stems may be cut from
// then on in 350 days, and 10 of these are set aside for a crew for some days. A plain
// reading says on which days a cut passes; it shares no code with the rules.

type plainShut struct {
	from, to int
	nests    bool // a look for nests can lift it
}

type plainList struct {
	inForceFrom int
	shut        []plainShut
}

type plainLook struct {
	day   int
	found bool
}

type plainRest struct {
	from, to int // to is -1 where no end is given
	setAt    int // in hours
}

type quietStand struct {
	lists    []plainList // of the stand; the first holds from the beginning
	place    []plainList // of its whole place
	looks    []plainLook // in order of day, then of entry
	rests    []plainRest
	salvages [][2]int
	counted  int // day of the count
	shareDay int
	shareAt  int // when it was set aside, in hours
}

type quietCut struct {
	day, stems int
	ofShare    bool
}

const (
	quietLimit  = 40
	quietWindow = 350
	quietGood   = 500 // days for which the count is good
	quietShare  = 10  // stems set aside
	shareDays   = 30  // for so many days after the first
	endless     = 1 << 30
)

func listInForce(lists []plainList, day int) []plainShut {
	var shut []plainShut
	since := -endless
	for _, l := range lists {
		if l.inForceFrom <= day && l.inForceFrom >= since {
			shut, since = l.shut, l.inForceFrom
		}
	}
	return shut
}

// clean says that the latest day of the week before, or of the day itself, on which
// someone looked for nests was one on which nobody found any.
func (q *quietStand) clean(day int) bool {
	for d := day; d >= day-7; d-- {
		looked, found := false, false
		for _, l := range q.looks {
			if l.day == d {
				looked, found = true, found || l.found
			}
		}
		if looked {
			return !found
		}
	}
	return false
}

func (q *quietStand) closed(day int) bool {
	own := slices.Clone(q.lists)
	own[0].inForceFrom = -endless
	for _, s := range slices.Concat(listInForce(own, day), listInForce(q.place, day)) {
		if s.from <= day && day <= s.to && !(s.nests && q.clean(day)) {
			return true
		}
	}
	return false
}

// atRest says that a rest stops a cut. None stops what is within a share that was set
// aside before the rest was set.
func (q *quietStand) atRest(cut quietCut) bool {
	for _, r := range q.rests {
		holds := r.from <= cut.day && (r.to < 0 || cut.day <= r.to)
		if holds && !(cut.ofShare && cut.stems <= quietShare && q.shareAt < r.setAt) {
			return true
		}
	}
	return false
}

func (q *quietStand) salvaged(day int) bool {
	return slices.ContainsFunc(q.salvages, func(s [2]int) bool { return s[0] <= day && day <= s[1] })
}

// within says that a cut is within the caps: those of its own day, and of the day of
// the share after it, but for days of salvage.
func (q *quietStand) within(cut quietCut) bool {
	if q.salvaged(cut.day) {
		return true
	}
	if cut.day < q.counted || cut.day > q.counted+quietGood {
		return false
	}
	if q.room(cut, cut.day) < cut.stems {
		return false
	}
	later := cut.day < q.shareDay && q.shareDay < cut.day+quietWindow
	return !later || q.salvaged(q.shareDay) || q.room(cut, q.shareDay) >= cut.stems
}

// room is what the window that ends on a day leaves for a cut: the share counts from
// its first day on, until its last one is out of the window.
func (q *quietStand) room(cut quietCut, t int) int {
	room := quietLimit
	if q.shareDay <= t && t < q.shareDay+shareDays+quietWindow {
		room -= quietShare
	}
	if cut.ofShare {
		room += min(cut.stems, quietShare)
	}
	return room
}

func (q *quietStand) passes(cut quietCut) bool {
	return !q.closed(cut.day) && !q.atRest(cut) && q.within(cut)
}

func drawLists(t *rapid.T, name string, least int) (lists []plainList) {
	for range rapid.IntRange(least, 3).Draw(t, name+" lists") {
		l := plainList{inForceFrom: rapid.IntRange(0, span).Draw(t, name+" in force from")}
		for range rapid.IntRange(0, 2).Draw(t, name+" closures") {
			from := rapid.IntRange(0, span).Draw(t, name+" closed from")
			l.shut = append(l.shut, plainShut{from, from + rapid.IntRange(0, 60).Draw(t, name+" closed for"), rapid.Bool().Draw(t, name+" until a look")})
		}
		lists = append(lists, l)
	}
	return lists
}

func drawQuiet(t *rapid.T) *quietStand {
	q := &quietStand{
		lists: drawLists(t, "stand", 1), place: drawLists(t, "place", 0), counted: rapid.IntRange(0, 40).Draw(t, "counted"),
		shareAt: rapid.IntRange(0, 9).Draw(t, "share at"),
	}
	q.shareDay = q.counted + rapid.IntRange(0, 60).Draw(t, "share day")
	for range rapid.IntRange(0, 8).Draw(t, "looks") {
		q.looks = append(q.looks, plainLook{rapid.IntRange(0, span).Draw(t, "looked"), rapid.Bool().Draw(t, "nests found")})
	}
	slices.SortStableFunc(q.looks, func(a, b plainLook) int { return a.day - b.day })
	for range rapid.IntRange(0, 3).Draw(t, "rests") {
		r := plainRest{from: rapid.IntRange(0, span).Draw(t, "rests from"), to: -1, setAt: rapid.IntRange(0, 9).Draw(t, "set at")}
		if rapid.IntRange(0, 3).Draw(t, "has an end") > 0 {
			r.to = r.from + rapid.IntRange(0, 40).Draw(t, "rests for")
		}
		q.rests = append(q.rests, r)
	}
	for range rapid.IntRange(0, 2).Draw(t, "salvages") {
		from := rapid.IntRange(0, span).Draw(t, "salvage from")
		q.salvages = append(q.salvages, [2]int{from, from + rapid.IntRange(0, 40).Draw(t, "salvage for")})
	}
	return q
}

func closuresOf(shut []plainShut) []models.Closure {
	closures := []models.Closure{}
	for _, s := range shut {
		c := models.Closure{From: base.Add(s.from).String(), To: base.Add(s.to).String(), Kind: models.Closed}
		if s.nests {
			c.Kind = models.NestCheck
		}
		closures = append(closures, c)
	}
	return closures
}

func hour(n int) time.Time { return time.Date(2024, 1, 1, n, 0, 0, 0, time.UTC) }

// record is the stand as the rules read it.
func (q *quietStand) record() *models.StandRecord {
	r := standOf(func(r *models.StandRecord) { r.Closures = nil })
	for _, l := range q.lists {
		r.Closures = append(r.Closures, models.ClosureVersion{InForceFrom: base.Add(l.inForceFrom), Closures: closuresOf(l.shut)})
	}
	for _, l := range q.place {
		r.PlaceClosures = append(r.PlaceClosures, models.PlaceClosureVersion{InForceFrom: base.Add(l.inForceFrom), Closures: closuresOf(l.shut)})
	}
	for _, l := range q.looks {
		r.NestChecks = append(r.NestChecks, models.NestLook{CheckedOn: base.Add(l.day), NestsFound: l.found})
	}
	for _, p := range q.rests {
		rest := models.Rest{StartsOn: base.Add(p.from), SetAt: hour(p.setAt), EnteredAt: hour(20), Why: "browsed"}
		if p.to >= 0 {
			rest.EndsOn = base.Add(p.to)
		}
		r.Rests = append(r.Rests, rest)
	}
	for _, s := range q.salvages {
		r.Salvages = append(r.Salvages, models.SalvagePeriod{StartsOn: base.Add(s[0]), EndsOn: base.Add(s[1]), Authority: "roads", Why: "a bridge"})
	}
	counted(base.Add(q.counted).String(), "800")(r)
	taken(base.Add(q.shareDay).String(), quietShare)(r)
	r.Shares = []models.OpenShare{*q.share()}
	return r
}

func (q *quietStand) share() *models.OpenShare {
	first := base.Add(q.shareDay)
	return &models.OpenShare{Share: models.Share{Crew: "weavers", FromDay: first, ToDay: first.Add(shareDays), EnteredAt: hour(q.shareAt)}, Left: quietShare}
}

func (q *quietStand) cut(c quietCut) rules.Cut {
	cut := rules.Cut{On: base.Add(c.day), Stems: c.stems}
	if c.ofShare {
		cut.Share = q.share()
	}
	return cut
}

func drawQuietCut(t *rapid.T) quietCut {
	return quietCut{
		day:   rapid.IntRange(0, span+10).Draw(t, "on"),
		stems: rapid.SampledFrom([]int{1, 10, 11, 30, 31, 40, 41, 500}).Draw(t, "stems"),
	}
}

// Whatever rests, closures, looks and salvages there are, a cut passes on the days on
// which a plain reading of them lets it pass, and on no other.
func TestACutPassesWhereNothingShutsTheStand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := drawQuiet(t)
		stand := q.record()
		for range cutsAsked {
			cut := drawQuietCut(t)
			if rapid.Bool().Draw(t, "of the share") {
				cut.ofShare, cut.day = true, q.shareDay+rapid.IntRange(0, shareDays).Draw(t, "day of the share")
			}
			refusal := rules.JudgeCut(stand, q.cut(cut))
			if (refusal == nil) != q.passes(cut) {
				text, _ := json.Marshal(stand)
				t.Fatalf("%+v of %s is refused with %v; closed %t, at rest %t, within %t", cut, text, refusal, q.closed(cut.day), q.atRest(cut), q.within(cut))
			}
		}
	})
}

func TestPossibleFromIsTheFirstDayOnWhichNothingShutsTheStand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q, cut := drawQuiet(t), drawQuietCut(t)
		got := rules.PossibleFrom(q.record(), q.cut(cut))
		want := cut
		for want.day <= q.counted+quietGood && !q.passes(want) {
			want.day++
		}
		switch {
		case !q.passes(want):
			if got != nil {
				t.Fatalf("%+v is possible from %s, and a plain reading finds no day", cut, got)
			}
		case got == nil || *got != base.Add(want.day):
			t.Fatalf("%+v is possible from %v, and by a plain reading from %s", cut, got, base.Add(want.day))
		}
	})
}

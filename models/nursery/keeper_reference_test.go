package nursery_test

import (
	"errors"
	"flag"
	"fmt"
	"maps"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"withybed/models"
)

// histories is how many are played on each database: a few in passing, and thousands
// with go test ./models/nursery -run PlainReading -histories 2000 -rapid.checks 2000.
var histories = flag.Int("histories", 25, "histories of the ledger to play on each database")

// TestTheLedgerIsKeptByAPlainReading makes random histories of cuts, cuts over a limit,
// cuts of others, corrections, moves, voids, counts, crew shares, a permit over two
// stands, closures and rests. Each step is accepted if and only if the plain reading of
// what was accepted before says so, and at the end the ledger is the same day by day.
func TestTheLedgerIsKeptByAPlainReading(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		played := 0
		rapid.Check(h.t.(*testing.T), func(t *rapid.T) {
			if played++; played > *histories {
				return
			}
			k := newKeeper(t, h, played)
			for range rapid.IntRange(8, 24).Draw(t, "steps") {
				h.at = h.at.Add(time.Millisecond) // a rest is younger than a share, or older
				k.book.number++
				k.step()
			}
			k.compare()
		})
	})
}

// keeper plays one history, on the nursery and in the plain book.
type keeper struct {
	*rapid.T
	h       *house
	stands  [2]string
	permit  string
	book    plainBook
	batches []string // codes, in the order they were logged
	shares  []string
	others  []string // identifiers
}

func newKeeper(t *rapid.T, h *house, n int) *keeper {
	k := &keeper{T: t, h: h, permit: fmt.Sprintf("WV-%d", n)}
	k.book = plainBook{taken: map[string]*plainTaken{}, shares: map[string]*plainHeld{}, permit: rapid.IntRange(5, 80).Draw(t, "permit")}
	for i := range k.stands {
		k.stands[i] = fmt.Sprintf("K%d-%c", n, 'A'+i)
		h.stand(k.stands[i], func(r *models.NewStand) {
			window := plainWindow
			r.HarvestRule = &models.NewHarvestRule{WindowDays: &window}
		})
		k.survey(i)
	}
	quantity := models.DecimalOf(k.book.permit)
	must1(h, func() (models.PermitView, error) {
		return h.AddPermit(h.ctx, unkeyed, models.NewPermit{Number: k.permit, Stands: k.stands[:], PermitTerms: models.PermitTerms{
			Kind: models.PermitPaper, Issuer: "Wrenlow Valley Parks", Quantity: &quantity, Unit: models.InStems, ValidFrom: date("2025-01-01"),
		}})
	})
	return k
}

// today is 2026-03-01.
func (k *keeper) day(what string) models.Date {
	return date("2026-03-01").Add(-rapid.IntRange(0, 100).Draw(k.T, what))
}

func (k *keeper) step() {
	at := rapid.IntRange(0, 1).Draw(k.T, "stand")
	switch rapid.IntRange(0, 15).Draw(k.T, "what") {
	case 0, 1, 2, 3, 4:
		k.log(at, "")
	case 5:
		k.alreadyCut(at)
	case 6:
		k.survey(at)
	case 7:
		k.close(at)
	case 8:
		k.rest(at)
	case 9:
		k.cutByOthers(at)
	case 10, 11:
		k.setAside(at)
	case 12:
		k.drawOnShare()
	case 13:
		k.returnShare()
	case 14:
		k.correct()
	case 15:
		k.void()
	}
}

func (k *keeper) drawn(at int) plainTaken {
	return plainTaken{
		stand: at, day: k.day("on"), stems: rapid.IntRange(1, 30).Draw(k.T, "stems"), permit: rapid.Bool().Draw(k.T, "on the permit"),
	}
}

func (k *keeper) request(t plainTaken) models.NewBatch {
	return cutOf(k.stands[t.stand], t.day.String(), t.stems, func(r *models.NewBatch) {
		if r.Share = t.share; t.permit {
			r.Permit = k.permit
		}
	})
}

// log logs a batch, of a crew share or none.
func (k *keeper) log(at int, share string) {
	t := k.drawn(at)
	if t.share = share; share != "" {
		s := k.book.shares[share]
		span := max(0, models.MustDate("2026-03-01").Sub(s.from))
		t.day = s.from.Add(rapid.IntRange(0, min(span, s.to.Sub(s.from))).Draw(k.T, "day of the share"))
		t.stand = s.stand
	}
	view, err := k.h.LogBatch(k.h.ctx, unkeyed, k.request(t))
	if k.judged(err, k.book.passes(t), fmt.Sprintf("log %+v", t)) {
		k.keep(view.Code, t)
	}
}

func (k *keeper) keep(code string, t plainTaken) {
	k.book.take(code, t)
	k.batches = append(k.batches, code)
}

func (k *keeper) alreadyCut(at int) {
	t := k.drawn(at)
	req := k.request(t)
	alreadyCut(&req)
	view, err := k.h.LogBatch(k.h.ctx, unkeyed, req)
	if err != nil {
		k.Fatalf("%+v is cut already, and refused: %v", t, err)
	}
	passes := k.book.passes(t)
	if view.ToReview == passes {
		k.Fatalf("%+v is cut already, to review: %v, passes: %v", t, view.ToReview, passes)
	}
	over := k.book.counted(at, t.day) && !k.book.bears(at, t.day, t.stems, nil)
	k.keep(view.Code, t)
	if over {
		rest := &plainRest{plainSpan{t.day.Add(1), date("2100-01-01")}, k.book.number}
		k.book.taken[view.Code].rest = rest
		k.book.stands[at].rests = append(k.book.stands[at].rests, rest)
	}
}

// judged says whether a step was accepted, which has to be what the plain reading says.
func (k *keeper) judged(err error, passes bool, what string) bool {
	var e *models.Error
	if err != nil && (!errors.As(err, &e) || e.Kind != models.Refused && e.Code != "before-first-survey") {
		k.Fatalf("%s: %v", what, err)
	}
	if (err == nil) != passes {
		k.Fatalf("%s: the nursery says %v, and by the plain reading it passes: %v", what, err, passes)
	}
	return err == nil
}

func (k *keeper) survey(at int) {
	day, stems := k.day("counted on"), rapid.IntRange(100, 900).Draw(k.T, "counted")
	k.h.census(k.stands[at], day.String(), stems)
	counts := append(k.book.stands[at].counts, plainCount{day, stems})
	slices.SortStableFunc(counts, func(a, b plainCount) int { return a.day.Compare(b.day) })
	k.book.stands[at].counts = counts
}

func (k *keeper) span() plainSpan {
	from := k.day("from")
	return plainSpan{from, from.Add(rapid.IntRange(0, 6).Draw(k.T, "days"))}
}

func (k *keeper) close(at int) {
	span := k.span()
	must1(k.h, func() (models.StandView, error) {
		return k.h.AddClosures(k.h.ctx, unkeyed, k.stands[at], models.NewClosures{
			Closures: []models.Closure{{From: span.from.String(), To: span.to.String()}}, InForceFrom: date("2025-06-01"),
		})
	})
	k.book.stands[at].closures = append(k.book.stands[at].closures, span)
}

func (k *keeper) rest(at int) {
	span := k.span()
	must1(k.h, func() (models.RestView, error) {
		return k.h.AddRest(k.h.ctx, unkeyed, k.stands[at], models.NewRest{From: span.from, To: span.to, Why: "a dry summer"})
	})
	k.book.stands[at].rests = append(k.book.stands[at].rests, &plainRest{span, k.book.number})
}

func (k *keeper) cutByOthers(at int) {
	day, high := k.day("cut by others"), rapid.IntRange(1, 12).Draw(k.T, "high")
	view, err := k.h.AddOthersCut(k.h.ctx, unkeyed, k.stands[at], models.NewOthersCut{From: day, To: day, High: high, CutBy: "weavers", Evidence: "stubs"})
	if must(k.h, view, err); err == nil {
		k.book.taken[view.ID] = &plainTaken{stand: at, day: day, stems: high}
		k.others = append(k.others, view.ID)
	}
}

func (k *keeper) setAside(at int) {
	from := date("2026-03-01").Add(rapid.IntRange(-20, 5).Draw(k.T, "share from"))
	to := models.Later(from, date("2026-03-01")).Add(rapid.IntRange(0, 5).Draw(k.T, "share days"))
	s := plainHeld{plainSpan{from, to}, at, rapid.IntRange(1, 25).Draw(k.T, "set aside"), k.book.number}
	view, err := k.h.AddShare(k.h.ctx, unkeyed, k.stands[at], models.NewShare{Crew: fmt.Sprintf("crew %d", k.book.number), Stems: s.left, From: s.from, To: s.to})
	if k.judged(err, k.book.setAside(s), fmt.Sprintf("set aside %+v", s)) {
		k.book.shares[view.ID] = &s
		k.shares = append(k.shares, view.ID)
	}
}

func (k *keeper) pick(list []string, what string) (string, bool) {
	if len(list) == 0 {
		return "", false
	}
	return rapid.SampledFrom(list).Draw(k.T, what), true
}

func (k *keeper) drawOnShare() {
	if id, any := k.pick(k.shares, "share"); any && !k.book.shares[id].from.After(date("2026-03-01")) {
		k.log(0, id)
	}
}

func (k *keeper) returnShare() {
	id, any := k.pick(k.shares, "share")
	if !any {
		return
	}
	s := k.book.shares[id]
	_, err := k.h.ReturnShare(k.h.ctx, unkeyed, k.stands[s.stand], id, models.NewShareReturn{By: "RQ"})
	if (err == nil) != (s.left > 0) {
		k.Fatalf("return %d stems: %v", s.left, err)
	}
	if err == nil {
		delete(k.book.shares, id)
		k.shares = slices.DeleteFunc(k.shares, func(other string) bool { return other == id })
	}
}

// correct says of a batch that it had other stems, was cut on another day, or at the
// other stand. What only becomes less always passes.
func (k *keeper) correct() {
	code, any := k.pick(k.batches, "corrected")
	if !any {
		return
	}
	was := *k.book.taken[code]
	rests := slices.Clone(k.book.stands[was.stand].rests)
	is := k.book.giveBack(code)
	var c models.Changes
	switch rapid.IntRange(0, 2).Draw(k.T, "of what") {
	case 0:
		is.stems = rapid.IntRange(1, 30).Draw(k.T, "stems after all")
		c.StemsCut, c.Cuttings = models.SetTo(is.stems), models.SetTo(3*is.stems)
	case 1:
		is.day = k.day("day after all")
		c.CollectedOn = models.SetTo(is.day)
	case 2:
		is.stand = 1 - is.stand
		c.Stand = models.SetTo(k.stands[is.stand])
	}
	if was.share != "" && (is.day != was.day || is.stand != was.stand) {
		is.share = "" // it would be of another share, or of none
		c.Share = models.SetNull[string]()
	}
	restore := func() {
		k.book.stands[was.stand].rests = rests
		k.book.taken[code] = &was
		if on := k.book.shares[was.share]; on != nil {
			on.left -= was.drawn
		}
	}
	if is.stand == was.stand && is.day == was.day && is.stems == was.stems {
		restore() // nothing to correct
		return
	}
	less := is.stand == was.stand && is.day == was.day && is.stems <= was.stems && is.share == was.share
	_, err := k.h.Correct(k.h.ctx, unkeyed, code, models.NewCorrection{Changes: c, Why: "counted again"})
	if k.judged(err, less || k.book.passes(is), fmt.Sprintf("correct %+v to %+v", was, is)) {
		if less {
			is.rest, k.book.stands[was.stand].rests = was.rest, rests
		} else if was.rest != nil {
			k.book.stands[was.stand].rests = rests // until the coordinator gives its end
		}
		k.book.take(code, is)
		return
	}
	restore()
}

func (k *keeper) void() {
	if code, any := k.pick(k.batches, "void"); any {
		rests := slices.Clone(k.book.stands[k.book.taken[code].stand].rests)
		stand := k.book.taken[code].stand
		must1(k.h, func() (models.BatchView, error) {
			return k.h.VoidBatch(k.h.ctx, unkeyed, code, models.NewVoid{Why: "logged twice"})
		})
		k.book.giveBack(code)
		k.book.stands[stand].rests = rests
		k.batches = slices.DeleteFunc(k.batches, func(other string) bool { return other == code })
	}
	if id, any := k.pick(k.others, "void others"); any {
		must1(k.h, func() (models.CorrectionView, error) {
			return k.h.CorrectStand(k.h.ctx, unkeyed, k.stands[k.book.taken[id].stand], models.NewStandCorrection{Subject: models.OfOthersCut, SubjectID: id, Why: "another stand"})
		})
		delete(k.book.taken, id)
		k.others = slices.DeleteFunc(k.others, func(other string) bool { return other == id })
	}
}

// compare holds the ledgers against the plain book, day by day.
func (k *keeper) compare() {
	for at, stand := range k.stands {
		want, got := map[models.Date]int{}, map[models.Date]int{}
		for i := -130; i < 30; i++ {
			day := date("2026-03-01").Add(i)
			if n := k.book.onDay(at, day); n != 0 {
				want[day] = n
			}
		}
		page := models.Page{Limit: models.MaxPage}
		list, err := k.h.Ledger(k.h.ctx, stand, models.Date{}, page)
		for _, line := range must(k.h, list, err).Items {
			got[line.TakenOn] += line.Stems
		}
		maps.DeleteFunc(got, func(_ models.Date, n int) bool { return n == 0 })
		if !maps.Equal(want, got) {
			k.Fatalf("the ledger of %s is %v, want %v", stand, got, want)
		}
	}
	if permit := must(k.h, must2(k.h, func() (models.PermitView, error) { return k.h.Permit(k.h.ctx, k.permit) }), nil); permit.Drawn != models.DecimalOf(k.book.drawn()) {
		k.Fatalf("%s are drawn on the permit, want %d", permit.Drawn, k.book.drawn())
	}
}

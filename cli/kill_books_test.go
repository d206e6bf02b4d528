package cli_test

import (
	"context"
	"encoding/json"
	"fmt"
	"iter"
	"math/rand/v2"
	"testing"

	"withybed/api"
	"withybed/models"
	"withybed/models/nursery"
)

// write is a request under its key, and the answer it got, if it did.
type write struct {
	key    string
	answer string
	send   func(ctx context.Context, c *api.Client) error
}

// book is what one cutter knows of what they wrote. A cutter waits for each answer,
// so that what they write about a record follows it.
type book struct {
	cutter  string
	today   models.Date
	writes  []*write
	batches []*bookBatch
	shares  []*bookShare
	others  []*bookOthers
	surveys map[string]int // by stand
}

type bookBatch struct {
	code, stand string
	stems       int
	share       *bookShare
	permit      bool
	stuck, void bool
}

type bookShare struct {
	id, stand, crew string
	stems           int
	ended           bool
	used            int // by batches, once it has ended: their void gives back to the stand
}

type bookOthers struct {
	id, stand string
	high      int
	void      bool
}

func newBook(cutter string, today models.Date) *book {
	return &book{cutter: cutter, today: today, surveys: map[string]int{}}
}

// note enters a write in the book: what is sent, and what is learnt from its first
// answer. A later answer has to be the same to the letter.
func note[T any](b *book, send func(ctx context.Context, c *api.Client) (T, error), learn func(T)) {
	w := &write{key: fmt.Sprintf("%s-n%d", b.cutter, len(b.writes))}
	w.send = func(ctx context.Context, c *api.Client) error {
		view, err := send(ctx, c.WithKey(w.key))
		if err != nil {
			return err
		}
		text, err := json.Marshal(view)
		switch {
		case err != nil:
			return err
		case w.answer == "":
			w.answer = string(text)
			learn(view)
		case w.answer != string(text):
			return fmt.Errorf("it was answered with %s, and sent again with %s", w.answer, text)
		}
		return nil
	}
	b.writes = append(b.writes, w)
}

func (b *book) writeUntilKilled(c *api.Client, answers chan<- struct{}) {
	ways := []func() bool{b.log, b.log, b.log, b.stick, b.raise, b.move, b.void, b.setAside, b.draw, b.bringBack, b.byOthers, b.voidOthers, b.count}
	for {
		if !ways[rand.IntN(len(ways))]() {
			continue // there is nothing yet to do that to
		}
		if err := b.writes[len(b.writes)-1].send(context.Background(), c); err != nil {
			return
		}
		answers <- struct{}{}
	}
}

func (b *book) batch(batch *bookBatch, req models.NewBatch) bool {
	req.Stand, req.StemsCut, req.Cuttings, req.CollectedBy = batch.stand, batch.stems, 3*batch.stems, b.cutter
	note(b, func(ctx context.Context, c *api.Client) (models.BatchView, error) { return c.LogBatch(ctx, req) },
		func(v models.BatchView) {
			batch.code = v.Code
			b.batches = append(b.batches, batch)
		})
	return true
}

func (b *book) log() bool {
	batch := &bookBatch{stand: someStand(), stems: 1 + rand.IntN(5), permit: rand.IntN(2) == 0}
	req := models.NewBatch{CollectedOn: b.today.Add(-rand.IntN(3))}
	if batch.permit {
		req.Permit = everyStandPermit(b.today).Number
	}
	return b.batch(batch, req)
}

// draw logs a batch on a crew share.
func (b *book) draw() bool {
	share, ok := one(b.shares, func(s *bookShare) bool { return b.left(s) > 0 })
	if !ok {
		return false
	}
	return b.batch(&bookBatch{stand: share.stand, stems: 1 + rand.IntN(b.left(share)), share: share}, models.NewBatch{CollectedOn: b.today, Share: share.crew})
}

func (b *book) stick() bool {
	batch, ok := one(b.batches, func(x *bookBatch) bool { return !x.stuck && !x.void })
	if !ok {
		return false
	}
	note(b, func(ctx context.Context, c *api.Client) (models.BatchView, error) {
		return c.Stick(ctx, batch.code, models.NewSticking{StuckOn: b.today, Count: 3})
	}, func(models.BatchView) { batch.stuck = true })
	return true
}

func (b *book) correct(batch *bookBatch, changes models.Changes, learn func()) bool {
	note(b, func(ctx context.Context, c *api.Client) (models.BatchView, error) {
		return c.Correct(ctx, batch.code, models.NewCorrection{Changes: changes, Why: "a slip"})
	}, func(models.BatchView) { learn() })
	return true
}

func (b *book) raise() bool {
	batch, ok := one(b.batches, func(x *bookBatch) bool { return !x.void && (x.share == nil || b.left(x.share) > 0) })
	if !ok {
		return false
	}
	stems := batch.stems + 1
	return b.correct(batch, models.Changes{StemsCut: models.SetTo(stems)}, func() { batch.stems = stems })
}

// move moves a batch to another stand, where the share it was taken from stays behind.
func (b *book) move() bool {
	batch, ok := one(b.batches, func(x *bookBatch) bool { return !x.void })
	if !ok {
		return false
	}
	to := someStand()
	if to == batch.stand {
		return false
	}
	return b.correct(batch, models.Changes{Stand: models.SetTo(to)}, func() { batch.stand, batch.share = to, nil })
}

func (b *book) void() bool {
	batch, ok := one(b.batches, func(x *bookBatch) bool { return !x.void })
	if !ok {
		return false
	}
	note(b, func(ctx context.Context, c *api.Client) (models.BatchView, error) {
		return c.VoidBatch(ctx, batch.code, models.NewVoid{Why: "logged twice"})
	}, func(models.BatchView) { batch.void = true })
	return true
}

func (b *book) setAside() bool {
	share := &bookShare{stand: someStand(), crew: fmt.Sprintf("%s-%d", b.cutter, len(b.writes)), stems: 5 + rand.IntN(5)}
	req := models.NewShare{Crew: share.crew, Stems: share.stems, From: b.today, To: b.today.Add(2)}
	note(b, func(ctx context.Context, c *api.Client) (models.ShareView, error) {
		return c.AddShare(ctx, share.stand, req)
	},
		func(v models.ShareView) {
			share.id = v.ID
			b.shares = append(b.shares, share)
		})
	return true
}

func (b *book) bringBack() bool {
	share, ok := one(b.shares, func(s *bookShare) bool { return b.left(s) > 0 })
	if !ok {
		return false
	}
	note(b, func(ctx context.Context, c *api.Client) (models.ShareView, error) {
		return c.ReturnShare(ctx, share.stand, share.id, models.NewShareReturn{By: "OP"})
	}, func(models.ShareView) { share.used, share.ended = b.drawn(share), true })
	return true
}

func (b *book) byOthers() bool {
	cut := &bookOthers{stand: someStand(), high: 1 + rand.IntN(5)}
	req := models.NewOthersCut{From: b.today.Add(-5), To: b.today.Add(-1), High: cut.high, CutBy: "not known", Evidence: "stubs"}
	note(b, func(ctx context.Context, c *api.Client) (models.OthersCutView, error) {
		return c.AddOthersCut(ctx, cut.stand, req)
	}, func(v models.OthersCutView) {
		cut.id = v.ID
		b.others = append(b.others, cut)
	})
	return true
}

func (b *book) voidOthers() bool {
	cut, ok := one(b.others, func(o *bookOthers) bool { return !o.void })
	if !ok {
		return false
	}
	req := models.NewStandCorrection{Subject: models.OfOthersCut, SubjectID: cut.id, Why: "old stubs"}
	note(b, func(ctx context.Context, c *api.Client) (models.CorrectionView, error) {
		return c.CorrectStand(ctx, cut.stand, req)
	}, func(models.CorrectionView) { cut.void = true })
	return true
}

func (b *book) count() bool {
	stand, stems := someStand(), 1_000_000+rand.IntN(1000)
	note(b, func(ctx context.Context, c *api.Client) (models.SurveyView, error) {
		return c.AddSurvey(ctx, stand, models.NewSurvey{SurveyedOn: b.today.Add(-9), Method: models.Census, Stems: &stems})
	}, func(models.SurveyView) { b.surveys[stand]++ })
	return true
}

// drawn is what batches took of a share, and left what is set aside still.
func (b *book) drawn(share *bookShare) int {
	if share.ended {
		return share.used
	}
	stems := 0
	for _, batch := range b.batches {
		if batch.share == share && !batch.void {
			stems += batch.stems
		}
	}
	return stems
}

func (b *book) left(share *bookShare) int {
	if share.ended {
		return 0
	}
	return share.stems - b.drawn(share)
}

func someStand() string { return standCode(rand.IntN(killStands)) }

// one is any of a list's members that fit.
func one[T any](list []T, fits func(T) bool) (T, bool) {
	for _, i := range rand.Perm(len(list)) {
		if fits(list[i]) {
			return list[i], true
		}
	}
	var none T
	return none, false
}

// everyStandPermit is a permit for every stand.
func everyStandPermit(today models.Date) models.NewPermit {
	quantity := models.MustDecimal("1000000")
	permit := models.NewPermit{Number: "WV-1", PermitTerms: models.PermitTerms{
		Kind: models.PermitPaper, Issuer: "Wrenlow Valley Parks", Quantity: &quantity, Unit: models.InStems, ValidFrom: today.Add(-30),
	}}
	for i := range killStands {
		permit.Stands = append(permit.Stands, standCode(i))
	}
	return permit
}

// replay sends every write of every book again, in the order it was first sent, and
// says how many there are.
func replay(t *testing.T, c *api.Client, books []*book) (writes int) {
	t.Helper()
	for _, b := range books {
		for _, w := range b.writes {
			writes++
			if err := w.send(t.Context(), c); err != nil {
				t.Errorf("%s sent again: %v", w.key, err)
			}
		}
	}
	return writes
}

// agree wants each record once, as the books have it, and the ledgers to sum to the
// stems of what is on them.
func agree(t *testing.T, c *api.Client, books []*book) {
	t.Helper()
	ctx := t.Context()
	batches, shares, others := map[string]*bookBatch{}, map[string]*models.ShareView{}, map[string]*bookOthers{}
	taken, surveys := map[string]int{}, map[string]int{}
	onPermit := 0
	for _, b := range books {
		for _, batch := range b.batches {
			batches[batch.code] = batch
			if batch.void {
				continue
			}
			taken[batch.stand] += batch.stems
			if batch.permit {
				onPermit += batch.stems
			}
		}
		for _, share := range b.shares {
			view := models.ShareView{Share: models.Share{Stems: share.stems}, Drawn: b.drawn(share), Left: b.left(share)}
			view.Returned = view.Stems - view.Drawn - view.Left
			shares[share.id] = &view
			taken[share.stand] += b.left(share)
		}
		for _, cut := range b.others {
			others[cut.id] = cut
			if !cut.void {
				taken[cut.stand] += cut.high
			}
		}
		for stand, n := range b.surveys {
			surveys[stand] += n
		}
	}

	found := 0
	for _, void := range []bool{false, true} {
		for b := range allOf(t, c.Batches(ctx, nursery.BatchQuery{Void: void, Page: models.Page{Limit: models.MaxPage}})) {
			found++
			if want := batches[b.Code]; want == nil || want.stems != b.StemsCut || want.stand != b.Stand || want.void != void {
				t.Errorf("batch %s of %s has %d stems and is %s, and should be %+v", b.Code, b.Stand, b.StemsCut, b.State, want)
			}
		}
	}
	if found != len(batches) {
		t.Errorf("%d batches were logged, and %d are there", len(batches), found)
	}
	for i := range killStands {
		stand := standCode(i)
		sum := 0
		for line := range allOf(t, c.Ledger(ctx, stand, models.Date{})) {
			sum += line.Stems
		}
		if sum != taken[stand] {
			t.Errorf("%d stems of %s are on the ledger, and what is on it has %d", sum, stand, taken[stand])
		}
		for s := range allOf(t, c.Shares(ctx, stand)) {
			want := shares[s.ID]
			delete(shares, s.ID)
			if want == nil || [4]int{s.Stems, s.Drawn, s.Returned, s.Left} != [4]int{want.Stems, want.Drawn, want.Returned, want.Left} {
				t.Errorf("the share is %+v, and should be %+v", s, want)
			}
		}
		for o := range allOf(t, c.OthersCuts(ctx, stand)) {
			want := others[o.ID]
			delete(others, o.ID)
			if want == nil || o.High != want.high || o.Void != want.void {
				t.Errorf("the cut of others is %+v, and should be %+v", o, want)
			}
		}
		counted := -1 // the first was there before
		for range allOf(t, c.Surveys(ctx, stand)) {
			counted++
		}
		if counted != surveys[stand] {
			t.Errorf("%s was counted %d times, and has %d surveys", stand, surveys[stand], counted)
		}
	}
	if len(shares)+len(others) != 0 {
		t.Errorf("shares %v and cuts of others %v are not there", shares, others)
	}
	permit, err := c.Permit(ctx, "WV-1")
	if err != nil || permit.Drawn != models.DecimalOf(onPermit) {
		t.Errorf("%v stems are drawn on the permit and should be %d (%v)", permit.Drawn, onPermit, err)
	}
}

// allOf is what a list has, of which all has to be there.
func allOf[T any](t *testing.T, list api.All[T]) iter.Seq[T] {
	return func(yield func(T) bool) {
		for v, err := range list {
			if err != nil {
				t.Fatal(err)
			}
			if !yield(v) {
				return
			}
		}
	}
}

package nursery_test

import (
	"fmt"
	"maps"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/nursery"
)

// plainBatch is a batch as a plain reading of what was accepted has it.
type plainBatch struct {
	stand    string
	on       models.Date
	stems    int
	cuttings int
	of       string // the batch it was split off
	stuck    int
}

// corrector plays one history of corrections, on the nursery and in a plain map.
type corrector struct {
	*rapid.T
	h       *house
	stands  []string
	batches map[string]*plainBatch
	gone    map[string]bool
}

// TestBatchesAndLedgersAgreeAtEveryMoment plays random sequences of cuts, splits,
// stickings, corrections, moves and voids: after each step the ledger of every stand
// sums, day by day, to the batches there are; sisters are where their first is; and no
// code is given twice.
func TestBatchesAndLedgersAgreeAtEveryMoment(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		played := 0
		rapid.Check(h.t.(*testing.T), func(t *rapid.T) {
			if played++; played > *histories/2 { // each asks much after every step
				return
			}
			c := &corrector{T: t, h: h, batches: map[string]*plainBatch{}, gone: map[string]bool{}}
			for i := range 3 {
				c.stands = append(c.stands, fmt.Sprintf("C%d-%c", played, 'A'+i))
				h.stand(c.stands[i])
				h.census(c.stands[i], "2025-06-01", 3000) // 150 stems in a year
			}
			for range rapid.IntRange(5, 25).Draw(t, "steps") {
				c.step()
				c.compare()
			}
		})
	})
}

func (c *corrector) step() {
	what := rapid.IntRange(0, 9).Draw(c.T, "what")
	if what < 3 || len(c.batches) == 0 {
		c.log()
		return
	}
	code := rapid.SampledFrom(slices.Sorted(maps.Keys(c.batches))).Draw(c.T, "batch")
	switch what {
	case 3:
		c.split(code)
	case 4:
		c.stick(code)
	case 5:
		c.takeOut(code)
	case 6, 7, 8:
		c.correct(code)
	case 9:
		c.void(code)
	}
}

// day is one of two years.
func (c *corrector) day() models.Date {
	return date("2026-02-20").Add(-rapid.IntRange(0, 100).Draw(c.T, "days before"))
}

func (c *corrector) stand() string { return rapid.SampledFrom(c.stands).Draw(c.T, "stand") }

// passed says whether a step was done. What cannot be is refused in words, and nothing
// else may go wrong.
func (c *corrector) passed(err error, what string, codes ...string) bool {
	if err == nil {
		return true
	}
	e := models.AsError(err)
	if e == nil || !slices.Contains(codes, e.Code) {
		c.Fatalf("%s: %v", what, err)
	}
	return false
}

func (c *corrector) log() {
	b := &plainBatch{stand: c.stand(), on: c.day(), stems: rapid.IntRange(1, 60).Draw(c.T, "stems")}
	b.cuttings = 3 * b.stems
	view, err := c.h.LogBatch(c.h.ctx, unkeyed, cutOf(b.stand, b.on.String(), b.stems))
	if !c.passed(err, "log", "over-allowance") {
		return
	}
	c.add(view.Code, b)
}

func (c *corrector) add(code string, b *plainBatch) {
	if c.batches[code] != nil || c.gone[code] {
		c.Fatalf("the code %s is given twice", code)
	}
	c.batches[code] = b
}

func (c *corrector) split(code string) {
	b, n := c.batches[code], rapid.IntRange(1, 20).Draw(c.T, "split off")
	view, err := c.h.Split(c.h.ctx, unkeyed, code, models.NewSplit{On: date("2026-02-20"), Arms: []models.Arm{{Count: n}}})
	if c.passed(err, "split", "too-many-cuttings") {
		c.add(view.Sisters[0].Code, &plainBatch{stand: b.stand, on: b.on, cuttings: n, of: code})
	}
}

func (c *corrector) stick(code string) {
	b, n := c.batches[code], rapid.IntRange(1, 40).Draw(c.T, "stuck")
	_, err := c.h.Stick(c.h.ctx, unkeyed, code, models.NewSticking{StuckOn: date("2026-02-20"), Count: n})
	if c.passed(err, "stick", "too-many-cuttings", "already-stuck") {
		b.stuck = n
	}
}

// takeOut corrects the sticking of a batch, or takes it out.
func (c *corrector) takeOut(code string) {
	b := c.batches[code]
	view, err := c.h.Batch(c.h.ctx, code)
	if err != nil {
		c.Fatal(err)
	}
	if view.Sticking == nil {
		return
	}
	req := models.NewCorrection{Why: "a slip", Void: rapid.Bool().Draw(c.T, "void"), Entry: numberOf(c.T, view, "stuck ")}
	n := 0
	if !req.Void {
		n = rapid.IntRange(1, 60).Draw(c.T, "stuck after all")
		req.Changes.Count = models.SetTo(n)
	}
	_, err = c.h.Correct(c.h.ctx, unkeyed, code, req)
	if c.passed(err, "correct the sticking", "too-many-cuttings", "nothing-changes") {
		b.stuck = n
	}
}

// numberOf is the number of the entry whose sentence begins with some words.
func numberOf(t *rapid.T, b models.BatchView, words string) int {
	for _, l := range b.History {
		if len(l.Text) >= len(words) && l.Text[:len(words)] == words {
			return *l.Entry
		}
	}
	t.Fatalf("nothing in %+v begins with %q", b.History, words)
	return 0
}

func (c *corrector) correct(code string) {
	b := c.batches[code]
	is := *b
	req := models.NewCorrection{Why: "a slip"}
	if b.of != "" || rapid.Bool().Draw(c.T, "cuttings") {
		is.cuttings = rapid.IntRange(1, 150).Draw(c.T, "cuttings after all")
		req.Changes.Cuttings = models.SetTo(is.cuttings)
	}
	if b.of == "" {
		switch rapid.IntRange(0, 3).Draw(c.T, "of what") {
		case 0:
			is.stems = rapid.IntRange(1, 60).Draw(c.T, "stems after all")
			req.Changes.StemsCut = models.SetTo(is.stems)
		case 1:
			is.on = c.day()
			req.Changes.CollectedOn = models.SetTo(is.on)
		case 2:
			is.stand = c.stand()
			req.Changes.Stand = models.SetTo(is.stand)
		}
	}
	view, err := c.h.Correct(c.h.ctx, unkeyed, code, req)
	if !c.passed(err, fmt.Sprintf("correct %+v to %+v", *b, is), "over-allowance", "nothing-changes", "later-entry", "too-many-cuttings") {
		return
	}
	if view.Code != code {
		c.Fatalf("%s became %s", code, view.Code)
	}
	*b = is
	for _, s := range c.batches {
		if c.root(s) == code {
			s.stand, s.on = is.stand, is.on
		}
	}
}

// root is the code of the batch that holds the stems of a sister, or none.
func (c *corrector) root(b *plainBatch) string {
	code := b.of
	for code != "" && c.batches[code].of != "" {
		code = c.batches[code].of
	}
	return code
}

func (c *corrector) void(code string) {
	_, err := c.h.VoidBatch(c.h.ctx, unkeyed, code, models.NewVoid{Why: "logged twice"})
	if err != nil {
		c.Fatal(err)
	}
	below := map[string]bool{code: true}
	for range c.batches { // as deep as sisters of sisters go
		for other, b := range c.batches {
			if below[b.of] {
				below[other] = true
			}
		}
	}
	for gone := range below {
		delete(c.batches, gone)
		c.gone[gone] = true
	}
}

// compare holds batches and ledgers against the map.
func (c *corrector) compare() {
	for _, stand := range c.stands {
		want, got := map[models.Date]int{}, c.h.sumsOf(stand)
		held := 0
		for _, b := range c.batches {
			if b.stand == stand {
				held++
				want[b.on] += b.stems
			}
		}
		for _, sums := range []map[models.Date]int{want, got} {
			maps.DeleteFunc(sums, func(_ models.Date, n int) bool { return n == 0 })
		}
		if !maps.Equal(want, got) {
			c.Fatalf("the ledger of %s sums to %v, and the batches to %v", stand, got, want)
		}
		list := c.h.batchesOf(nursery.BatchQuery{Stand: stand})
		if len(list) != held {
			c.Fatalf("%s has %d batches, want %d", stand, len(list), held)
		}
		for _, s := range list {
			b := c.batches[s.Code]
			if b == nil || s.CollectedOn != b.on || s.StemsCut != b.stems || s.Cuttings != b.cuttings || s.Stuck != b.stuck {
				c.Fatalf("%+v, want %+v", s, b)
			}
		}
	}
}

package rules_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

// shareWorld is a stand with its whole ledger, entry by entry, as a store would keep
// it: the record that rules read is made from it anew before each step.
type shareWorld struct {
	stand   *models.StandRecord
	window  int
	entries []models.LedgerEntry
	shares  []models.Share
	today   models.Date
	drawnBy map[string]int // stems of batches by the share they name
}

func drawShareWorld(t *rapid.T) *shareWorld {
	w := &shareWorld{
		stand: standOf(), window: rapid.IntRange(3, 40).Draw(t, "window"), today: date("2026-01-10"), drawnBy: map[string]int{},
	}
	var plants []int
	if rapid.Bool().Draw(t, "plants counted") {
		plants = []int{rapid.IntRange(1, 12).Draw(t, "plants")}
	}
	counted("2025-12-01", fmt.Sprint(rapid.IntRange(100, 900).Draw(t, "bound")), plants...)(w.stand)
	w.stand.Rules[0].WindowDays = w.window
	return w
}

// sumOf is what the entries of a share sum to.
func (w *shareWorld) sumOf(share string) (stems, parents int) {
	for _, e := range w.entries {
		if e.ShareID != nil && *e.ShareID == share {
			stems, parents = stems+e.Stems, parents+e.Parents
		}
	}
	return stems, parents
}

func (w *shareWorld) record() *models.StandRecord {
	r := *w.stand
	r.Ledger = nil
	for _, e := range w.entries {
		r.Ledger = rules.WithStems(r.Ledger, models.LedgerDay{TakenOn: e.TakenOn, Stems: e.Stems, Parents: e.Parents})
	}
	for _, s := range w.shares {
		if s.EndedOn.IsZero() {
			stems, parents := w.sumOf(s.ID)
			r.Shares = append(r.Shares, models.OpenShare{Share: s, Left: stems, LeftParents: parents})
		}
	}
	return &r
}

// read is the record with what is over released, which is written down at once.
func (w *shareWorld) read() *models.StandRecord {
	r := w.record()
	over, entries := rules.ReleaseShares(r, w.today)
	w.entries = append(w.entries, entries...)
	for _, s := range over {
		w.end(s.ID)
	}
	return r
}

func (w *shareWorld) end(id string) {
	i := slices.IndexFunc(w.shares, func(s models.Share) bool { return s.ID == id })
	w.shares[i].EndedOn = w.today
}

func (w *shareWorld) set(t *rapid.T) {
	from := w.today.Add(rapid.IntRange(-3, 20).Draw(t, "from"))
	to := models.Later(from.Add(rapid.IntRange(0, 15).Draw(t, "days")), w.today)
	req := models.NewShare{
		Crew: "C", Stems: rapid.IntRange(1, 30).Draw(t, "stems"), Parents: ptr(rapid.IntRange(1, 12).Draw(t, "parents")), From: from, To: to, By: "OP",
	}
	share, _, err := rules.EnterShare(w.read(), req, w.today)
	if err != nil {
		return
	}
	share.ID = fmt.Sprintf("share-%d", len(w.shares))
	w.shares = append(w.shares, share)
	w.entries = append(w.entries, rules.SetAside(&share))
}

// log logs a batch, on a share or on none, and counts it as a nursery does.
func (w *shareWorld) log(t *rapid.T, r *models.StandRecord, share *models.OpenShare) {
	on := w.today.Add(-rapid.IntRange(0, 12).Draw(t, "days ago"))
	req := newBatch(func(b *models.NewBatch) {
		b.CollectedOn, b.StemsCut = on, rapid.IntRange(1, 25).Draw(t, "stems")
		b.ParentPlants = ptr(rapid.IntRange(1, 12).Draw(t, "parents"))
	})
	if share != nil {
		req.Share = share.ID
	}
	batch, _, err := rules.EnterBatch(r, req, w.today)
	switch {
	case share != nil && err != nil:
		w.wantReason(t, r, share, req, err)
		return
	case err != nil:
		return
	}
	batch.ID = fmt.Sprintf("batch-%d", len(w.entries))
	w.entries = append(w.entries, models.LedgerEntry{Kind: models.Cut, TakenOn: on, Stems: batch.StemsCut, Parents: *batch.ParentPlants})
	if share == nil {
		if batch.AwaitsReview {
			t.Errorf("a plain batch awaits review: %s", batch.RefusedBy)
		}
		rules.Take(r, &batch, nil)
		return
	}
	more := batch.StemsCut - share.Left
	if batch.AwaitsReview != (more > 0) || more > 0 && !strings.Contains(batch.RefusedBy, fmt.Sprintf("%d more than were set aside", more)) {
		t.Errorf("%d stems on %d left: to review %t, %q", batch.StemsCut, share.Left, batch.AwaitsReview, batch.RefusedBy)
	}
	w.drawnBy[share.ID] += batch.StemsCut
	w.entries = append(w.entries, rules.DrawShare(share, &batch))
	rules.Take(r, &batch, nil)
}

// wantReason wants a batch within its share to be refused for no more than a day that
// is none of the share's, or for coming from too few plants.
func (w *shareWorld) wantReason(t *rapid.T, r *models.StandRecord, share *models.OpenShare, req models.NewBatch, err error) {
	e := models.AsError(err)
	switch {
	case e.Code == "share-misfit" && !share.Covers(req.CollectedOn), req.StemsCut > share.Left, e.Binding != nil && e.Binding.Code == rules.RulePerPlant:
		return
	}
	t.Errorf("%d stems on %s are refused, with %d left of a share to %s: %v\n%+v", req.StemsCut, req.CollectedOn, share.Left, share.ToDay, err, r.Ledger)
}

func (w *shareWorld) step(t *rapid.T) {
	w.today = w.today.Add(rapid.IntRange(0, 3).Draw(t, "days pass"))
	what := rapid.SampledFrom([]string{"set", "set", "cut", "draw", "draw", "draw", "return"}).Draw(t, "what")
	if what == "set" {
		w.set(t)
		return
	}
	r := w.read()
	if what == "cut" {
		w.log(t, r, nil)
		w.sameAs(t, r)
		return
	}
	if len(r.Shares) == 0 {
		return
	}
	share := &r.Shares[rapid.IntRange(0, len(r.Shares)-1).Draw(t, "share")]
	if what == "draw" {
		w.log(t, r, share)
		w.sameAs(t, r)
		return
	}
	if entry, err := rules.ReturnShare(share, models.NewShareReturn{By: "RQ"}); err == nil {
		w.entries = append(w.entries, entry)
		w.end(share.ID)
	} else if share.Left > 0 {
		t.Errorf("%d left cannot be returned: %v", share.Left, err)
	}
}

// sameAs wants the record that a batch was counted into to be what a store would read.
func (w *shareWorld) sameAs(t *rapid.T, r *models.StandRecord) {
	want := w.record()
	bare := func(days []models.LedgerDay) []models.LedgerDay {
		return slices.DeleteFunc(slices.Clone(days), func(d models.LedgerDay) bool { return d.Stems == 0 && d.Parents == 0 })
	}
	if !slices.Equal(bare(r.Ledger), bare(want.Ledger)) {
		t.Errorf("the ledger is counted as\n%v, and reads\n%v", r.Ledger, want.Ledger)
	}
	for i := range want.Shares {
		if r.Shares[i].Left != want.Shares[i].Left || r.Shares[i].LeftParents != want.Shares[i].LeftParents {
			t.Errorf("a share is counted as %+v, and reads %+v", r.Shares[i], want.Shares[i])
		}
	}
}

func (w *shareWorld) check(t *rapid.T) {
	for _, s := range w.shares {
		stems, parents := w.sumOf(s.ID)
		switch {
		case stems < 0 || parents < 0 || stems > s.Stems || parents > s.Parents:
			t.Errorf("%d stems and %d plants are left of %+v", stems, parents, s)
		case !s.EndedOn.IsZero() && (stems != 0 || parents != 0):
			t.Errorf("%s has ended, and its entries sum to %d stems and %d plants", s.ID, stems, parents)
		case s.EndedOn.IsZero() && stems != max(0, s.Stems-w.drawnBy[s.ID]):
			t.Errorf("%d are left of %d, and batches took %d", stems, s.Stems, w.drawnBy[s.ID])
		}
	}
	var open []string
	for _, s := range w.shares {
		if s.EndedOn.IsZero() {
			open = append(open, s.ID)
		}
	}
	every := 1<<len(open) - 1
	for returned := range every + 1 {
		w.checkWindows(t, returned == every, func(e *models.LedgerEntry) bool {
			at := -1
			if e.ShareID != nil {
				at = slices.Index(open, *e.ShareID)
			}
			return at < 0 || returned&(1<<at) == 0
		})
	}
}

// checkWindows sums the windows of the entries that count, and holds them against the
// stand cap; where these are of cuts only, against the per-plant cap too. The plants of
// what is set aside are not known before it is cut.
func (w *shareWorld) checkWindows(t *rapid.T, cutOnly bool, counts func(*models.LedgerEntry) bool) {
	stems, parents := map[models.Date]int{}, map[models.Date]int{}
	for i := range w.entries {
		if e := &w.entries[i]; counts(e) {
			stems[e.TakenOn] += e.Stems
			parents[e.TakenOn] += e.Parents
		}
	}
	survey, rule := &w.stand.Surveys[0], w.stand.Rules[0]
	for day, some := range stems {
		if some == 0 {
			continue
		}
		taken := windowOf(stems, day, w.window)
		if limit := rule.StandCap.FloorMul(survey.LowerBound, 1, 1); taken > limit {
			t.Errorf("%d of %d stems in the window to %s", taken, limit, day)
		}
		if survey.Plants == nil || !cutOnly {
			continue
		}
		plants := min(*survey.Plants, windowOf(parents, day, w.window))
		if limit := rule.PerPlantCap.FloorMul(survey.LowerBound, plants, *survey.Plants); taken > limit {
			t.Errorf("%d of %d stems of %d plants in the window to %s", taken, limit, plants, day)
		}
	}
}

// In whatever order shares are set, drawn on, returned and released, and whichever of
// them are given back: no window holds more than a cap allows, what is left is never
// below nothing, what has ended sums to nothing, and a batch within its share passes.
func TestCrewSharesNeverOverfillAWindow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawShareWorld(t)
		for range rapid.IntRange(1, 25).Draw(t, "steps") {
			w.step(t)
			w.check(t)
			if t.Failed() {
				t.Fatalf("today %s, window %d, shares %+v", w.today, w.window, w.shares)
			}
		}
		w.today = w.today.Add(60)
		w.read()
		w.check(t)
	})
}

// What fitted as it was set aside fits as long as nothing but cuts that pass comes.
func TestAShareThatWasSetAsideFits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawShareWorld(t)
		for range rapid.IntRange(1, 15).Draw(t, "steps") {
			w.step(t)
			for _, text := range rules.Misfits(w.read(), w.today) {
				if !strings.Contains(text, "plants counted") {
					t.Fatal(text)
				}
			}
		}
	})
}

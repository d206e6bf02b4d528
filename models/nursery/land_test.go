package nursery_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
)

func (h *house) land(q nursery.LandQuery) models.Land {
	h.t.Helper()
	land, err := h.Land(h.ctx, q)
	return must(h, land, err)
}

// parks is the query for the land of the stands of these tests.
var parks = nursery.LandQuery{LandManager: "wrenlow valley  parks"}

// The page of a land manager equals the ledgers to the stem, whatever was entered,
// corrected and voided.
func TestThePageOfALandManagerEqualsTheLedger(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		first := h.log(cutOf("TB-01", "2026-02-10", 20))
		h.log(cutOf("TB-01", "2026-02-12", 30, alreadyCut))
		gone := h.log(cutOf("TB-02", "2026-02-12", 9))
		h.log(cutOf("TB-02", "2025-06-15", 3, alreadyCut)) // before the period
		must1(h, func() (models.OthersCutView, error) {
			return h.AddOthersCut(h.ctx, unkeyed, "TB-01", byOthers("2026-02-03", "2026-02-05", 5, 12))
		})
		must1(h, func() (models.OthersCutView, error) {
			req := byOthers("2026-01-03", "2026-01-05", 2, 4)
			req.Ours = true
			return h.AddOthersCut(h.ctx, unkeyed, "TB-02", req)
		})
		must1(h, func() (models.ShareView, error) {
			return h.AddShare(h.ctx, unkeyed, "TB-02", models.NewShare{Crew: "C", Stems: 6, From: date("2026-03-02"), To: date("2026-03-09"), By: "OP"})
		})
		must1(h, func() (models.BatchView, error) {
			return h.Correct(h.ctx, unkeyed, first.Code, models.NewCorrection{Changes: models.Changes{StemsCut: models.SetTo(18)}, Why: "counted again", By: "OP"})
		})
		must1(h, func() (models.BatchView, error) {
			return h.VoidBatch(h.ctx, unkeyed, gone.Code, models.NewVoid{Why: "entered twice", By: "OP"})
		})

		land := h.land(parks)
		if land.From != date("2025-07-01") || land.To != date("2026-06-30") || land.MadeOn != date("2026-03-01") || len(land.Stands) != 2 {
			h.t.Fatalf("%+v", land)
		}
		want := models.LandTotals{Ours: 52, Within: 18, Against: 30, Earlier: 4, Others: 12, SetAside: 6, All: 70}
		if land.Totals != want {
			h.t.Errorf("totals %+v, want %+v", land.Totals, want)
		}
		for _, s := range land.Stands {
			sums, entries, all := map[models.LedgerKind]int{}, map[models.LedgerKind]int{}, 0
			for _, line := range h.linesOf(s.Stand) {
				if line.TakenOn.Before(land.From) || line.TakenOn.After(land.To) {
					continue
				}
				all += line.Stems
				sums[line.Kind] += line.Stems
				entries[line.Kind]++
			}
			if s.Totals.All != all || len(s.Kinds) != len(sums) {
				h.t.Errorf("%s: %d stems on the page and %d on the ledger, kinds %+v", s.Stand, s.Totals.All, all, s.Kinds)
			}
			for _, k := range s.Kinds {
				if k.Stems != sums[k.Kind] || k.Entries != entries[k.Kind] {
					h.t.Errorf("%s: %+v, and the ledger has %d stems in %d entries", s.Stand, k, sums[k.Kind], entries[k.Kind])
				}
			}
		}
		whole := h.land(nursery.LandQuery{LandManager: "Wrenlow Valley Parks", From: date("2025-01-01"), To: date("2026-12-31")})
		onAll, _ := h.ledger("TB-01")
		onTwo, _ := h.ledger("TB-02")
		if whole.Totals.All != onAll+onTwo {
			h.t.Errorf("over all days %d stems, and the ledgers hold %d", whole.Totals.All, onAll+onTwo)
		}

		one := land.Stands[0]
		if one.Taken != 60 || one.Limit != 40 || one.Over != 20 || *one.Left != 0 || len(one.Beyond) != 1 {
			h.t.Fatalf("%+v", one)
		}
		if over := one.Beyond[0]; over.On != date("2026-02-12") || over.Within || !strings.Contains(over.By, "batch TB-01-2026-2") || over.Since != date("2026-03-01") {
			h.t.Errorf("%+v", over)
		}
		if two := land.Stands[1]; two.SetAside != 6 || len(two.Shares) != 1 || len(two.Beyond) != 0 || two.OpenFrom == nil {
			h.t.Errorf("%+v", two)
		}
	})
}

// What was within the allowance when it was cut, and is too much since, says since when.
func TestThePageSaysSinceWhenItIsTooMuch(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.log(cutOf("TB-01", "2026-02-10", 35))
		h.goTo("2026-03-05 10:00")
		must1(h, func() (models.OthersCutView, error) {
			return h.AddOthersCut(h.ctx, unkeyed, "TB-01", byOthers("2026-02-03", "2026-02-05", 5, 12))
		})
		land := h.land(parks)
		want := models.LandOver{On: date("2026-02-10"), Taken: 47, Limit: 40, Over: 7, Since: date("2026-03-05"), By: "the cut of others of 2026-02-05", Within: true}
		if got := land.Stands[0].Beyond; len(got) != 1 || got[0] != want {
			h.t.Errorf("%+v, want %+v", got, want)
		}
		if land.Totals.Within != 35 || land.Totals.Against != 0 {
			h.t.Errorf("%+v", land.Totals)
		}
	})
}

// The page names people by codes alone, to everyone, and holds no place by coordinates.
func TestThePageOfALandManagerIsVeiled(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.stand("XT-01", func(r *models.NewStand) {
			r.Sensitivity, r.Locality, r.Latitude, r.Longitude = models.ExtremeSensitivity, "behind the old weir", ptr(46.12345), ptr(-122.54321)
		})
		must1(h, func() (models.PersonView, error) {
			return h.AddPerson(h.ctx, unkeyed, models.NewPerson{Code: "RQ", Name: "Rowan Quill", Email: "rowan@wrenlow.example", Phone: "555 0117"})
		})
		named := func(r *models.NewBatch) { r.CollectedBy = "Tam Yarrow"; alreadyCut(r) }
		h.log(cutOf("TB-01", "2026-02-10", 45, named))
		h.log(cutOf("TB-01", "2026-02-11", 1, alreadyCut))
		must1(h, func() (models.NestCheckView, error) {
			return h.AddNestCheck(h.ctx, unkeyed, "TB-01", models.NewNestCheck{On: date("2026-02-20"), By: "Tam Yarrow"})
		})
		must1(h, func() (models.ToolCleaningView, error) {
			return h.LogToolCleaning(h.ctx, unkeyed, "TB-01", models.NewToolCleaning{On: date("2026-02-20"), By: "Tam Yarrow; RQ", How: "brushed"})
		})
		must1(h, func() (models.PermitView, error) {
			return h.AddPermit(h.ctx, unkeyed, models.NewPermit{Number: "WV-1", Stands: []string{"TB-01"}, PermitTerms: models.PermitTerms{
				Kind: models.PermitPaper, Issuer: "Wrenlow Valley Parks", ValidFrom: date("2026-01-01"), People: []string{"Sorrel Finch"}}, By: "OP"})
		})
		must1(h, func() (models.BatchView, error) {
			return h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-12", 1, named, func(r *models.NewBatch) { r.Permit = "WV-1" }))
		})
		for _, role := range []models.Role{"", models.Coordinator, models.Manager, models.Reader} {
			caller := models.Caller{Role: role}
			if role == models.Manager {
				caller.LandManager = "Wrenlow Valley Parks"
			}
			land, err := h.Land(nursery.As(h.ctx, caller), parks)
			must(h, land, err)
			text, err := json.Marshal(land)
			must(h, text, err)
			for _, secret := range []string{"Tam Yarrow", "Rowan Quill", "Sorrel Finch", "rowan@", "555 0117", "46.1", "122.5", "old weir", "AccountKey"} {
				if strings.Contains(string(text), secret) {
					h.t.Errorf("to %q the page says %q", role, secret)
				}
			}
			s := land.Stands[0]
			if s.Cuts[0].By != models.NotListed || s.Cuts[1].By != "RQ" || s.NestLook.CheckedBy != models.NotListed || s.Cuts[2].Permit != "WV-1" {
				h.t.Errorf("%+v", s)
			}
			if s.Cleaning == nil || s.Cleaning.CleanedBy != models.NotListed || s.Cuts[2].RefusedBy == "" {
				h.t.Errorf("%+v, %+v", s.Cleaning, s.Cuts[2])
			}
		}
	})
}

// A land manager sees their own land alone; others name a land manager or a place, and
// near names are told.
func TestWhoseLandThePageIsAbout(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.stand("NV-01", func(r *models.NewStand) { r.LandManager, r.Place = "Sorrel Flat Ditch Company", "Sedge Flat" })
		codes := func(l models.Land) (text string) {
			for _, s := range l.Stands {
				text += s.Stand + " "
			}
			return text
		}
		for q, want := range map[nursery.LandQuery]string{
			parks: "TB-01 ", {Place: "sedge flat"}: "NV-01 ", {Place: "Sedge Flat", LandManager: "sorrel flat ditch company"}: "NV-01 ",
		} {
			land := h.land(q)
			if got := codes(land); got != want {
				h.t.Errorf("%+v: %s", q, got)
			}
			if q.Place != "" && land.Place != "Sedge Flat" || q.Place != "" && q.LandManager != "" && land.LandManager != "Sorrel Flat Ditch Company" {
				h.t.Errorf("%+v is spelt %q, %q", q, land.LandManager, land.Place)
			}
		}
		for _, c := range []struct {
			q     nursery.LandQuery
			kind  models.Kind
			code  string
			words string
		}{
			{nursery.LandQuery{}, models.Invalid, "invalid", "say whose land"},
			{nursery.LandQuery{LandManager: "Wrenlow Vally Parks"}, models.Unknown, "unknown-land-manager", "Vally"},
			{nursery.LandQuery{Place: "Sedge Flats"}, models.Unknown, "unknown-place", "Sedge Flats"},
			{nursery.LandQuery{Place: "Sedge Flat", LandManager: "Wrenlow Valley Parks"}, models.Unknown, "unknown-place", "Sedge Flat"},
			{nursery.LandQuery{Place: "Sedge Flat", From: date("2026-02-01"), To: date("2026-01-01")}, models.Invalid, "out-of-order", "before the first day"},
		} {
			_, err := h.Land(h.ctx, c.q)
			h.refused(err, c.kind, c.code, c.words)
		}
		manager := nursery.As(h.ctx, models.Caller{Role: models.Manager, LandManager: "Sorrel Flat Ditch Company"})
		own, err := h.Land(manager, nursery.LandQuery{})
		if must(h, own, err); codes(own) != "NV-01 " || own.LandManager != "Sorrel Flat Ditch Company" {
			h.t.Errorf("their own: %+v", own)
		}
		_, err = h.Land(manager, parks)
		h.refused(err, models.Forbidden, "not-for-role")
		none, err := h.Land(manager, nursery.LandQuery{Place: "Wrenlow Bend"})
		if must(h, none, err); len(none.Stands) != 0 {
			h.t.Errorf("the land of others: %+v", none)
		}
	})
}

// The page takes as many statements for thirty stands as for one.
func TestThePageIsReadTogether(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-00")
		h.log(cutOf("TB-00", "2026-02-10", 3))
		statements := func() (n int) {
			_, err := h.Land(store.Watch(h.ctx, func(string) { n++ }), parks)
			must(h, 0, err)
			return n
		}
		one := statements()
		for i := 1; i < 30; i++ {
			code := fmt.Sprintf("TB-%02d", i)
			h.stand(code)
			h.census(code, "2026-01-01", 800)
			h.log(cutOf(code, "2026-02-10", 3))
		}
		if thirty := statements(); one != thirty || one == 0 {
			h.t.Errorf("%d statements for one stand, and %d for thirty", one, thirty)
		}
	})
}

// TestLandAsItWasKnown makes the page on a later day as it was known before a correction,
// a cleaning of tools and a count that was voided.
func TestLandAsItWasKnown(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01") // today is 2026-03-01
		batch := h.log(cutOf("TB-01", "2026-02-10", 20))
		h.goTo("2026-03-05 10:00")
		must1(h, func() (models.BatchView, error) {
			return h.Correct(h.ctx, unkeyed, batch.Code, models.NewCorrection{Changes: models.Changes{StemsCut: models.SetTo(18)}, Why: "counted again", By: "OP"})
		})
		must1(h, func() (models.ToolCleaningView, error) {
			return h.LogToolCleaning(h.ctx, unkeyed, "TB-01", models.NewToolCleaning{On: date("2026-02-28"), By: "RQ", How: "alcohol"})
		})
		then := parks
		then.KnownOn = date("2026-03-01")
		for _, c := range []struct {
			q       nursery.LandQuery
			known   models.Date
			stems   int
			entries int
			cleaned bool
		}{{then, date("2026-03-01"), 20, 1, false}, {parks, models.Date{}, 18, 2, true}} {
			land := h.land(c.q)
			s := land.Stands[0]
			if land.MadeOn != date("2026-03-05") || land.KnownOn != c.known || land.Totals.All != c.stems || s.Taken != c.stems || len(s.Cuts) != c.entries || (s.Cleaning != nil) != c.cleaned {
				h.t.Errorf("as known on %s: %+v, %+v", c.known, land.Totals, s)
			}
		}
		then.KnownOn = date("2026-02-28")
		_, err := h.Land(h.ctx, then)
		h.refused(err, models.Invalid, "not-known-then", "no such stand had been entered")
		then.KnownOn = date("2026-03-06")
		_, err = h.Land(h.ctx, then)
		h.refused(err, models.Invalid, "in-the-future")
	})
}

package rules_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

// loggedAt is a batch of 24 stems and 72 cuttings of a stand, on 17 January, that counts
// there.
func loggedAt(stand *models.StandRecord, change ...func(*models.BatchRecord)) *models.BatchRecord {
	r := &models.BatchRecord{Stand: stand.Code, Taxon: stand.Taxon, Batch: models.Batch{
		ID: "batch", HarvestID: "batch", Code: "TB-01-2026-1", StandID: stand.ID, TaxonID: stand.TaxonID, Year: 2026, Number: 1,
		CollectedOn: date("2026-01-17"), WaitingFrom: date("2026-01-17"), StemsCut: 24, Cuttings: 72, CollectedBy: "RQ",
		Identification: models.Unconfirmed, Purpose: models.Rooting, Active: true, Version: 1,
	}}
	for _, c := range change {
		c(r)
	}
	rules.Take(stand, &r.Batch, r.Parents)
	return r
}

func correctionOf(change func(*models.Changes)) models.NewCorrection {
	req := models.NewCorrection{Why: "counted again", By: "OP"}
	change(&req.Changes)
	return req
}

// correctCut corrects a batch of a stand as a use case does.
func correctCut(stand *models.StandRecord, r *models.BatchRecord, change func(*models.Changes)) (rules.CutCorrection, error) {
	rules.TakeOut(stand, r, nil)
	return rules.CorrectCut(r, stand, stand, correctionOf(change), date("2026-01-20"))
}

// 0.05 of 800 is 40, and 0.1 per plant: 24 of 12 counted plants of 40 may be 24.
func TestWhatACorrectionOfACutAsks(t *testing.T) {
	stems := func(n int) func(*models.Changes) {
		return func(c *models.Changes) { c.StemsCut = models.SetTo(n) }
	}
	toReview := func(r *models.BatchRecord) {
		r.AwaitsReview, r.AlreadyCut, r.Reason, r.RefusedBy, r.StemsCut = true, true, "two crews", "over the stand cap", 60
	}
	cases := []struct {
		name   string
		stand  *models.StandRecord
		batch  func(*models.BatchRecord)
		change func(*models.Changes)
		code   string // of the refusal; none where it passes
		review bool
	}{
		{"more, within the cap", standOf(counted("2025-09-12", "800")), nil, stems(40), "", false},
		{"more than the cap", standOf(counted("2025-09-12", "800")), nil, stems(41), "over-allowance", false},
		{"more beside others", standOf(counted("2025-09-12", "800"), taken("2026-01-10", 10)), nil, stems(31), "over-allowance", false},
		{"more than a later cut leaves", standOf(counted("2025-09-12", "800"), taken("2026-01-19", 10)), nil, stems(31), "over-allowance", false},
		{"more, after a flood", standOf(counted("2025-09-12", "800"), disturbed("2026-01-10")), nil, stems(25), "survey-expired", false},
		{"fewer, after a flood", standOf(counted("2025-09-12", "800"), disturbed("2026-01-10")), nil, stems(23), "", false},
		{"fewer of a stand never counted", standOf(), nil, stems(23), "", false},
		{"more of a stand never counted", standOf(), nil, stems(25), "before-first-survey", false},
		{"an earlier day", standOf(counted("2026-01-16", "800")), nil, func(c *models.Changes) { c.CollectedOn = models.SetTo(date("2026-01-15")) }, "before-first-survey", false},
		{"another day, of the same window", standOf(counted("2025-09-12", "480")), nil, func(c *models.Changes) { c.CollectedOn = models.SetTo(date("2026-01-15")) }, "", false},
		{"fewer plants than can bear it", standOf(counted("2025-09-12", "800", 40)), func(r *models.BatchRecord) { r.ParentPlants = ptr(12) }, func(c *models.Changes) { c.ParentPlants = models.SetTo(11) }, "over-allowance", false},
		{"fewer plants that can bear it", standOf(counted("2025-09-12", "800", 40), disturbed("2026-01-10")), func(r *models.BatchRecord) { r.ParentPlants = ptr(20) }, func(c *models.Changes) { c.ParentPlants = models.SetTo(12) }, "", false},
		{"more plants", standOf(counted("2025-09-12", "800", 40), disturbed("2026-01-10")), func(r *models.BatchRecord) { r.ParentPlants = ptr(12) }, func(c *models.Changes) { c.ParentPlants = models.SetTo(13) }, "", false},
		{"no plants said, of a late count of plants", standOf(counted("2025-09-12", "800", 40)), nil, stems(23), "", false},
		{"fewer, and still to review", standOf(counted("2025-09-12", "800")), toReview, stems(50), "", true},
		{"fewer, and within every rule", standOf(counted("2025-09-12", "800")), toReview, stems(40), "", false},
		{"a note, and still to review", standOf(counted("2025-09-12", "8000")), toReview, func(c *models.Changes) { c.Note = models.SetTo("north end") }, "", true},
		{"another cutter of no permit", standOf(disturbed("2026-01-10")), nil, func(c *models.Changes) { c.CollectedBy = models.SetTo("TS") }, "", false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var change []func(*models.BatchRecord)
			if c.batch != nil {
				change = append(change, c.batch)
			}
			r := loggedAt(c.stand, change...)
			made, err := correctCut(c.stand, r, c.change)
			if e := models.AsError(err); c.code != "" {
				if e == nil || e.Code != c.code {
					t.Errorf("%v, want %s", err, c.code)
				}
				return
			}
			if err != nil || made.Batch.AwaitsReview != c.review || made.Batch.ID != r.ID || made.Batch.Version != r.Version {
				t.Errorf("%v: %+v", err, made.Batch)
			}
			if _, told := made.After["to_review"]; told != (c.review != r.AwaitsReview) {
				t.Errorf("it says %v", made.After)
			}
		})
	}
}

// Shares of the stand are worked out anew where the cut changes, and kept otherwise.
func TestWhatACorrectionWorksOutAnew(t *testing.T) {
	stand := standOf(counted("2025-09-12", "800"), taken("2026-01-10", 10))
	r := loggedAt(stand, func(r *models.BatchRecord) { r.HarvestFraction, r.SurveyID = ptr(0.5), ptr("a survey of before") })
	made, err := correctCut(stand, r, func(c *models.Changes) { c.Note = models.SetTo("north end") })
	if err != nil || *made.Batch.HarvestFraction != 0.5 || *made.Batch.SurveyID != "a survey of before" {
		t.Errorf("%v: %+v", err, made.Batch)
	}
	stand = standOf(counted("2025-09-12", "800"), taken("2026-01-10", 10))
	r = loggedAt(stand)
	made, err = correctCut(stand, r, func(c *models.Changes) { c.StemsCut = models.SetTo(20) })
	if err != nil || *made.Batch.HarvestFraction != 0.025 || *made.Batch.StandFraction != 0.0375 || *made.Batch.SurveyID != "survey of 2025-09-12" {
		t.Errorf("%v: %+v", err, made.Batch)
	}
	if diff := cmp.Diff(map[string]any{"stems_cut": 24.0}, made.Before); diff != "" {
		t.Error(diff)
	}
}

// A stand at rest since a batch was cut over a limit there is not at rest for that
// batch's own correction; another stand takes its taxon.
func TestABatchIsJudgedWithoutWhatItBegan(t *testing.T) {
	stand := standOf(counted("2025-09-12", "800"), func(r *models.StandRecord) {
		r.Rests = []models.Rest{{StartsOn: date("2026-01-18"), Why: "cut over a limit", BatchID: ptr("batch")}}
	})
	made, err := correctCut(stand, loggedAt(stand), func(c *models.Changes) { c.CollectedOn = models.SetTo(date("2026-01-19")) })
	if err != nil || made.Batch.CollectedOn != date("2026-01-19") || made.Batch.WaitingFrom != date("2026-01-19") {
		t.Errorf("%v: %+v", err, made.Batch)
	}
	other := standOf(counted("2025-09-12", "800"), func(r *models.StandRecord) {
		r.ID, r.Code, r.TaxonID = "other", "TW-01", "willow"
	})
	r := loggedAt(stand)
	rules.TakeOut(stand, r, nil)
	made, err = rules.CorrectCut(r, stand, other, correctionOf(func(c *models.Changes) { c.Stand = models.SetTo("tw-01") }), date("2026-01-20"))
	if err != nil || made.Batch.StandID != "other" || made.Batch.TaxonID != "willow" || made.After["stand"] != "TW-01" {
		t.Errorf("%v: %+v", err, made)
	}
}

// What a batch took is taken out to the last stem, plant and draw: whatever else a stand
// has, it is as it was before.
func TestWhatABatchTookIsTakenOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stand := standOf(counted("2025-09-12", "800", 40))
		number := func(most int, what string) int { return rapid.IntRange(0, most).Draw(t, what) }
		for range number(5, "days") {
			taken(date("2026-01-01").Add(number(30, "on")).String(), 1+number(9, "stems"), number(4, "plants"))(stand)
		}
		permit := models.Permit{ID: "permit", Drawn: models.DecimalOf(number(20, "drawn"))}
		stand.Permits = []models.Permit{permit}
		stand.Shares = []models.OpenShare{{Share: models.Share{ID: "share", StandID: "stand", FromDay: date("2026-01-16"), ToDay: date("2026-01-20")}, Left: number(40, "left"), LeftParents: number(8, "plants left")}}
		before := *stand
		before.Ledger, before.Permits, before.Shares = slices.Clone(stand.Ledger), slices.Clone(stand.Permits), slices.Clone(stand.Shares)
		r := &models.BatchRecord{Batch: models.Batch{ID: "batch", StandID: "stand", CollectedOn: date("2026-01-17"), StemsCut: 1 + number(30, "cut"), ParentPlants: ptr(1 + number(5, "cut from"))}}
		if rapid.Bool().Draw(t, "on the permit") {
			r.PermitID, r.PermitQuantity = ptr("permit"), models.DecimalOf(r.StemsCut)
			stand.Permits[0].Drawn += r.PermitQuantity
		}
		var drawn []models.LedgerEntry
		if rapid.Bool().Draw(t, "on the share") {
			r.ShareID = ptr("share")
			drawn = append(drawn, rules.DrawShare(&stand.Shares[0], &r.Batch))
		}
		for i := range number(3, "tagged") {
			r.Parents = append(r.Parents, models.Parent{Tag: string(rune('A' + i)), Stems: 1})
		}
		rules.Take(stand, &r.Batch, r.Parents)
		rules.TakeOut(stand, r, drawn)
		stand.Ledger = slices.DeleteFunc(stand.Ledger, func(d models.LedgerDay) bool { return d.Stems == 0 && d.Parents == 0 })
		if diff := cmp.Diff(before, *stand, cmp.Comparer(func(a, b models.Date) bool { return a == b }), cmp.Comparer(slices.Equal[[]models.ParentDay]), cmp.Comparer(slices.Equal[[]models.LedgerDay])); diff != "" {
			t.Fatal(diff)
		}
	})
}

// The lines of a correction give back what was taken and take what is taken now, one for
// each stand, share and day, naming the last line of that place.
func TestTheLedgerOfACorrection(t *testing.T) {
	here := standOf(func(r *models.StandRecord) {
		r.Shares = []models.OpenShare{{Share: models.Share{ID: "share", StandID: "stand", Crew: "C", FromDay: date("2026-01-16"), ToDay: date("2026-01-20")}, Left: 10, LeftParents: 2}}
	})
	there := standOf(func(r *models.StandRecord) { r.ID = "other" })
	cut := []models.LedgerEntry{{ID: "e1", StandID: "stand", TakenOn: date("2026-01-17"), Stems: 24, Parents: 3}}
	drawn := append(slices.Clone(cut), models.LedgerEntry{ID: "e2", StandID: "stand", ShareID: ptr("share"), TakenOn: date("2026-01-16"), Stems: -10, Parents: -2})
	stems := func(n int) func(*models.Batch) { return func(b *models.Batch) { b.StemsCut = n } }
	for _, c := range []struct {
		name    string
		share   bool
		entries []models.LedgerEntry
		to      *models.StandRecord
		after   func(*models.Batch)
		want    string
	}{
		{"nothing changed", false, cut, here, func(*models.Batch) {}, ""},
		{"fewer", false, cut, here, stems(20), "stand 2026-01-17 -4 0 e1"},
		{"more, of more plants", false, cut, here, func(b *models.Batch) { b.StemsCut, b.ParentPlants = 30, ptr(5) }, "stand 2026-01-17 6 2 e1"},
		{"another day", false, cut, here, func(b *models.Batch) { b.CollectedOn = date("2026-01-10") }, "stand 2026-01-17 -24 -3 e1; stand 2026-01-10 24 3 -"},
		{"another stand", false, cut, there, func(b *models.Batch) { b.StandID = "other" }, "stand 2026-01-17 -24 -3 e1; other 2026-01-17 24 3 -"},
		{"never was", false, cut, here, nil, "stand 2026-01-17 -24 -3 e1"},
		{"less of a share", true, drawn, here, func(b *models.Batch) { b.StemsCut, b.ShareID = 8, ptr("share") }, "stand 2026-01-17 -16 0 e1; share 2026-01-16 2 0 e2"},
		{"of no share", true, drawn, here, func(b *models.Batch) { b.ShareID = nil }, "share 2026-01-16 10 2 e2"},
		{"never was, of a share", true, drawn, here, nil, "stand 2026-01-17 -24 -3 e1; share 2026-01-16 10 2 e2"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := loggedAt(standOf(), func(r *models.BatchRecord) { r.ParentPlants = ptr(3) })
			if c.share {
				r.ShareID = ptr("share")
			}
			var after *models.Batch
			if c.after != nil {
				b := r.Batch
				c.after(&b)
				after = &b
			}
			var got []string
			for _, e := range rules.LedgerOf(r, after, c.entries, here, c.to) {
				where, corrects := e.StandID, "-"
				if e.ShareID != nil {
					where = *e.ShareID
				}
				if e.Corrects != nil {
					corrects = *e.Corrects
				}
				got = append(got, strings.Join([]string{where, e.TakenOn.String(), models.DecimalOf(e.Stems).String(), models.DecimalOf(e.Parents).String(), corrects}, " "))
			}
			if text := strings.Join(got, "; "); text != c.want {
				t.Errorf("the lines are %q, want %q", text, c.want)
			}
		})
	}
}

// Sisters follow where they said what the batch said before, and keep what is theirs.
func TestSistersFollowTheirHarvest(t *testing.T) {
	was := loggedAt(standOf()).Batch
	was.Kind, was.LengthCM, was.Note = models.Hardwood, ptr(20.0), "north end"
	is := was
	is.StandID, is.Year, is.CollectedOn, is.WaitingFrom, is.CollectedBy, is.Kind, is.LengthCM, is.Note = "other", 2025, date("2025-12-30"), date("2025-12-30"), "TS", models.Softwood, nil, "west end"
	sister := &models.BatchRecord{Stand: "TB-01", Batch: was}
	sister.ID, sister.SplitFromID, sister.StemsCut, sister.Note, sister.WaitingFrom = "sister", ptr("batch"), 0, "her own", date("2026-01-18")
	before, after, err := rules.Follow(sister, &was, &is, "TB-02", models.Taxon{})
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]any{"stand": "TB-02", "collected_on": "2025-12-30", "collected_by": "TS", "kind": "softwood"}
	if diff := cmp.Diff(want, after); diff != "" {
		t.Error(diff)
	}
	if names := slices.Sorted(maps.Keys(before)); !slices.Equal(names, []string{"collected_by", "collected_on", "kind", "length_cm", "stand"}) {
		t.Errorf("before it said %v", before)
	}
	b := sister.Batch
	if b.StandID != "other" || b.Year != 2025 || b.LengthCM != nil || b.Note != "her own" || b.WaitingFrom != date("2026-01-18") || b.StemsCut != 0 || sister.Stand != "TB-02" {
		t.Errorf("%+v", b)
	}
}

// What is asked of an entry and given back as it stands is the same entry: nothing is
// lost between a record and the form it is corrected in.
func TestACorrectionOfOneFieldLeavesTheOthers(t *testing.T) {
	r := loggedAt(standOf(), func(r *models.BatchRecord) { r.Version = 8 })
	tray := models.Tray{
		Treatment: &models.Treatment{SoakDays: ptr(2.0), Auxin: "IBA", AuxinPPM: ptr(3000.0), AuxinForm: "talc"}, Medium: "perlite", Container: "flat",
		Bench: "B2", BottomHeat: &models.BottomHeat{Recorded: true, Heated: true, Celsius: 21}, Mist: true, StuckBy: "RQ",
	}
	r.Moves = []models.Move{{ID: "m", MovedOn: date("2026-01-17"), To: models.ToLost, Count: 2, Cause: models.Dried, Entry: 2}}
	r.Sticking = &models.Sticking{BatchID: "batch", StuckOn: date("2026-01-18"), Count: 60, Tray: tray, Label: tray.TreatmentLabel(), Entry: 3}
	r.Checks = []models.Check{{ID: "c", CheckedOn: date("2026-02-07"), Rooted: ptr(31), PottingRoots: ptr(18), Overlong: ptr(1), Unrooted: ptr(25), Lost: models.Losses{models.Mould: 3},
		LostRooted: models.Losses{}, Withdrawn: 1, CheckedBy: "RQ", Method: models.Tug, Note: "leaves", Entry: 4}}
	r.Pottings = []models.Potting{{ID: "p", PottedOn: date("2026-02-10"), Count: 10, Container: "pot", Medium: "bark", Bench: "Yard 1", PottedBy: "RQ", Entry: 5}}
	r.Decisions = []models.Decision{{ID: "d", DecidedOn: date("2026-02-11"), Action: models.Keep, UntilDay: date("2026-03-11"), DecidedBy: "OP", Why: "callus", Entry: 6}}
	same := cmp.Comparer(func(a, b models.Date) bool { return a == b })
	for _, c := range []struct {
		entry  int
		change func(*models.Changes)
		want   func(*models.BatchRecord)
	}{
		{2, func(c *models.Changes) { c.Count = models.SetTo(1) }, func(w *models.BatchRecord) { w.Moves[0].Count = 1 }},
		{3, func(c *models.Changes) { c.StuckBy = models.SetTo("TS") }, func(w *models.BatchRecord) { w.Sticking.StuckBy = "TS" }},
		{4, func(c *models.Changes) { c.Note = models.SetTo("first leaves") }, func(w *models.BatchRecord) { w.Checks[0].Note = "first leaves" }},
		{5, func(c *models.Changes) { c.Count = models.SetTo(9) }, func(w *models.BatchRecord) { w.Pottings[0].Count = 9 }},
		{6, func(c *models.Changes) { c.Why = models.SetNull[string]() }, func(w *models.BatchRecord) { w.Decisions[0].Why = "" }},
	} {
		req := correctionOf(c.change)
		req.Entry = c.entry
		made, err := rules.CorrectEntry(r, req, date("2026-03-01"))
		if err != nil {
			t.Errorf("entry %d: %v", c.entry, err)
			continue
		}
		want := r.Copy()
		want.Moves = slices.Clone(r.Moves)
		c.want(want)
		if diff := cmp.Diff(want, made.With, same); diff != "" {
			t.Errorf("entry %d differs besides:\n%s", c.entry, diff)
		}
		if len(made.Before)+len(made.After) > 2 {
			t.Errorf("entry %d changes %v to %v", c.entry, made.Before, made.After)
		}
	}
	if len(r.Corrections) != 0 || r.Checks[0].Note != "leaves" {
		t.Error("the record itself was changed")
	}
}

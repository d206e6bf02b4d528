package rules_test

import (
	"strings"
	"testing"
	"time"

	"withybed/models"
	"withybed/models/rules"
)

// The days of these tests: a share of the last week of January, with today before it.
var shareToday = date("2026-01-20")

func newShare(change ...func(*models.NewShare)) models.NewShare {
	req := models.NewShare{Crew: " C ", Stems: 10, From: date("2026-01-24"), To: date("2026-01-31"), Note: "north  bank", By: "OP"}
	for _, c := range change {
		c(&req)
	}
	return req
}

// held puts a share on a stand, with its stems on the ledger.
func held(id, crew, from, to string, left, plants int) func(*models.StandRecord) {
	return func(r *models.StandRecord) {
		r.Shares = append(r.Shares, models.OpenShare{Left: left, LeftParents: plants, Share: models.Share{
			ID: id, StandID: "stand", Crew: crew, Stems: left + 5, Parents: plants, FromDay: date(from), ToDay: date(to), EnteredAt: time.Unix(1000, 0),
		}})
		r.Ledger = rules.WithStems(r.Ledger, models.LedgerDay{TakenOn: date(from), Stems: left, Parents: plants})
	}
}

func heldByC(r *models.StandRecord) { held("s-1", "C", "2026-01-24", "2026-01-31", 10, 0)(r) }

func restFrom(from, to string, entered int64) func(*models.StandRecord) {
	return func(r *models.StandRecord) {
		rest := models.Rest{ID: "rest", StartsOn: date(from), Why: "flooded", SetAt: time.Unix(entered, 0), EnteredAt: time.Unix(entered, 0)}
		if to != "" {
			rest.EndsOn = date(to)
		}
		r.Rests = append(r.Rests, rest)
	}
}

func needsPermit(r *models.StandRecord) { r.PermitRequired = models.PermitNeeded }

func withAuthority(r *models.StandRecord) {
	r.Permits = append(r.Permits, models.Permit{ID: "p", Number: "WV-1", NumberKey: "wv-1", StandIDs: []string{"stand"}, PermitTerms: models.PermitTerms{
		Kind: models.PermitPaper, Issuer: "Wrenlow Valley Parks", Authority: "valley conservation board", ValidFrom: date("2026-01-01"),
	}})
}

func TestStemsAreSetAside(t *testing.T) {
	stand := standOf(counted("2026-01-01", "800"), taken("2026-01-10", 30))
	share, warnings, err := rules.EnterShare(stand, newShare(), shareToday)
	if err != nil || len(warnings) > 0 {
		t.Fatal(warnings, err)
	}
	want := models.Share{StandID: "stand", Crew: "C", Stems: 10, FromDay: date("2026-01-24"), ToDay: date("2026-01-31"), Note: "north bank", SetBy: "OP"}
	if share != want {
		t.Errorf("%+v", share)
	}
	share.ID = "s-1"
	entry := rules.SetAside(&share)
	if entry.Kind != models.ShareSet || entry.TakenOn != want.FromDay || entry.Stems != 10 || *entry.ShareID != "s-1" || entry.EnteredBy != "OP" || entry.Why != "set aside for C to 2026-01-31" {
		t.Errorf("%+v", entry)
	}
	if leave := rules.LeaveFor(stand, &share); leave != "Leave to cut is not on file: ask the land manager (Wrenlow Valley Parks)." {
		t.Error(leave)
	}
}

// Every rule is asked for every day of a share, but for the permit.
func TestWhatIsNotSetAside(t *testing.T) {
	good := counted("2026-01-01", "800")
	for _, c := range []struct {
		name  string
		stand *models.StandRecord
		code  string
		says  string
	}{
		{"more than is left", standOf(good, taken("2026-01-10", 31)), "over-allowance", "10 stems of TB-01 on 2026-01-24 are refused: 31 of 40 stems"},
		{"more than a day to come leaves", standOf(good, taken("2026-03-10", 31)), "over-allowance", "days to 2026-03-10"},
		{"beside another share", standOf(good, held("s-1", "D", "2026-02-10", "2026-02-12", 31, 0)), "over-allowance", "31 of 40 stems are taken, 31 of them set aside for crews, in the 350 days to 2026-02-10"},
		{"from too few plants", standOf(counted("2026-01-01", "800", 100)), "over-allowance", "1 of the 100 plants"},
		{"closed from its first day", standOf(good, shut(models.Closure{From: "01-20", To: "03-31", EveryYear: true})), "closed-season", "on 2026-01-24"},
		{"closed on its last day", standOf(good, shut(models.Closure{From: "01-31", To: "03-31", EveryYear: true})), "closed-season", "on 2026-01-31 are refused"},
		{"closed on one day", standOf(good, shut(models.Closure{From: "2026-01-27", To: "2026-01-27"})), "closed-season", "on 2026-01-27 are refused"},
		{"counted too long ago", standOf(counted("2024-09-14", "800")), "survey-expired", "on 2026-01-28 are refused"},
		{"flooded", standOf(good, disturbed("2026-01-05")), "survey-expired", "count the stand again"},
		{"at rest", standOf(good, restFrom("2026-01-29", "2026-02-04", 0)), "at-rest", "on 2026-01-29 are refused"},
		{"protected", standOf(good, protected), "protected", "no authority"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, err := rules.EnterShare(c.stand, newShare(func(r *models.NewShare) { r.Parents = ptr(1) }), shareToday)
			e := models.AsError(err)
			if e == nil || e.Kind != models.Refused || e.Code != c.code || e.Allowed == nil || e.Binding == nil {
				t.Fatalf("%v", err)
			}
			if !strings.Contains(e.Detail, c.says) || !strings.HasPrefix(e.Detail, "nothing is set aside for C: ") {
				t.Error(e.Detail)
			}
		})
	}
	for name, stand := range map[string]*models.StandRecord{
		"without a permit": standOf(good, needsPermit), "protected, with an authority": standOf(good, protected, withAuthority),
		"closed the day after": standOf(good, shut(models.Closure{From: "02-01", To: "03-31", EveryYear: true})),
		"all that is left":     standOf(good, taken("2026-01-10", 30)),
	} {
		if _, _, err := rules.EnterShare(stand, newShare(), shareToday); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestWhatIsNoShare(t *testing.T) {
	good, plants := standOf(counted("2026-01-01", "800")), standOf(counted("2026-01-01", "800", 40))
	for _, c := range []struct {
		name   string
		stand  *models.StandRecord
		change func(*models.NewShare)
		code   string
		field  string
	}{
		{"for nobody", good, func(r *models.NewShare) { r.Crew = " " }, "invalid", "crew"},
		{"for a long name", good, func(r *models.NewShare) { r.Crew = strings.Repeat("x", models.MaxCrew+1) }, "invalid", "crew"},
		{"of no stems", good, func(r *models.NewShare) { r.Stems = 0 }, "invalid", "stems"},
		{"of no plants", good, func(r *models.NewShare) { r.Parents = ptr(0) }, "invalid", "parents"},
		{"of plants not said", plants, func(*models.NewShare) {}, "parents-missing", "parents"},
		{"from no day", good, func(r *models.NewShare) { r.From = models.Date{} }, "invalid", "from"},
		{"to no day", good, func(r *models.NewShare) { r.To = models.Date{} }, "invalid", "to"},
		{"that ends before it begins", good, func(r *models.NewShare) { r.To = date("2026-01-23") }, "out-of-order", "to"},
		{"that is past", good, func(r *models.NewShare) { r.From, r.To = date("2026-01-10"), date("2026-01-19") }, "invalid", "to"},
		{"of more than half a year", good, func(r *models.NewShare) { r.To = r.From.Add(184) }, "invalid", "to"},
		{"before the first count", good, func(r *models.NewShare) { r.From = date("2025-12-31") }, "before-first-survey", "from"},
		{"of a stand never counted", standOf(), func(*models.NewShare) {}, "before-first-survey", "from"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, err := rules.EnterShare(c.stand, newShare(c.change), shareToday)
			e := models.AsError(err)
			if e == nil || e.Kind != models.Invalid || e.Code != c.code || len(e.Fields) != 1 || e.Fields[0].Name != c.field {
				t.Errorf("%+v", err)
			}
		})
	}
	long := newShare(func(r *models.NewShare) { r.To = r.From.Add(183) })
	if _, _, err := rules.EnterShare(good, long, shareToday); err != nil {
		t.Errorf("half a year: %v", err)
	}
	begun := newShare(func(r *models.NewShare) { r.From, r.To = date("2026-01-18"), shareToday })
	if _, _, err := rules.EnterShare(good, begun, shareToday); err != nil {
		t.Errorf("a crew that left two days ago: %v", err)
	}
}

func TestWhatAShareWarnsOf(t *testing.T) {
	stand := standOf(counted("2026-01-01", "800", 8), heldByC)
	req := newShare(func(r *models.NewShare) { r.Parents = ptr(12) })
	_, warnings, err := rules.EnterShare(stand, req, shareToday)
	if err != nil || len(warnings) != 3 {
		t.Fatal(warnings, err)
	}
	for i, says := range []string{"12 plants are more than the 10 stems", "more than the 8 counted on 2026-01-01", "C has a share here from 2026-01-24 to 2026-01-31 already, with 10 left: batches have to name the share by its identifier, s-1"} {
		if !strings.Contains(warnings[i], says) {
			t.Errorf("%q does not say %q", warnings[i], says)
		}
	}
}

func onShare(name string) func(*models.NewBatch) {
	return func(r *models.NewBatch) {
		r.Share, r.CollectedOn, r.StemsCut, r.Cuttings = name, date("2026-01-25"), 8, 24
	}
}

func stems(n int) func(*models.NewBatch) {
	return func(r *models.NewBatch) { r.StemsCut, r.Cuttings = n, 3*n }
}

func cutOn(day string) func(*models.NewBatch) {
	return func(r *models.NewBatch) { r.CollectedOn = date(day) }
}

// What a batch draws on its share was counted as it was set aside: it passes, whatever
// was taken since.
func TestABatchDrawsOnItsShare(t *testing.T) {
	good := counted("2026-01-01", "800")
	for name, stand := range map[string]*models.StandRecord{
		"a stand with room":     standOf(good, heldByC),
		"a stand that is full":  standOf(good, heldByC, taken("2026-01-10", 30)),
		"a stand over its cap":  standOf(good, heldByC, taken("2026-01-28", 50)),
		"a stand at a new rest": standOf(good, heldByC, restFrom("2026-01-21", "", 2000)),
	} {
		batch, warnings, err := rules.EnterBatch(stand, newBatch(onShare("s-1")), batchDay)
		if err != nil || len(warnings) > 0 || batch.AwaitsReview || batch.ShareID == nil || *batch.ShareID != "s-1" {
			t.Errorf("%s: %+v, %q, %v", name, batch, warnings, err)
		}
	}
	stand := standOf(good, heldByC)
	batch, _, err := rules.EnterBatch(stand, newBatch(onShare("s-1")), batchDay)
	if err != nil || *batch.HarvestFraction != 0.01 || *batch.StandFraction != 0.0125 {
		t.Errorf("8 of 800 with 2 more set aside are %v and %v: %v", *batch.HarvestFraction, *batch.StandFraction, err)
	}
	batch.ID = "b-1"
	entry := rules.DrawShare(&stand.Shares[0], &batch)
	if entry.Kind != models.ShareDrawn || entry.Stems != -8 || entry.TakenOn != date("2026-01-24") || *entry.BatchID != "b-1" || entry.Why != "drawn on the crew share of C" {
		t.Errorf("%+v", entry)
	}
	rules.Take(stand, &batch, nil)
	if s := stand.Shares[0]; s.Left != 2 || stand.Ledger[0].Stems != 2 || stand.Ledger[1].Stems != 8 {
		t.Errorf("%d are left, and the ledger is %+v", s.Left, stand.Ledger)
	}
}

// The plants of a share are drawn with its stems, and all of them with the last one.
func TestABatchDrawsOnThePlantsOfItsShare(t *testing.T) {
	share := models.OpenShare{Left: 10, LeftParents: 4}
	for _, c := range []struct {
		stems, plants       int
		drawn, drawnParents int
	}{{3, 2, -3, -2}, {3, 9, -3, -4}, {10, 1, -10, -4}, {12, 6, -10, -4}} {
		entry := rules.DrawShare(&share, &models.Batch{StemsCut: c.stems, ParentPlants: &c.plants})
		if entry.Stems != c.drawn || entry.Parents != c.drawnParents {
			t.Errorf("%+v draws %d stems and %d plants", c, entry.Stems, entry.Parents)
		}
	}
	if entry := rules.DrawShare(&share, &models.Batch{StemsCut: 3}); entry.Stems != -3 || entry.Parents != 0 {
		t.Errorf("without plants it draws %+v", entry)
	}
}

// Fewer plants than were to be cut from are judged as they are: a share is no way
// around the per-plant cap.
func TestAShareFromTooFewPlants(t *testing.T) {
	stand := standOf(counted("2026-01-01", "800", 40), held("s-1", "C", "2026-01-24", "2026-01-31", 10, 5))
	for plants, passes := range map[int]bool{5: true, 4: true, 3: false} { // 2 stems of each plant
		_, _, err := rules.EnterBatch(stand, newBatch(onShare("s-1"), func(r *models.NewBatch) { r.ParentPlants = &plants }), batchDay)
		if e := models.AsError(err); (err == nil) != passes || !passes && (*e.Allowed != 6 || e.Binding.Code != rules.RulePerPlant) {
			t.Errorf("8 stems of %d plants: %v", plants, err)
		}
	}
}

// Cutting more than was set aside is to review, for what is more alone, which has to
// pass the rules.
func TestABatchThatGoesBeyondItsShare(t *testing.T) {
	good := counted("2026-01-01", "800")
	batch, warnings, err := rules.EnterBatch(standOf(good, heldByC), newBatch(onShare("s-1"), stems(13)), batchDay)
	beyond := "13 stems were cut on the share of C, which had 10 left: 3 more than were set aside"
	if err != nil || !batch.AwaitsReview || batch.OverLimit || batch.RefusedBy != beyond {
		t.Fatalf("%+v, %v", batch, err)
	}
	if len(warnings) != 2 || warnings[0] != beyond || !strings.Contains(warnings[1], "to be reviewed") {
		t.Errorf("%q", warnings)
	}
	entry := rules.DrawShare(&standOf(heldByC).Shares[0], &batch)
	if entry.Stems != -10 {
		t.Errorf("%d are drawn on a share of 10", -entry.Stems)
	}

	full := standOf(good, heldByC, taken("2026-01-10", 28))
	_, _, err = rules.EnterBatch(full, newBatch(onShare("s-1"), stems(13)), batchDay)
	if e := models.AsError(err); e == nil || e.Code != "over-allowance" || *e.Allowed != 12 || !strings.HasSuffix(e.Detail, "; the share of C has 10 stems left") {
		t.Errorf("12 are possible: %v", err)
	}
	batch, _, err = rules.EnterBatch(full, newBatch(onShare("s-1"), stems(13), alreadyCut), batchDay)
	if err != nil || !batch.AwaitsReview || !batch.OverLimit || !strings.HasPrefix(batch.RefusedBy, beyond+"; 13 stems of TB-01") {
		t.Errorf("%+v, %v", batch, err)
	}
	used := standOf(good, held("s-1", "C", "2026-01-24", "2026-01-31", 0, 0))
	batch, _, err = rules.EnterBatch(used, newBatch(onShare("s-1")), batchDay)
	if err != nil || !batch.AwaitsReview || !strings.Contains(batch.RefusedBy, "had 0 left: 8 more") {
		t.Errorf("on a share that is used up: %+v, %v", batch, err)
	}
}

// A share does not open a stand that is closed, that has to be counted anew, or that
// was at rest as it was set aside.
func TestAShareOpensNothing(t *testing.T) {
	good := counted("2026-01-01", "800")
	for code, stand := range map[string]*models.StandRecord{
		"closed-season":  standOf(good, heldByC, shut(models.Closure{From: "2026-01-25", To: "2026-01-25"})),
		"survey-expired": standOf(good, heldByC, disturbed("2026-01-25")),
		"at-rest":        standOf(good, heldByC, restFrom("2026-01-21", "", 500)),
		"protected":      standOf(good, heldByC, protected),
		"no-permit":      standOf(good, heldByC, needsPermit),
	} {
		_, _, err := rules.EnterBatch(stand, newBatch(onShare("s-1")), batchDay)
		if e := models.AsError(err); e == nil || e.Kind != models.Refused || e.Code != code {
			t.Errorf("%s: %v", code, err)
		}
	}
}

func TestWhichShareABatchIsTakenFrom(t *testing.T) {
	stand := standOf(counted("2026-01-01", "800"), heldByC,
		held("s-2", "C", "2026-02-02", "2026-02-05", 4, 0), held("s-3", "The Weavers", "2026-01-24", "2026-01-26", 4, 0),
		held("s-4", "D", "2026-01-24", "2026-01-26", 1, 0), held("s-5", "D", "2026-01-25", "2026-01-26", 1, 0))
	for _, c := range []struct {
		name, on string
		want     string
		field    string
	}{
		{"s-1", "2026-01-25", "s-1", ""},
		{" C ", "2026-01-25", "s-1", ""},
		{"c", "2026-02-03", "s-2", ""},
		{"the  weavers", "2026-01-26", "s-3", ""},
		{"s-5", "2026-01-25", "s-5", ""},
		{"d", "2026-01-24", "s-4", ""},
		{"d", "2026-01-25", "", "share"},          // two cover the day
		{"c", "2026-02-01", "", "share"},          // none of two covers it
		{"s-9", "2026-01-25", "", "share"},        // there is none
		{"s-1", "2026-02-01", "", "collected_on"}, // after its last day
		{"weavers", "2026-01-26", "", "share"},    // another crew
		{"the weavers", "2026-01-27", "", "collected_on"},
	} {
		batch, _, err := rules.EnterBatch(stand, newBatch(onShare(c.name), stems(1), cutOn(c.on)), batchDay)
		if c.field == "" {
			if err != nil || *batch.ShareID != c.want {
				t.Errorf("%q on %s: %v", c.name, c.on, err)
			}
			continue
		}
		if e := models.AsError(err); e == nil || e.Kind != models.Invalid || e.Code != "share-misfit" || e.Fields[0].Name != c.field {
			t.Errorf("%q on %s: %v", c.name, c.on, err)
		}
	}
}

// What is set aside is held for seven days after the last one, and released on the
// eighth.
func TestSharesAreReleased(t *testing.T) {
	stand := func() *models.StandRecord {
		return standOf(heldByC, held("s-2", "D", "2026-01-20", "2026-01-31", 0, 0), held("s-3", "E", "2026-01-24", "2026-02-01", 4, 2))
	}
	early := stand()
	if over, entries := rules.ReleaseShares(early, date("2026-02-07")); len(over)+len(entries) > 0 || len(early.Shares) != 3 {
		t.Errorf("%v are released early: %+v", over, entries)
	}
	late := stand()
	over, entries := rules.ReleaseShares(late, date("2026-02-08"))
	if len(over) != 2 || over[0].ID != "s-1" || over[1].ID != "s-2" || over[1].EndedOn != date("2026-02-08") || len(entries) != 1 || len(late.Shares) != 1 {
		t.Fatalf("%v are released: %+v", over, entries)
	}
	if e := entries[0]; e.Kind != models.ShareReleased || e.Stems != -10 || e.TakenOn != date("2026-01-24") || *e.ShareID != "s-1" || e.Why != "released: the crew share of C is over" {
		t.Errorf("%+v", e)
	}
	if late.Ledger[1].TakenOn != date("2026-01-24") || late.Ledger[1].Stems != 4 {
		t.Errorf("the ledger is %+v", late.Ledger)
	}
	if over, entries := rules.ReleaseShares(late, date("2026-02-08")); len(over)+len(entries) > 0 {
		t.Errorf("%v are released twice", over)
	}
	last := &late.Shares[0].Share
	if rules.HeldUntil(last) != date("2026-02-08") || rules.OverUpTo(date("2026-02-09")) != last.ToDay || !rules.ShareOver(last, date("2026-02-09")) {
		t.Errorf("it is held until %s", rules.HeldUntil(last))
	}
}

func TestAShareIsReturned(t *testing.T) {
	share := &standOf(held("s-1", "C", "2026-01-24", "2026-01-31", 6, 3)).Shares[0]
	entry, err := rules.ReturnShare(share, models.NewShareReturn{By: " RQ ", Why: "the river  was too high"})
	if err != nil || entry.Kind != models.ShareReturned || entry.Stems != -6 || entry.Parents != -3 || entry.EnteredBy != "RQ" ||
		entry.TakenOn != date("2026-01-24") || entry.Why != "returned: the crew share of C; the river was too high" {
		t.Errorf("%+v, %v", entry, err)
	}
	_, err = rules.ReturnShare(share, models.NewShareReturn{})
	if e := models.AsError(err); e == nil || e.Kind != models.Invalid || e.Fields[0].Name != "by" {
		t.Errorf("by nobody: %v", err)
	}
	share.Left = 0
	_, err = rules.ReturnShare(share, models.NewShareReturn{By: "RQ"})
	if e := models.AsError(err); e == nil || e.Kind != models.Conflict || e.Code != "share-ended" {
		t.Errorf("used up: %v", err)
	}
}

// What is known later may leave no room for what was set aside.
func TestSharesThatNoLongerFit(t *testing.T) {
	good := counted("2026-01-01", "800")
	for _, c := range []struct {
		name   string
		change func(*models.StandRecord)
		says   string
	}{
		{"a lower count", counted("2026-01-19", "150"), "no longer fits on 2026-01-24: 0 of 7 stems are taken"},
		{"a closure", shut(models.Closure{From: "2026-01-31", To: "2026-02-10"}), "no longer fits on 2026-01-31: closed from"},
		{"a rest", restFrom("2026-01-26", "2026-02-10", 2000), "the stand rests from 2026-01-26 to 2026-02-10 (flooded); a rest does not stop what was set aside before it"},
		{"a stricter rule", func(r *models.StandRecord) { r.Rules = append(r.Rules, ruleFrom("2026-01-28", "0.01")) }, "no longer fits on 2026-01-28: 0 of 8 stems"},
		{"a flood", disturbed("2026-01-19"), "count the stand again"},
		{"a cut of others", taken("2026-01-18", 31), "31 of 40 stems are taken"},
		{"a protection", protected, "no authority"},
	} {
		before := rules.Misfits(standOf(good, heldByC), shareToday)
		if len(before) > 0 {
			t.Fatalf("it never fitted: %q", before)
		}
		stand := standOf(good, heldByC, c.change)
		texts := rules.NewMisfits(stand, before, shareToday)
		if len(texts) != 1 || !strings.HasPrefix(texts[0], "the share of C (10 stems left, 2026-01-24 to 2026-01-31) no longer fits on ") || !strings.Contains(texts[0], c.says) {
			t.Errorf("%s: %q", c.name, texts)
		}
		if again := rules.NewMisfits(stand, rules.Misfits(stand, shareToday), shareToday); len(again) > 0 {
			t.Errorf("%s is told again: %q", c.name, again)
		}
	}
}

// Only the days that are left are looked at, and only what is left of a share.
func TestSharesThatFitStill(t *testing.T) {
	good := counted("2026-01-01", "800")
	for name, c := range map[string]struct {
		stand *models.StandRecord
		today string
	}{
		"past its last day":          {standOf(good, heldByC, disturbed("2026-01-19")), "2026-02-01"},
		"used up":                    {standOf(good, held("s-1", "C", "2026-01-24", "2026-01-31", 0, 0), disturbed("2026-01-19")), "2026-01-20"},
		"closed on days past":        {standOf(good, heldByC, shut(models.Closure{From: "2026-01-20", To: "2026-01-27"})), "2026-01-28"},
		"with room for what is left": {standOf(good, heldByC, taken("2026-01-10", 30)), "2026-01-20"},
		"from plants that are left":  {standOf(counted("2026-01-01", "800", 40), held("s-1", "C", "2026-01-24", "2026-01-31", 10, 5)), "2026-01-20"},
	} {
		if misfits := rules.Misfits(c.stand, date(c.today)); len(misfits) > 0 {
			t.Errorf("%s: %q", name, misfits)
		}
	}
}

// What is set aside counts in every window in which it may yet be cut, and not only in
// those that hold its first day.
func TestWhatIsSetAsideCountsToItsLastDay(t *testing.T) {
	stand := standOf(counted("2026-01-01", "800"), held("s-1", "C", "2026-01-24", "2026-02-10", 40, 0))
	stand.Rules[0].WindowDays = 10
	for day, want := range map[string]int{"2026-01-14": 40, "2026-01-15": 0, "2026-01-24": 0, "2026-02-05": 0, "2026-02-19": 0, "2026-02-20": 40} {
		if got := rules.Allowance(stand, rules.Cut{On: date(day), Stems: 1}); got.Allowed != want {
			t.Errorf("%d are allowed on %s, want %d", got.Allowed, day, want)
		}
	}
}

// The allowance of a share is what logging a batch on it would be judged by, for every
// number of stems, and the field sheet of its crew stops there.
func TestTheAllowanceOfAShareIsThatOfABatch(t *testing.T) {
	on, good := date("2026-01-25"), counted("2026-01-01", "800")
	for name, stand := range map[string]*models.StandRecord{
		"room beside it":         standOf(good, heldByC, taken("2026-01-10", 28)),
		"full":                   standOf(good, heldByC, taken("2026-01-10", 30)),
		"over its cap":           standOf(good, heldByC, taken("2026-01-28", 50)),
		"a new rest":             standOf(good, heldByC, restFrom("2026-01-21", "", 2000)),
		"an old rest":            standOf(good, heldByC, restFrom("2026-01-21", "", 500)),
		"closed":                 standOf(good, heldByC, shut(models.Closure{From: "2026-01-25", To: "2026-01-25"})),
		"used up":                standOf(good, held("s-1", "C", "2026-01-24", "2026-01-31", 0, 0)),
		"plants, enough of them": standOf(counted("2026-01-01", "800", 40), held("s-1", "C", "2026-01-24", "2026-01-31", 10, 5)),
	} {
		share, err := rules.AskedShare(stand, " s-1", on)
		if err != nil || share != &stand.Shares[0] {
			t.Fatal(share, err)
		}
		plants := 5
		for n := 1; n <= 15; n++ {
			_, _, err := rules.EnterBatch(stand, newBatch(onShare("s-1"), stems(n), func(r *models.NewBatch) { r.ParentPlants = &plants }), batchDay)
			got := rules.Allowance(stand, rules.Cut{On: on, Stems: n, Parents: &plants, Share: share})
			if (err == nil) != (got.Allowed >= n) {
				t.Errorf("%s: of %d stems %d are allowed, and a batch of them: %v", name, n, got.Allowed, err)
			}
			if sheet := sheetFor(t, stand, "2026-01-25", n); sheet.StopAt < min(n, got.Allowed) {
				t.Errorf("%s: the sheet for %d stems stops at %d, and %d are allowed", name, n, sheet.StopAt, got.Allowed)
			}
		}
	}
}

func TestAShareIsSaidInWords(t *testing.T) {
	stand := standOf(counted("2026-01-01", "800"), heldByC, taken("2026-01-10", 28))
	words := "of the share of C, 10 stems left, to 2026-01-31"
	got := rules.Allowance(stand, rules.Cut{On: date("2026-01-25"), Stems: 1, Share: &stand.Shares[0]})
	if got.Allowed != 12 || got.Stems != 1 || got.Share != words || !strings.Contains(got.Sentence, "2026-01-25, "+words+": 12 stems are possible at most") {
		t.Errorf("%d allowed of %d: %q, %q", got.Allowed, got.Stems, got.Share, got.Sentence)
	}
	sheet := sheetFor(t, stand, "2026-01-25", 15)
	if sheet.StopAt != 12 || sheet.Share != words+" (log what goes beyond it, 2 stems, in a batch without the share)" {
		t.Errorf("stop at %d: %q", sheet.StopAt, sheet.Share)
	}
	for on, crew := range map[string]string{"2026-02-01": "C", "2026-01-25": "D"} {
		sheet, err := rules.FieldSheet(stand, rules.SheetAsked{On: date(on), Stems: 15, Crew: crew}, batchDay)
		if err != nil || sheet.StopAt != 2 || sheet.Share != "" {
			t.Errorf("for %s on %s stop at %d: %q, %v", crew, on, sheet.StopAt, sheet.Share, err)
		}
	}
	for text, on := range map[string]string{"C": "2026-02-01", "D": "2026-01-25"} {
		_, err := rules.AskedShare(stand, text, date(on))
		if e := models.AsError(err); e == nil || e.Code != "share-misfit" || e.Detail != "that cannot be answered" {
			t.Errorf("the share of %s on %s: %v", text, on, err)
		}
	}
	if share, err := rules.AskedShare(stand, "", date("2026-01-25")); share != nil || err != nil {
		t.Error(share, err)
	}
}

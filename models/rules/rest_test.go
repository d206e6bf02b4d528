package rules_test

import (
	"strings"
	"testing"
	"time"

	"withybed/models"
	"withybed/models/rules"
)

func atRest(from, to string, change ...func(*models.Rest)) func(*models.StandRecord) {
	return func(r *models.StandRecord) {
		rest := models.Rest{ID: "rest of " + from, StandID: r.ID, StartsOn: date(from), Why: "browsed hard", SetBy: "OP"}
		if to != "" {
			rest.EndsOn = date(to)
		}
		for _, c := range change {
			c(&rest)
		}
		r.Rests = append(r.Rests, rest)
	}
}

func openShare(from, to string, left int, at time.Time) func(*models.StandRecord) {
	return func(r *models.StandRecord) {
		r.Shares = append(r.Shares, models.OpenShare{
			Share: models.Share{ID: "share of " + from, StandID: r.ID, Crew: "weavers", FromDay: date(from), ToDay: date(to), EnteredAt: at}, Left: left,
		})
		r.Ledger = rules.WithStems(r.Ledger, models.LedgerDay{TakenOn: date(from), Stems: left})
	}
}

// A stand at rest is not cut, from the first day to the last, or until an end is given.
func TestAStandAtRestIsNotCut(t *testing.T) {
	count := counted("2026-01-01", "800")
	for _, c := range []struct {
		name    string
		stand   *models.StandRecord
		on      string
		allowed int
		says    string
	}{
		{"the day before", standOf(count, atRest("2026-02-01", "2026-02-28")), "2026-01-31", 40, ""},
		{"the first day", standOf(count, atRest("2026-02-01", "2026-02-28")), "2026-02-01", 0, "rests from 2026-02-01 to 2026-02-28 (browsed hard)"},
		{"the last day", standOf(count, atRest("2026-02-01", "2026-02-28")), "2026-02-28", 0, "rests from"},
		{"the day after", standOf(count, atRest("2026-02-01", "2026-02-28")), "2026-03-01", 40, ""},
		{"without an end", standOf(count, atRest("2026-02-01", "")), "2027-03-01", 0, "until the coordinator gives its end (browsed hard); not before the rest has an end"},
		{"of several the longest is told", standOf(count, atRest("2026-02-01", "2026-02-10"), atRest("2026-02-05", "2026-03-10"), atRest("2026-02-06", "2026-02-28")), "2026-02-08", 0, "to 2026-03-10"},
		{"one without an end is the longest", standOf(count, atRest("2026-02-01", ""), atRest("2026-02-05", "2026-03-10")), "2026-02-08", 0, "until the coordinator"},
		{"a salvage lifts no rest", standOf(count, atRest("2026-02-01", "2026-02-28"), salvaged("2026-02-01", "2026-02-28")), "2026-02-08", 0, "rests from"},
		{"a closure is told before it", standOf(count, atRest("2026-02-01", ""), shut(models.Closure{From: "02-01", To: "02-28", EveryYear: true})), "2026-02-08", 0, "closed from"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := rules.Allowance(c.stand, rules.Cut{On: date(c.on), Stems: 1})
			if got.Allowed != c.allowed || !strings.Contains(got.Binding.Detail, c.says) {
				t.Errorf("%d by %s", got.Allowed, got.Binding.Detail)
			}
			refusal := rules.JudgeCut(c.stand, rules.Cut{On: date(c.on), Stems: 1})
			if (refusal == nil) != (c.allowed > 0) || refusal != nil && strings.HasPrefix(c.says, "rests") && refusal.Code != "at-rest" {
				t.Errorf("the refusal is %v", refusal)
			}
		})
	}
}

// What was set aside before a rest was set can be cut in it, and no more; what was set
// aside later cannot. An end that is given later makes the rest no younger.
func TestARestStopsNoShareSetAsideBeforeIt(t *testing.T) {
	setAt := func(at time.Time) func(*models.Rest) {
		return func(r *models.Rest) { r.SetAt, r.EnteredAt = at, hour(20) }
	}
	for _, c := range []struct {
		name    string
		rest    time.Time
		share   time.Time
		stems   int
		refused string
	}{
		{"set aside before", hour(2), hour(1), 6, ""},
		{"more than was set aside", hour(2), hour(1), 7, "at-rest"},
		{"set aside after", hour(2), hour(3), 6, "at-rest"},
		{"set aside at once", hour(2), hour(2), 6, "at-rest"},
	} {
		t.Run(c.name, func(t *testing.T) {
			stand := standOf(counted("2026-01-01", "800"), openShare("2026-02-01", "2026-02-10", 6, c.share), atRest("2026-01-15", "2026-03-01", setAt(c.rest)))
			refusal := rules.JudgeCut(stand, rules.Cut{On: date("2026-02-03"), Stems: c.stems, Share: &stand.Shares[0]})
			if (refusal == nil) != (c.refused == "") || refusal != nil && refusal.Code != c.refused {
				t.Errorf("the refusal is %v", refusal)
			}
			if refusal := rules.JudgeCut(stand, rules.Cut{On: date("2026-02-03"), Stems: 1}); refusal == nil || refusal.Code != "at-rest" {
				t.Errorf("without the share the refusal is %v", refusal)
			}
		})
	}
	both := standOf(counted("2026-01-01", "800"), openShare("2026-02-01", "2026-02-10", 6, hour(2)), atRest("2026-01-15", "", setAt(hour(3))), atRest("2026-01-20", "2026-02-20", setAt(hour(1))))
	if refusal := rules.JudgeCut(both, rules.Cut{On: date("2026-02-03"), Stems: 1, Share: &both.Shares[0]}); refusal == nil || !strings.Contains(refusal.Detail, "to 2026-02-20") {
		t.Errorf("of an elder and a younger rest the elder stops: %v", refusal)
	}
}

func TestARestIsEntered(t *testing.T) {
	rest, err := rules.EnterRest(models.NewRest{To: date("2026-03-31"), Why: " browsed  hard ", By: " OP"}, date("2026-01-17"))
	if err != nil || rest.StartsOn != date("2026-01-17") || rest.EndsOn != date("2026-03-31") || rest.Why != "browsed hard" || rest.SetBy != "OP" || rest.BatchID != nil {
		t.Errorf("%+v, %v", rest, err)
	}
	if rest, err = rules.EnterRest(models.NewRest{From: date("2026-02-10"), Why: "x"}, date("2026-01-17")); err != nil || rest.StartsOn != date("2026-02-10") || !rest.EndsOn.IsZero() {
		t.Errorf("%+v, %v", rest, err)
	}
	for _, c := range []struct {
		req    models.NewRest
		code   string
		fields []string
	}{
		{models.NewRest{From: date("2026-02-02"), To: date("2026-02-01"), Why: "x"}, "out-of-order", []string{"to"}},
		{models.NewRest{To: date("2026-01-16"), Why: "x"}, "out-of-order", []string{"to"}},
		{models.NewRest{}, "invalid", []string{"why"}},
		{models.NewRest{Why: strings.Repeat("x", 2001), By: strings.Repeat("x", 81)}, "invalid", []string{"why", "by"}},
	} {
		_, err := rules.EnterRest(c.req, date("2026-01-17"))
		wantFault(t, err, c.code, c.fields...)
	}
}

func TestARestIsGivenItsEnd(t *testing.T) {
	stand := standOf(atRest("2026-02-01", ""), atRest("2026-05-01", "2026-06-30", func(r *models.Rest) { r.SetAt = hour(3) }))
	before, after, err := rules.EndRest(stand, "rest of 2026-02-01", models.NewRestEnd{To: date("2026-02-01"), Why: "x"})
	if err != nil || after.EndsOn != date("2026-02-01") || !before.EndsOn.IsZero() || after.StartsOn != before.StartsOn || after.Why != before.Why {
		t.Errorf("%+v after %+v, %v", after, before, err)
	}
	if was, is := rules.EndOfRest(&before, &after); len(was) != 0 || is["to"] != date("2026-02-01") {
		t.Errorf("%v after %v", is, was)
	}
	before, after, err = rules.EndRest(stand, "rest of 2026-05-01", models.NewRestEnd{To: date("2026-06-29"), Why: "x"})
	if was, is := rules.EndOfRest(&before, &after); err != nil || was["to"] != date("2026-06-30") || is["to"] != date("2026-06-29") || after.SetAt != hour(3) {
		t.Errorf("%v after %v, set at %v, %v", is, was, after.SetAt, err)
	}
	if !stand.Rests[0].EndsOn.IsZero() || stand.Rests[1].EndsOn != date("2026-06-30") {
		t.Errorf("the stand was changed: %+v", stand.Rests)
	}
	for _, c := range []struct {
		id     string
		req    models.NewRestEnd
		code   string
		fields []string
	}{
		{"rest of 2026-02-01", models.NewRestEnd{To: date("2026-01-31"), Why: "x"}, "out-of-order", []string{"to"}},
		{"rest of 2026-05-01", models.NewRestEnd{To: date("2026-06-30"), Why: "x"}, "out-of-order", []string{"to"}},
		{"rest of 2026-05-01", models.NewRestEnd{To: date("2026-07-01"), Why: "x"}, "out-of-order", []string{"to"}},
		{"rest of 2026-02-01", models.NewRestEnd{}, "invalid", []string{"why", "to"}},
	} {
		_, _, err := rules.EndRest(stand, c.id, c.req)
		wantFault(t, err, c.code, c.fields...)
	}
	if _, _, err := rules.EndRest(stand, "elsewhere", models.NewRestEnd{}); models.AsError(err) == nil || models.AsError(err).Code != "no-such-rest" {
		t.Errorf("a rest that is none: %v", err)
	}
}

// A batch over a limit begins a rest the day after it was cut. One within the limits,
// or that is more than its share alone, begins none.
func TestWhatIsCutOverALimitBeginsARest(t *testing.T) {
	for _, c := range []struct {
		name  string
		stand *models.StandRecord
		rests bool
	}{
		{"over the stand cap", standOf(counted("2026-01-01", "300")), true},
		{"over the cap of an expired survey", standOf(counted("2024-01-01", "300")), true},
		{"over the per-plant cap", standOf(counted("2026-01-01", "800", 40)), true},
		{"closed, and within the caps", standOf(counted("2026-01-01", "800"), shut(models.Closure{From: "01-01", To: "01-31", EveryYear: true})), false},
		{"of an expired survey, and within its cap", standOf(counted("2024-01-01", "800")), false},
		{"never counted", standOf(), false},
		{"in a salvage", standOf(counted("2026-01-01", "100"), salvaged("2026-01-01", "2026-01-31"), shut(models.Closure{From: "01-01", To: "01-31", EveryYear: true})), false},
	} {
		t.Run(c.name, func(t *testing.T) {
			batch, warnings, err := rules.EnterBatch(c.stand, newBatch(alreadyCut, func(r *models.NewBatch) { r.ParentPlants = ptr(2) }), batchDay)
			if err != nil {
				t.Fatal(err)
			}
			warned := strings.Contains(strings.Join(warnings, "; "), "TB-01 rests from "+batch.CollectedOn.Add(1).String())
			if batch.OverLimit != c.rests || warned != c.rests || !batch.AwaitsReview {
				t.Errorf("over a limit %t, to review %t; it warns of %q", batch.OverLimit, batch.AwaitsReview, warnings)
			}
			batch.ID, batch.Code = "b", "TB-01-2026-1"
			rest := rules.RestAfter(&batch)
			if rest.StartsOn != batch.CollectedOn.Add(1) || !rest.EndsOn.IsZero() || *rest.BatchID != "b" || rest.StandID != "stand" || rest.Why != "batch TB-01-2026-1 was cut over a limit" {
				t.Errorf("the rest is %+v", rest)
			}
		})
	}
}

func TestAReviewEndsTheRestItsBatchBegan(t *testing.T) {
	ofBatch := func(r *models.Rest) { r.BatchID = ptr("b") }
	stand := standOf(atRest("2026-01-01", ""), atRest("2026-02-01", "", ofBatch))
	batch := &models.Batch{ID: "b", Code: "TB-01-2026-1"}
	before, after, err := rules.EndRestInReview(stand, batch, models.NewReview{RestUntil: date("2026-06-30")})
	if err != nil || before.ID != "rest of 2026-02-01" || after.EndsOn != date("2026-06-30") {
		t.Errorf("%+v after %+v, %v", after, before, err)
	}
	if told := rules.OpenRest(stand, batch); len(told) != 1 || !strings.Contains(told[0], "TB-01 rests from 2026-02-01 on, and the rest has no end yet: give its last day as rest_until of a review of TB-01-2026-1, or end the rest itself, which is among those of TB-01") {
		t.Errorf("of the open rest is told %q", told)
	}
	_, _, err = rules.EndRestInReview(stand, batch, models.NewReview{RestUntil: date("2026-01-31")})
	wantFault(t, err, "out-of-order", "rest_until")
	other := &models.Batch{ID: "c", Code: "TB-01-2026-2"}
	_, _, err = rules.EndRestInReview(stand, other, models.NewReview{RestUntil: date("2026-06-30")})
	wantFault(t, err, "invalid", "rest_until")
	ended := standOf(atRest("2026-02-01", "2026-06-30", ofBatch))
	if told := append(rules.OpenRest(stand, other), rules.OpenRest(ended, batch)...); len(told) != 0 {
		t.Errorf("of no open rest is told %q", told)
	}
}

package rules_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

func othersCut(change ...func(*models.NewOthersCut)) models.NewOthersCut {
	req := models.NewOthersCut{
		From: date("2026-01-03"), To: date("2026-01-05"), Low: 5, High: 12,
		CutBy: " valley  basket weavers", Evidence: "cut stubs seen on the bank", By: "OP",
	}
	for _, c := range change {
		c(&req)
	}
	return req
}

func TestACutOfOthersOnTheLedger(t *testing.T) {
	cases := []struct {
		name   string
		change func(*models.NewOthersCut)
		why    string
	}{
		{"a range", func(*models.NewOthersCut) {}, "5 to 12 stems cut by others (valley basket weavers) from 2026-01-03 to 2026-01-05: cut stubs seen on the bank"},
		{"one day, known", func(r *models.NewOthersCut) { r.From, r.Low = r.To, 12 }, "12 stems cut by others (valley basket weavers) on 2026-01-05: cut stubs seen on the bank"},
		{"one stem", func(r *models.NewOthersCut) { r.Low, r.High = 0, 1 }, "0 to 1 stem cut by others"},
		{"much evidence", func(r *models.NewOthersCut) { r.Evidence = strings.Repeat("stubs seen ", 50) }, ": " + strings.TrimSpace(strings.Repeat("stubs seen ", 10)) + " stubs …"},
		{"one long word", func(r *models.NewOthersCut) { r.Evidence = strings.Repeat("ü", 200) }, ": " + strings.Repeat("ü", 120) + " …"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			req := othersCut(c.change)
			cut, entry, err := rules.EnterOthersCut(req, date("2026-01-17"))
			if err != nil {
				t.Fatal(err)
			}
			if entry.Kind != models.Others || entry.TakenOn != req.To || entry.Stems != req.High || entry.Parents != 0 || entry.BatchID != nil || entry.EnteredBy != "OP" {
				t.Errorf("the entry is %+v", entry)
			}
			if !strings.Contains(entry.Why, c.why) || cut.CutBy != "valley basket weavers" || cut.Low != req.Low || cut.CutFrom != req.From {
				t.Errorf("why %q, cut %+v", entry.Why, cut)
			}
		})
	}
}

func TestWhatIsNoCutOfOthers(t *testing.T) {
	cases := []struct {
		name, code string
		change     func(*models.NewOthersCut)
		fields     string
	}{
		{"days the wrong way round", "out-of-order", func(r *models.NewOthersCut) { r.To = date("2026-01-02") }, "to"},
		{"to come", "in-the-future", func(r *models.NewOthersCut) { r.To = date("2026-01-18") }, "to"},
		{"no days", "invalid", func(r *models.NewOthersCut) { r.From, r.To = models.Date{}, models.Date{} }, "from to"},
		{"low above high", "invalid", func(r *models.NewOthersCut) { r.Low = 13 }, "low"},
		{"below nothing", "invalid", func(r *models.NewOthersCut) { r.Low = -1 }, "low"},
		{"nothing", "invalid", func(r *models.NewOthersCut) { r.Low, r.High = 0, 0 }, "high"},
		{"too much", "invalid", func(r *models.NewOthersCut) { r.High = 10_000_001 }, "high"},
		{"nobody, unseen", "invalid", func(r *models.NewOthersCut) { r.CutBy, r.Evidence = " ", "" }, "cut_by evidence"},
		{"long names", "invalid", func(r *models.NewOthersCut) { r.CutBy, r.By = strings.Repeat("x", 81), strings.Repeat("x", 81) }, "cut_by by"},
		{"hidden text", "invalid", func(r *models.NewOthersCut) { r.Evidence = "seen\x00" }, "evidence"},
	}
	for _, c := range cases {
		_, _, err := rules.EnterOthersCut(othersCut(c.change), date("2026-01-17"))
		e := models.AsError(err)
		if e == nil || e.Code != c.code {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		var names []string
		for _, field := range e.Fields {
			names = append(names, field.Name)
		}
		if strings.Join(names, " ") != c.fields {
			t.Errorf("%s: the fields are %v, want %s", c.name, names, c.fields)
		}
	}
}

// 0.05 of 800 is 40: with 12 cut by others 28 are left, on the last day of theirs
// and after it, and 40 of a window that ends before.
func TestTheHighFigureCountsOnTheLastDay(t *testing.T) {
	stand := standOf(counted("2025-09-12", "800"))
	_, entry, err := rules.EnterOthersCut(othersCut(), date("2026-01-17"))
	if err != nil {
		t.Fatal(err)
	}
	stand.Ledger = rules.WithOthersCut(stand.Ledger, entry)
	for on, want := range map[string]int{"2026-01-04": 28, "2026-01-05": 28, "2026-01-17": 28, "2026-12-20": 28, "2026-12-21": 40} {
		if got := rules.Allowance(stand, rules.Cut{On: date(on), Stems: 1}).Allowed; got != want {
			t.Errorf("on %s %d are allowed, want %d", on, got, want)
		}
	}
}

// Whatever others cut and wherever their days fall among ours, no cut of ours
// that passes overfills a window that was within its limit with theirs.
func TestNoWindowIsFilledOverItsLimitBesideOthers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const limit, window = 40, 350
		stand := standOf(counted("2025-01-01", "800"))
		stand.Rules[0].SurveyValidDays = 3650
		stems := map[models.Date]int{}
		for range rapid.IntRange(1, 25).Draw(t, "entries") {
			on := date("2025-06-01").Add(rapid.IntRange(0, 500).Draw(t, "on"))
			n := rapid.IntRange(1, 20).Draw(t, "stems")
			if rapid.Bool().Draw(t, "by others") {
				_, entry, err := rules.EnterOthersCut(othersCut(func(r *models.NewOthersCut) { r.From, r.To, r.Low, r.High = on, on, 0, n }), on)
				if err != nil {
					t.Fatal(err)
				}
				stand.Ledger, stems[on] = rules.WithOthersCut(stand.Ledger, entry), stems[on]+n
				continue
			}
			refusal := rules.JudgeCut(stand, rules.Cut{On: on, Stems: n})
			fits := true
			for day, taken := range stems {
				if day.Sub(on) >= 0 && day.Sub(on) < window && taken != 0 {
					fits = fits && windowOf(stems, day, window)+n <= limit
				}
			}
			fits = fits && windowOf(stems, on, window)+n <= limit
			if fits != (refusal == nil) {
				t.Fatalf("%d stems on %s: refused %v, and by the days themselves they fit: %v", n, on, refusal, fits)
			}
			if refusal == nil {
				stand.Ledger, stems[on] = rules.WithStems(stand.Ledger, models.LedgerDay{TakenOn: on, Stems: n}), stems[on]+n
			}
		}
	})
}

func windowOf(stems map[models.Date]int, to models.Date, window int) int {
	sum := 0
	for i := range window {
		sum += stems[to.Add(-i)]
	}
	return sum
}

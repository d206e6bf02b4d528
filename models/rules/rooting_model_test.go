package rules_test

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/stats"
)

// modeled gives a batch the law of days with median 20 and a spread.
func modeled(r *models.BatchRecord) {
	r.RootingModel = &models.RootingModel{Family: string(stats.LogNormal), Mu: math.Log(20), Sigma: 0.3, Batches: 9, Basis: "Cornus sericea, hardwood"}
}

func quick(r *models.BatchRecord) { modeled(r); r.RootingModel.Mu = math.Log(9) }

// TestLooksAreBroughtForward by half of what may still root: the median of the
// law beyond the last look.
func TestLooksAreBroughtForward(t *testing.T) {
	runDue(t, []dueCase{
		{"half of all root by day 9", batchWith(stuck("2026-01-18"), quick), "2026-01-26", ""},
		{"then a look is due", batchWith(stuck("2026-01-18"), quick), "2026-01-27", "check 72 since 2026-01-27"},
		{"slow ones are looked at as usual", batchWith(stuck("2026-01-18"), modeled), "2026-01-31", ""},
		{"on the usual day", batchWith(stuck("2026-01-18"), modeled), "2026-02-01", "check 72 since 2026-02-01"},
		{"after a look, half of the rest", batchWith(stuck("2026-01-18"), looked("2026-02-05", 20), modeled), "2026-02-10", ""},
		{"some days sooner", batchWith(stuck("2026-01-18"), looked("2026-02-05", 20), modeled), "2026-02-11", "check 72 since 2026-02-11"},
		{"a look takes it away", batchWith(stuck("2026-01-18"), looked("2026-02-05", 20), looked("2026-02-11", 40), modeled), "2026-02-11", ""},
		{"never on the day of a look", batchWith(stuck("2026-01-18", water), looked("2026-02-05", 20), quick), "2026-02-06", ""},
		{"nothing unrooted to wait for", batchWith(stuck("2026-01-18"), looked("2026-02-05", 72), modeled), "2026-02-12", ""},
		{"a cold tray waits for warm days", winter(unheated, quick), "2026-01-20", ""},
	})
}

func TestWhyALookIsBroughtForward(t *testing.T) {
	r := batchWith(stuck("2026-01-18"), quick)
	for on, want := range map[string]string{
		"2026-01-28": "9 batches of Cornus sericea, hardwood: look before the usual day, 2026-02-01",
		"2026-02-02": "look before the usual day, 2026-02-01; stuck on 2026-01-18, 15 days ago",
	} {
		items := rules.Flags(r, tell(t, r, day(on)), rules.DefaultSettings())
		if len(items) != 1 || !strings.Contains(items[0].Reason, want) {
			t.Errorf("on %s: %+v, want %q", on, items, want)
		}
	}
}

// TestAModelOnlyBringsForward wants no flag but check moved, and that never later.
func TestAModelOnlyBringsForward(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawBatch(t)
		s, err := rules.Replay(r, lastEntry(r))
		if err != nil {
			t.Fatal(err)
		}
		set := rules.DefaultSettings()
		ask := func() map[models.Flag]models.DueItem {
			items := map[models.Flag]models.DueItem{}
			for _, i := range append(rules.Flags(r, s, set), rules.Coming(r, s, set, s.On.Add(400))...) {
				items[i.Flag] = i
			}
			return items
		}
		r.RootingModel = nil
		before := ask()
		r.RootingModel = &models.RootingModel{Family: string(stats.Weibull), Mu: rapid.Float64Range(0, 5).Draw(t, "mu"), Sigma: rapid.Float64Range(0.05, 2).Draw(t, "sigma"), Batches: 3}
		after := ask()
		for flag, was := range before {
			now := after[flag]
			if flag != models.FlagCheck && now != was || now.Since.After(was.Since) {
				t.Fatalf("%s was %+v, and is %+v", flag, was, now)
			}
		}
		if len(after) != len(before) {
			t.Fatalf("%d flags, and %d with a model", len(before), len(after))
		}
	})
}

// TestPoolsOfModels fits a law to every pool with three batches, and finds the
// narrowest for a batch.
func TestPoolsOfModels(t *testing.T) {
	var records []*models.BatchRecord
	for i := range 4 {
		r := batchWith(stuck("2026-01-18", func(s *models.Sticking) {
			if i == 3 {
				s.Treatment = &models.Treatment{Name: "IBA"}
			}
		}), looked("2026-02-01", 8+i), looked("2026-02-08", 30+i), looked("2026-02-15", 45), looked("2026-03-01", 50), looked("2026-05-01", 51))
		r.Code, r.TaxonID, r.Kind = fmt.Sprint("TB-01-2026-", i), "dogwood", models.Hardwood
		records = append(records, r)
	}
	set := rules.DefaultSettings()
	fitted, err := rules.FitModels(context.Background(), records, day("2026-05-02"), &set.Thresholds)
	if err != nil || len(fitted) != 3 {
		t.Fatalf("%d models, %v: %+v", len(fitted), err, fitted)
	}
	byPool := rules.ModelsByPool(fitted)
	if m := byPool.Of(records[0]); m == nil || m.Batches != 3 || !strings.Contains(m.Basis, "treatment none") {
		t.Errorf("of an untreated one %+v", m)
	}
	if m := byPool.Of(records[3]); m == nil || m.Batches != 4 || m.Treatment != "" || m.Kind != models.Hardwood {
		t.Errorf("of the only treated one %+v", m)
	}
	if m := byPool.Of(batchWith()); m != nil {
		t.Errorf("of one that is not stuck %+v", m)
	}
	slices.Reverse(records)
	again, _ := rules.FitModels(context.Background(), records, day("2026-05-02"), &set.Thresholds)
	if !slices.Equal(again, fitted) {
		t.Errorf("turned round: %+v, before %+v", again, fitted)
	}
	standing := slices.Clone(fitted)
	for i := range standing {
		standing[i].ID, standing[i].FittedOn = fmt.Sprint(i), day("2026-04-01")
	}
	if added, ended := rules.NewModels(fitted, standing); len(added)+len(ended) != 0 {
		t.Errorf("nothing new, and %d added, %d ended", len(added), len(ended))
	}
	standing[0].Mu += 0.1
	if added, ended := rules.NewModels(fitted[:2], standing); len(added) != 1 || !slices.Equal(ended, []string{"0", "2"}) {
		t.Errorf("%+v added, %v ended", added, ended)
	}
}

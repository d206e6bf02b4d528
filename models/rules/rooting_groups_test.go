package rules_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

func told(t testing.TB, on string, batches ...*models.BatchRecord) []rules.Told {
	t.Helper()
	var all []rules.Told
	for _, r := range batches {
		all = append(all, rules.Told{Record: r, Story: tell(t, r, day(on))})
	}
	return all
}

func group(t *testing.T, by []string, on string, batches ...*models.BatchRecord) models.RootingReport {
	t.Helper()
	report, err := rules.GroupRooting(told(t, on, batches...), by, rules.DefaultSettings(), day(on))
	if err != nil {
		t.Fatal(err)
	}
	return report
}

func treated(label string) func(*models.Sticking) {
	return func(s *models.Sticking) { s.Treatment = &models.Treatment{Name: label} }
}

// keys are the keys of a report in short, in its order.
func keys(report models.RootingReport) string {
	var list []string
	for _, g := range report.Groups {
		var parts []string
		for _, name := range report.By {
			parts = append(parts, g.Key[name])
		}
		list = append(list, strings.Join(parts, " + "))
	}
	return strings.Join(list, " | ")
}

func TestGroupKeys(t *testing.T) {
	batches := []*models.BatchRecord{
		batchWith(stuck("2026-01-18", treated("Split  heel")), looked("2026-02-08", 40)),
		batchWith(taxon("Salix scouleriana"), kind(""), stuck("2026-01-18", heatUnsaid), looked("2026-02-08", 40)),
		batchWith(stuck("2026-01-18", treated("split heel"), unheated), looked("2026-02-08", 40)),
		batchWith(stuck("2026-01-18", water, mist), looked("2026-02-08", 40)),
		batchWith(), // never stuck: in no group
	}
	cases := []struct {
		by   string
		want string
	}{
		{"taxon", "Cornus sericea | Salix scouleriana"},
		{"stand", "MB-03"},
		{"kind", "hardwood | not recorded"},
		{"season", "2025/26"},
		{"treatment", "none | Split heel"},
		{"medium", "perlite | Water"},
		{"container", "not recorded"},
		{"bench", "B2"},
		{"heated", "no | not recorded | yes"},
		{"mist", "no | yes"},
		{"purpose", "rooting"},
		{"treatment,taxon", "none + Cornus sericea | none + Salix scouleriana | Split heel + Cornus sericea"},
		{"taxon,taxon", "Cornus sericea | Salix scouleriana"},
	}
	for _, c := range cases {
		if got := keys(group(t, strings.Split(c.by, ","), "2026-06-01", batches...)); got != c.want {
			t.Errorf("by %s: %s, want %s", c.by, got, c.want)
		}
	}
	report := group(t, nil, "2026-06-01", batches...)
	if !slices.Equal(report.By, rules.DefaultGrouping) || len(report.Groups) != 4 {
		t.Errorf("by nothing: %v in %d groups; heated and unheated, treated and untreated are kept apart", report.By, len(report.Groups))
	}
}

func TestUnknownGrouping(t *testing.T) {
	_, err := rules.GroupRooting(nil, []string{"taxon", "treatmnt"}, rules.DefaultSettings(), day("2026-06-01"))
	e := models.AsError(err)
	if e == nil || e.Kind != models.Invalid || e.Code != "unknown-grouping" || !slices.Equal(e.Suggestions, []string{"treatment"}) {
		t.Fatalf("%+v", err)
	}
	for _, name := range rules.Groupings() {
		if !strings.Contains(e.Fields[0].Detail, name) {
			t.Errorf("%q does not name %s", e.Fields[0].Detail, name)
		}
	}
}

func TestNoBatches(t *testing.T) {
	report := group(t, []string{"taxon"}, "2026-06-01")
	if report.Groups == nil || len(report.Groups) != 0 || report.On != day("2026-06-01") {
		t.Errorf("%+v", report)
	}
}

func countText(c models.GroupCount) string {
	percent := "none"
	if c.Percent != nil {
		percent = fmt.Sprintf("%.1f", *c.Percent)
	}
	return fmt.Sprintf("%d+%d batches, %d = %d rooted + %d lost + %d withdrawn + %d open, %s",
		c.Batches, c.WithoutChecks, c.Cuttings, c.Rooted, c.Lost, c.Withdrawn, c.StillUnrooted, percent)
}

func TestFinishedByAgeAlone(t *testing.T) {
	day83 := batchWith(stuck("2026-01-18"), looked("2026-04-11", 72))
	day84 := batchWith(stuck("2026-01-18"), looked("2026-04-12", 18))
	day84Slow := batchWith(slow, stuck("2026-01-18"), looked("2026-04-12", 18))
	day112Slow := batchWith(slow, stuck("2026-01-18"), looked("2026-05-10", 36))
	allPotted := batchWith(stuck("2026-01-18"), looked("2026-02-08", 72), potted("2026-02-10", 72))
	partLate := batchWith(stuck("2026-01-18"), looked("2026-02-08", 36), examined("2026-05-01", 10, 9))
	never := batchWith(stuck("2026-01-18"))
	closedLate := batchWith(stuck("2026-01-18"), lost("2026-04-12", 10, 12), decided("2026-05-01", models.CloseBatch, ""))
	diedUnseen := batchWith(stuck("2026-01-18"), onlyLost("2026-02-08", 40), onlyLost("2026-04-20", 32))
	onlyLosses := batchWith(stuck("2026-01-18"), onlyLost("2026-02-08", 10))
	pottedUnseen := batchWith(stuck("2026-01-18"), potted("2026-03-08", 30))
	onlyPart := batchWith(stuck("2026-01-18"), examined("2026-03-08", 10, 4))
	cases := []struct {
		name                 string
		batches              []*models.BatchRecord
		finished, unfinished string
	}{
		{"a day short, all rooted", []*models.BatchRecord{day83},
			"0+0 batches, 0 = 0 rooted + 0 lost + 0 withdrawn + 0 open, none", "1+0 batches, 72 = 72 rooted + 0 lost + 0 withdrawn + 0 open, 100.0"},
		{"84 days", []*models.BatchRecord{day84},
			"1+0 batches, 72 = 18 rooted + 0 lost + 0 withdrawn + 54 open, 25.0", "0+0 batches, 0 = 0 rooted + 0 lost + 0 withdrawn + 0 open, none"},
		{"slow kinds take 112", []*models.BatchRecord{day84Slow, day112Slow},
			"1+0 batches, 72 = 36 rooted + 0 lost + 0 withdrawn + 36 open, 50.0", "1+0 batches, 72 = 18 rooted + 0 lost + 0 withdrawn + 54 open, 25.0"},
		{"an emptied tray is not finished for that", []*models.BatchRecord{allPotted},
			"0+0 batches, 0 = 0 rooted + 0 lost + 0 withdrawn + 0 open, none", "1+0 batches, 72 = 72 rooted + 0 lost + 0 withdrawn + 0 open, 100.0"},
		{"nor by a late look at a part", []*models.BatchRecord{partLate},
			"0+0 batches, 0 = 0 rooted + 0 lost + 0 withdrawn + 0 open, none", "1+0 batches, 72 = 36 rooted + 0 lost + 0 withdrawn + 36 open, 50.0"},
		{"never looked at is in no denominator", []*models.BatchRecord{never, day84},
			"1+0 batches, 72 = 18 rooted + 0 lost + 0 withdrawn + 54 open, 25.0", "0+1 batches, 0 = 0 rooted + 0 lost + 0 withdrawn + 0 open, none"},
		{"a tray that died unseen counts", []*models.BatchRecord{diedUnseen, day84},
			"2+0 batches, 144 = 18 rooted + 72 lost + 0 withdrawn + 54 open, 12.5", "0+0 batches, 0 = 0 rooted + 0 lost + 0 withdrawn + 0 open, none"},
		{"live ones whose roots nobody saw do not", []*models.BatchRecord{onlyLosses},
			"0+0 batches, 0 = 0 rooted + 0 lost + 0 withdrawn + 0 open, none", "0+1 batches, 0 = 0 rooted + 0 lost + 0 withdrawn + 0 open, none"},
		{"potting is a look", []*models.BatchRecord{pottedUnseen},
			"0+0 batches, 0 = 0 rooted + 0 lost + 0 withdrawn + 0 open, none", "1+0 batches, 72 = 30 rooted + 0 lost + 0 withdrawn + 42 open, 41.7"},
		{"a look at a part is none of the tray", []*models.BatchRecord{onlyPart},
			"0+0 batches, 0 = 0 rooted + 0 lost + 0 withdrawn + 0 open, none", "0+1 batches, 0 = 0 rooted + 0 lost + 0 withdrawn + 0 open, none"},
		{"closed: unrooted at close are not lost", []*models.BatchRecord{closedLate},
			"1+0 batches, 72 = 10 rooted + 12 lost + 0 withdrawn + 50 open, 13.9", "0+0 batches, 0 = 0 rooted + 0 lost + 0 withdrawn + 0 open, none"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			report := group(t, []string{"taxon"}, "2026-08-01", c.batches...)
			if got := countText(report.Groups[0].Finished); got != c.finished {
				t.Errorf("finished %s, want %s", got, c.finished)
			}
			if got := countText(report.Groups[0].Unfinished); got != c.unfinished {
				t.Errorf("unfinished %s, want %s", got, c.unfinished)
			}
		})
	}
}

func TestDaysOfAGroup(t *testing.T) {
	early := batchWith(stuck("2026-01-18"), looked("2026-01-28", 60))
	late := batchWith(stuck("2026-02-01"), looked("2026-02-15", 0), looked("2026-03-03", 60))
	unseen := batchWith(stuck("2026-02-01"))
	report := group(t, []string{"taxon"}, "2026-08-01", early, late, unseen)
	days := report.Groups[0].DaysToRoot
	if got := levelsText(days.OfRooted); got != "0-10 0-10 14-30" {
		t.Errorf("of rooted %s", got)
	}
	if got := levelsText(days.OfStuck); got != "0-10 14-30 not_reached" {
		t.Errorf("of stuck %s: 120 of 144 have rooted", got)
	}
}

// TestGroupsAddUp wants every stuck batch in exactly one group and every count
// to balance, whatever it is grouped by and in whatever order batches come.
func TestGroupsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		by := rapid.SliceOfNDistinct(rapid.SampledFrom(rules.Groupings()), 1, 4, rapid.ID).Draw(t, "by")
		var all []rules.Told
		stuckBatches := 0
		for range rapid.IntRange(0, 8).Draw(t, "batches") {
			r := drawBatch(t)
			s, err := rules.Replay(r, lastEntry(r).Add(rapid.IntRange(0, 50).Draw(t, "days after")))
			if err != nil {
				t.Fatal(err)
			}
			all = append(all, rules.Told{Record: r, Story: s})
			if r.Sticking != nil {
				stuckBatches++
			}
		}
		report, err := rules.GroupRooting(all, by, rules.DefaultSettings(), day("2027-01-01"))
		if err != nil {
			t.Fatal(err)
		}
		seen := 0
		for _, g := range report.Groups {
			if !slices.Equal(slices.Sorted(maps.Keys(g.Key)), slices.Sorted(slices.Values(by))) {
				t.Fatalf("key %v, grouped by %v", g.Key, by)
			}
			for _, c := range []models.GroupCount{g.Finished, g.Unfinished} {
				seen += c.Batches + c.WithoutChecks
				if sum := c.Rooted + c.Lost + c.Withdrawn + c.StillUnrooted; sum != c.Cuttings {
					t.Fatalf("%s does not balance", countText(c))
				}
			}
		}
		if seen != stuckBatches {
			t.Fatalf("%d batches in groups, %d were stuck", seen, stuckBatches)
		}
		slices.Reverse(all)
		again, _ := rules.GroupRooting(all, by, rules.DefaultSettings(), day("2027-01-01"))
		if keys(again) != keys(report) {
			t.Fatalf("%s, and turned round %s", keys(report), keys(again))
		}
	})
}

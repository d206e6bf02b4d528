package rules_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/stats"
)

func watch(t *testing.T, r *models.BatchRecord, on string) rules.Watched {
	t.Helper()
	set := rules.DefaultSettings()
	w, ok, err := rules.Watch(r, day(on), &set.Thresholds)
	if err != nil || !ok {
		t.Fatalf("%+v, %v, %v", w, ok, err)
	}
	return w
}

func TestLooksOfABatch(t *testing.T) {
	tray := func(changes ...change) *models.BatchRecord {
		return batchWith(append([]change{stuck("2026-01-18")}, changes...)...)
	}
	cases := []struct {
		name  string
		batch *models.BatchRecord
		looks []stats.Look
	}{
		{"never looked at", tray(), nil},
		{"rooted and lost", tray(lost("2026-02-01", 20, 40)),
			[]stats.Look{{Day: 14, Rooted: 20, Lost: 40, Saw: stats.SawRoots}}},
		{"newly rooted are the rise", tray(looked("2026-02-01", 10), looked("2026-02-08", 40)),
			[]stats.Look{{Day: 14, Rooted: 10, Saw: stats.SawRoots}, {Day: 21, Rooted: 30, Saw: stats.SawRoots}}},
		{"losses alone are no look at roots", tray(onlyLost("2026-02-01", 5)),
			[]stats.Look{{Day: 14, Lost: 5, Saw: stats.SawLosses}}},
		{"potting finds rooted ones", tray(looked("2026-02-01", 10), potted("2026-02-10", 30)),
			[]stats.Look{{Day: 14, Rooted: 10, Saw: stats.SawRoots}, {Day: 23, Rooted: 20, Saw: stats.SawRoots}}},
		{"potting what was known says nothing", tray(looked("2026-02-01", 10), potted("2026-02-10", 10)),
			[]stats.Look{{Day: 14, Rooted: 10, Saw: stats.SawRoots}}},
		{"a look at a part says nothing", tray(looked("2026-02-01", 10), examined("2026-02-10", 10, 9, 9)),
			[]stats.Look{{Day: 14, Rooted: 10, Saw: stats.SawRoots}}},
		{"later entries are left out", tray(looked("2026-02-01", 10), looked("2026-09-01", 40)),
			[]stats.Look{{Day: 14, Rooted: 10, Saw: stats.SawRoots}}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			w := watch(t, c.batch, "2026-06-01")
			if !slices.Equal(w.Lot.Looks, c.looks) || w.Lot.Cuttings != 72 {
				t.Errorf("%+v, want %+v", w.Lot, c.looks)
			}
		})
	}
}

// TestLotAgreesWithTheStory holds what a batch's looks add up to against its
// tally: two ways to count the same cuttings.
func TestLotAgreesWithTheStory(t *testing.T) {
	set := rules.DefaultSettings()
	rapid.Check(t, func(t *rapid.T) {
		r := drawBatch(t)
		on := lastEntry(r).Add(rapid.IntRange(-40, 5).Draw(t, "days"))
		s, err := rules.Replay(r, on)
		if err != nil {
			t.Fatal(err)
		}
		w, ok, err := rules.Watch(r, on, &set.Thresholds)
		if err != nil || ok != (s.Tally.Stuck > 0) {
			t.Fatalf("watched %v, stuck %d, %v", ok, s.Tally.Stuck, err)
		}
		if !ok {
			return
		}
		if err := w.Lot.Check(); err != nil {
			t.Fatal(err)
		}
		got := [4]int{w.Lot.Rooted(), w.Lot.Lost(), w.Lot.Withdrawn(), w.Lot.Open()}
		want := [4]int{s.Tally.EverRooted, s.Tally.LostUnrooted, s.Tally.Withdrawn, s.Tally.Unrooted}
		if got != want {
			t.Fatalf("rooted, lost, withdrawn and open are %v, told %v", got, want)
		}
	})
}

func TestPoolsKeepEveryBatchOnce(t *testing.T) {
	batches := []rules.Watched{
		{Lot: stats.Lot{ID: "a"}, Keys: map[string]string{"treatment": "none", "medium": "Perlite"}},
		{Lot: stats.Lot{ID: "b"}, Keys: map[string]string{"treatment": "none", "medium": "perlite"}},
		{Lot: stats.Lot{ID: "c"}, Keys: map[string]string{"treatment": "IBA 3000 ppm"}},
	}
	for _, c := range []struct {
		by    []string
		sizes []int
	}{{nil, []int{3}}, {[]string{"treatment"}, []int{1, 2}}, {[]string{"medium", "medium"}, []int{1, 2}}, {[]string{"treatment", "medium"}, []int{1, 2}}} {
		pools, err := rules.Pools(batches, c.by)
		if err != nil {
			t.Fatal(err)
		}
		var sizes []int
		for p := range pools {
			sizes = append(sizes, len(p.Batches))
		}
		if !slices.Equal(sizes, c.sizes) {
			t.Errorf("by %v: pools of %v, want %v", c.by, sizes, c.sizes)
		}
	}
	if _, err := rules.Pools(batches, []string{"colour"}); err == nil {
		t.Error("grouped by colour")
	}
}

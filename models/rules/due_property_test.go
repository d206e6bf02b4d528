package rules_test

import (
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

// drawBatch is a batch of any taxon and kind, with a history that can be.
func drawBatch(t *rapid.T) *models.BatchRecord {
	r := batchWith(
		taxon(rapid.SampledFrom([]string{"Salix scouleriana", "Cornus sericea", "Physocarpus capitatus"}).Draw(t, "taxon")),
		kind(rapid.SampledFrom(append([]models.CuttingKind{""}, models.CuttingKinds...)).Draw(t, "kind")),
		purpose(rapid.SampledFrom([]models.Purpose{models.Rooting, models.Rooting, models.DirectStick, models.Weaving}).Draw(t, "purpose")),
	)
	r.Taxon.SlowToRoot = rapid.Bool().Draw(t, "slow")
	on := r.CollectedOn
	if rapid.Bool().Draw(t, "moved") {
		place := rapid.SampledFrom([]models.MoveTo{models.ToSoak, models.ToRefrigerator, models.ToColdStore}).Draw(t, "place")
		moved(on.String(), place, rapid.IntRange(1, r.Cuttings).Draw(t, "moved count"))(r)
	}
	if rapid.Bool().Draw(t, "stuck") {
		drawTray(t, r)
	}
	return r
}

func drawTray(t *rapid.T, r *models.BatchRecord) {
	on := r.CollectedOn.Add(rapid.IntRange(0, 60).Draw(t, "days to sticking"))
	how := rapid.SampledFrom([]func(*models.Sticking){heated, unheated, heatUnsaid, water, coldWater, mist}).Draw(t, "how")
	stuck(on.String(), how, only(rapid.IntRange(1, r.Cuttings).Draw(t, "stuck count")))(r)
	rooted, live := 0, r.Sticking.Count
	for range rapid.IntRange(0, 4).Draw(t, "looks") {
		on = on.Add(rapid.IntRange(1, 40).Draw(t, "days to the next look"))
		rooted = rapid.IntRange(rooted, live).Draw(t, "rooted")
		roots := []int{rooted}
		if rapid.Bool().Draw(t, "graded") {
			ready := rapid.IntRange(0, rooted).Draw(t, "ready")
			roots = append(roots, ready, rapid.IntRange(0, ready).Draw(t, "overlong"))
		}
		looked(on.String(), roots...)(r)
		if rooted > 0 && rapid.Bool().Draw(t, "potted") {
			n := rapid.IntRange(1, rooted).Draw(t, "potted count")
			potted(on.String(), n)(r)
			rooted, live = rooted-n, live-n
		}
	}
	if rapid.Bool().Draw(t, "kept") {
		decided(on.String(), models.Keep, on.Add(rapid.IntRange(0, 60).Draw(t, "kept for")).String())(r)
	}
}

// lastEntry is the day of the last thing entered about a batch.
func lastEntry(r *models.BatchRecord) models.Date {
	last := r.CollectedOn
	if r.Sticking != nil {
		last = r.Sticking.StuckOn
	}
	for _, c := range r.Checks {
		last = c.CheckedOn
	}
	return last
}

func flagsOn(t *rapid.T, r *models.BatchRecord, on models.Date, set models.Settings) []models.DueItem {
	s, err := rules.Replay(r, on)
	if err != nil {
		t.Fatalf("a drawn record cannot be: %v", err)
	}
	return rules.Flags(r, s, set)
}

func TestComingAgreesWithLaterFlags(t *testing.T) {
	set := rules.DefaultSettings()
	rapid.Check(t, func(t *rapid.T) {
		r := drawBatch(t)
		on := lastEntry(r).Add(rapid.IntRange(0, 60).Draw(t, "days after"))
		until := on.Add(rapid.IntRange(0, 45).Draw(t, "days ahead"))
		story, err := rules.Replay(r, on)
		if err != nil {
			t.Fatal(err)
		}
		coming := map[models.Flag]models.DueItem{}
		for _, item := range rules.Coming(r, story, set, until) {
			if _, twice := coming[item.Flag]; twice {
				t.Fatalf("%s comes twice", item.Flag)
			}
			coming[item.Flag] = item
		}
		seen := map[models.Flag]bool{}
		for _, item := range rules.Flags(r, story, set) {
			seen[item.Flag] = true
		}
		for d := on.Add(1); !d.After(until); d = d.Add(1) {
			for _, item := range flagsOn(t, r, d, set) {
				if seen[item.Flag] {
					continue
				}
				seen[item.Flag] = true
				if got, ok := coming[item.Flag]; !ok || !reflect.DeepEqual(got, item) {
					t.Fatalf("on %s is due %+v, but announced was %+v", d, item, got)
				}
				delete(coming, item.Flag)
			}
		}
		if len(coming) > 0 {
			t.Fatalf("announced and not due by %s: %v", until, coming)
		}
	})
}

func TestFlagsHoldTogether(t *testing.T) {
	set := rules.DefaultSettings()
	rapid.Check(t, func(t *rapid.T) {
		r := drawBatch(t)
		on := lastEntry(r).Add(rapid.IntRange(-30, 200).Draw(t, "days after"))
		if on.Before(r.CollectedOn) {
			on = r.CollectedOn
		}
		items := flagsOn(t, r, on, set)
		if again := flagsOn(t, r, on, set); !reflect.DeepEqual(items, again) {
			t.Fatalf("asked twice: %v, then %v", items, again)
		}
		seen := map[models.Flag]bool{}
		for _, item := range items {
			switch {
			case seen[item.Flag]:
				t.Fatalf("%s stands twice", item.Flag)
			case item.Since.After(on) || item.Since.Before(r.CollectedOn):
				t.Fatalf("%+v on %s: since is not between the cut and that day", item, on)
			case item.Count < 1 || item.Count > r.Cuttings:
				t.Fatalf("%+v concerns none, or more than the %d there are", item, r.Cuttings)
			case item.Reason == "" || item.Batch != r.Code:
				t.Fatalf("%+v lacks its reason or batch", item)
			}
			seen[item.Flag] = true
		}
	})
}

// TestSinceIsTheFirstDay wants each flag to stand on its since and, where
// nothing was entered that day, not on the day before.
func TestSinceIsTheFirstDay(t *testing.T) {
	set := rules.DefaultSettings()
	rapid.Check(t, func(t *rapid.T) {
		r := drawBatch(t)
		last := lastEntry(r)
		on := last.Add(rapid.IntRange(0, 200).Draw(t, "days after"))
		for _, item := range flagsOn(t, r, on, set) {
			if !item.Since.After(last) {
				continue
			}
			if find(flagsOn(t, r, item.Since, set), item.Flag) == nil {
				t.Fatalf("%+v does not stand on its first day", item)
			}
			if find(flagsOn(t, r, item.Since.Add(-1), set), item.Flag) != nil {
				t.Fatalf("%+v stands before its first day", item)
			}
		}
	})
}

func TestAClosedBatchAsksForNothing(t *testing.T) {
	set := rules.DefaultSettings()
	rapid.Check(t, func(t *rapid.T) {
		r := drawBatch(t)
		last := lastEntry(r).Add(1)
		decided(last.String(), models.CloseBatch, "")(r)
		on := last.Add(rapid.IntRange(0, 400).Draw(t, "days after"))
		if items := flagsOn(t, r, on, set); len(items) > 0 {
			t.Fatalf("closed on %s, and on %s asks for %v", last, on, items)
		}
	})
}

func BenchmarkComing(b *testing.B) {
	set := rules.DefaultSettings()
	r := batchWith(stuck("2026-01-18", unheated), looked("2026-02-07", 40), looked("2026-03-01", 50, 20))
	story := tell(b, r, day("2026-03-02"))
	for b.Loop() {
		rules.Coming(r, story, set, day("2026-03-09"))
	}
}

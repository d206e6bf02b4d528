package rules_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/stats"
)

// lot is a lot given as days, newly rooted and newly lost.
func lot(id string, cuttings int, looks ...int) rules.Watched {
	w := rules.Watched{Lot: stats.Lot{ID: id, Cuttings: cuttings}, FinalAt: 84, Keys: map[string]string{}}
	for i := 0; i < len(looks); i += 3 {
		w.Lot.Looks = append(w.Lot.Looks, stats.Look{Day: int32(looks[i]), Rooted: int32(looks[i+1]), Lost: int32(looks[i+2]), Saw: stats.SawRoots})
	}
	return w
}

var draw = stats.Drawing{Replicates: 200, Seed: 1}

func rateOf(t *testing.T, batches ...rules.Watched) models.RateGroup {
	t.Helper()
	g, err := rules.RateOf(context.Background(), rules.Pool{Batches: batches}, draw)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// TestRateByItsMethod has what a rate is worked out from: what counts as closed is
// age, never that nothing is left.
func TestRateByItsMethod(t *testing.T) {
	finished := lot("f", 20, 40, 8, 4)
	finished.Lot.Finished = true
	done := lot("d", 20, 40, 12, 8)
	done.Lot.Finished = true
	lifted := lot("l", 20, 84, 9, 3)
	lifted.Lot.Looks[0].Withdrawn = 4
	closed := lot("a", 20, 28, 4, 1, 84, 6, 3)
	late := lot("b", 20, 50, 9, 0, 88, 1, 0, 120, 5, 0)
	cases := []struct {
		name     string
		batches  []rules.Watched
		method   models.RateMethod
		estimate float64
		day      int
		limits   bool
	}{
		{"one batch stands for itself", []rules.Watched{lot("a", 20, 14, 2, 1, 21, 8, 0, 28, 4, 1, 42, 1, 0)}, models.OneBatch, 0.75, 42, true},
		{"all watched to the end", []rules.Watched{closed, lot("c", 30, 90, 9, 21), lot("e", 10, 84, 5, 5)}, models.CrudeClosed, 24.0 / 60, 84, true},
		{"what rooted after the look that covers the day is left out", []rules.Watched{closed, late}, models.CrudeClosed, 20.0 / 40, 84, true},
		{"declared finished with nothing left", []rules.Watched{closed, done}, models.CrudeClosed, 22.0 / 40, 84, true},
		{"declared finished with some left is open", []rules.Watched{closed, finished}, models.AtDay, 0, 0, false},
		{"nothing left is not closed", []rules.Watched{closed, lot("x", 20, 20, 20, 0)}, models.AtDay, 0, 0, false},
		{"taken out is not watched to the end", []rules.Watched{closed, lifted, late}, models.AtDay, 0, 0, true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			rate := rateOf(t, c.batches...).Rate
			if rate.Method != c.method || (rate.Lower != nil) != c.limits {
				t.Fatalf("%s, limits %v", rate.Method, rate.Lower)
			}
			if c.day > 0 && (math.Abs(*rate.Estimate-c.estimate) > 1e-6 || *rate.Day != c.day) {
				t.Errorf("%v on day %d, want %v on day %d", *rate.Estimate, *rate.Day, c.estimate, c.day)
			}
		})
	}
}

func TestRateOfNothing(t *testing.T) {
	g := rateOf(t, lot("unseen", 20))
	if g.Rate.Estimate != nil || g.Batches != 0 || g.WithoutChecks != 1 || len(g.Notes) == 0 {
		t.Errorf("%+v", g)
	}
}

// TestDiscardsAreShownBothWays throws out half of a batch early: as losses they
// are in the rate, as unseen they are not.
func TestDiscardsAreShownBothWays(t *testing.T) {
	thrown := lot("a", 40, 20, 10, 0, 30, 0, 20)
	thrown.Lot.Looks[1].Discarded = 20
	g := rateOf(t, thrown)
	if *g.Rate.Estimate != 0.25 || g.RateCensored == nil || *g.RateCensored.Estimate != 0.25 {
		t.Errorf("%v and %v", *g.Rate.Estimate, g.RateCensored)
	}
	long := func(id string) rules.Watched { return lot(id, 40, 20, 10, 0, 60, 20, 0, 84, 0, 0) }
	g = rateOf(t, thrown, long("b"), long("c"), long("d"))
	if !(*g.RateCensored.Estimate > *g.Rate.Estimate+0.05) {
		t.Errorf("%v counted as losses, %v as unseen", *g.Rate.Estimate, *g.RateCensored.Estimate)
	}
	if g = rateOf(t, lot("b", 40, 20, 10, 0)); g.RateCensored != nil {
		t.Error("two rates without discards")
	}
}

// TestCurveByHand has the one batch worked by hand, in the form in which it is
// answered.
func TestCurveByHand(t *testing.T) {
	c := curveOf(t, lot("hand-1", 20, 14, 2, 1, 21, 8, 0, 28, 4, 1, 42, 1, 0))
	if c.Tau == nil || *c.Tau != 42 || !c.Unique || c.Bootstrap.Method != "within_batch" || c.Open != 3 {
		t.Errorf("%+v", c)
	}
	if got := levelText(c.DaysToRoot.OfStuck); got != "0-14 14-21 not_reached" {
		t.Errorf("of stuck %s", got)
	}
	if got := levelText(c.DaysToRoot.OfRooted); got != "0-14 14-21 21-28" {
		t.Errorf("of rooted %s", got)
	}
	if limits := c.DaysToRoot.OfStuck.T50.Limits; limits == nil || *limits[0] != 14 || limits[1] == nil || *limits[1] != 42 {
		t.Errorf("limits of half %v", limits)
	}
	if limits := c.DaysToRoot.OfStuck.T90.Limits; limits != nil {
		t.Errorf("limits of what no limit reaches: %v", limits)
	}
	last := c.Curve[len(c.Curve)-1]
	if math.Abs(last.Limits[0]-.531299) > 1e-5 || math.Abs(last.Limits[1]-.888138) > 1e-5 || last.AtRisk != 4 {
		t.Errorf("last point %+v", last)
	}
}

func curveOf(t *testing.T, batches ...rules.Watched) models.RootingCurve {
	t.Helper()
	c, err := rules.CurveOf(context.Background(), rules.Pool{Batches: batches}, draw)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func levelText(l models.CurveLevels) string {
	text := func(c models.CurveLevel) string {
		return bracketText(c.Bracket)
	}
	return text(l.T10) + " " + text(l.T50) + " " + text(l.T90)
}

func TestEdgesOfCurves(t *testing.T) {
	all := curveOf(t, lot("all", 20, 14, 20, 0))
	if levelText(all.DaysToRoot.OfStuck) != "0-14 0-14 0-14" || math.Abs(*all.Rate.Lower-.839) > 1e-3 {
		t.Errorf("all rooted: %s, from %v", levelText(all.DaysToRoot.OfStuck), *all.Rate.Lower)
	}
	none := curveOf(t, lot("none", 20, 14, 0, 20))
	if levelText(none.DaysToRoot.OfRooted) != "undefined undefined undefined" || levelText(none.DaysToRoot.OfStuck) != "not_reached not_reached not_reached" {
		t.Errorf("all lost: %s, %s", levelText(none.DaysToRoot.OfStuck), levelText(none.DaysToRoot.OfRooted))
	}
	if two := curveOf(t, lot("a", 20, 14, 5, 0), lot("b", 20, 14, 9, 0)); two.Curve[0].Limits != nil || two.Bootstrap.Method != "none" {
		t.Errorf("two batches have limits: %+v", two.Curve[0])
	}
	if empty := curveOf(t); empty.Tau != nil || len(empty.Steps) != 0 || empty.Steps == nil {
		t.Errorf("of nothing %+v", empty)
	}
}

// TestCurvesAreAnswerable wants every pool to be writable as JSON, without a
// number that is none, limits in order and around the curve.
func TestCurvesAreAnswerable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var batches []rules.Watched
		for i := range rapid.IntRange(0, 6).Draw(t, "batches") {
			looks, left, day := []int{}, 30, 0
			for range rapid.IntRange(0, 4).Draw(t, "looks") {
				day += rapid.IntRange(1, 40).Draw(t, "days")
				rooted := rapid.IntRange(0, left).Draw(t, "rooted")
				lost := rapid.IntRange(0, left-rooted).Draw(t, "lost")
				left -= rooted + lost
				looks = append(looks, day, rooted, lost)
			}
			batches = append(batches, lot(string(rune('a'+i)), 30, looks...))
		}
		c, err := rules.CurveOf(context.Background(), rules.Pool{Key: models.RootingKey{}, Batches: batches}, stats.Drawing{Replicates: 20, Seed: 1})
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal(c)
		if err != nil || strings.Contains(string(text), `"steps":null`) {
			t.Fatalf("%v: %s", err, text)
		}
		for _, p := range c.Curve {
			if p.Limits != nil && !(0 <= p.Limits[0] && p.Limits[0] <= p.RootedLower+1e-9 && p.RootedLower <= p.Limits[1]+1e-9 && p.Limits[1] <= 1) {
				t.Fatalf("point %+v, limits %v", p, *p.Limits)
			}
		}
	})
}

// TestPoolingIsSaid pools treatments that differ: it says so, with a p.
func TestPoolingIsSaid(t *testing.T) {
	var batches []rules.Watched
	for i := range 4 {
		batches = append(batches, inArm(lot(fmt.Sprint("a", i), 30, 14, 3+i, 0, 84, 2, 1), "none", ""), inArm(lot(fmt.Sprint("b", i), 30, 14, 15+i, 0, 84, 8, 1), "IBA", ""))
	}
	notes := strings.Join(rateOf(t, batches...).Notes, "\n")
	if !strings.Contains(notes, "pooled over 2 treatments (p = 0.029") {
		t.Errorf("notes %q", notes)
	}
	if notes = strings.Join(rateOf(t, batches[0], batches[1]).Notes, "\n"); !strings.Contains(notes, "pooled over 2 treatments") || strings.Contains(notes, "p =") {
		t.Errorf("notes of two batches %q", notes)
	}
}

// TestSpreadBetweenBatches has Crowder's plates (1978, Appl Stat 27:34-37), all
// counted on one day, and batches that are open on different ones.
func TestSpreadBetweenBatches(t *testing.T) {
	x := []int{10, 23, 23, 26, 17, 5, 53, 55, 32, 46, 10, 8, 10, 8, 23, 0, 3, 22, 15, 32, 3}
	n := []int{39, 62, 81, 51, 39, 6, 74, 72, 51, 79, 13, 16, 30, 28, 45, 4, 12, 41, 30, 51, 7}
	var plates []rules.Watched
	for i := range x {
		plates = append(plates, lot(fmt.Sprint(i), n[i], 28, x[i], 0))
	}
	o := rateOf(t, plates...).Overdispersion
	if o.Status != "estimated" || o.Batches != 21 || math.Abs(*o.Rho-.081572) > 5e-4 || math.Abs(*o.LogLikelihood+64.516283) > 1e-4 {
		t.Errorf("%+v", o)
	}
	closed := []rules.Watched{lot("a", 30, 90, 10, 0), lot("b", 30, 90, 20, 0), lot("c", 30, 20, 1, 0)}
	if o = rateOf(t, closed...).Overdispersion; o.Batches != 2 || o.LeftOut != 1 || o.Rho == nil {
		t.Errorf("two closed and one young: %+v", o)
	}
	if o = rateOf(t, lot("a", 30, 20, 10, 0), lot("b", 30, 21, 20, 0)).Overdispersion; o.Status != "not_estimable" || o.Reason == "" || o.LeftOut != 2 {
		t.Errorf("two young: %+v", o)
	}
}

// TestLooksAfterTheFinalDay has five batches looked at on day 85 and a young one:
// what rooted since the look before is in the rate, which says its day.
func TestLooksAfterTheFinalDay(t *testing.T) {
	batches := []rules.Watched{lot("young", 30, 20, 3, 0)}
	for i := range 5 {
		batches = append(batches, lot(fmt.Sprint("a", i), 30, 20, 3, 0, 85, 18+i, 0))
	}
	rate := rateOf(t, batches...).Rate
	if rate.Method != models.AtDay || *rate.Day != 85 || *rate.Estimate < .7 || !(*rate.Lower < *rate.Estimate-.02) {
		t.Errorf("%v by day %d, from %v", *rate.Estimate, *rate.Day, *rate.Lower)
	}
}

// TestLossesAloneCloseNothing has roots looked at on day 20 and only deaths later.
func TestLossesAloneCloseNothing(t *testing.T) {
	var batches []rules.Watched
	for i := range 3 {
		w := lot(fmt.Sprint("a", i), 30, 20, 5+i, 0, 84, 0, 2)
		w.Lot.Looks[1].Saw = stats.SawLosses
		batches = append(batches, w)
	}
	g := rateOf(t, batches...)
	if g.Closed != 0 || g.Rate.Method != models.AtDay || *g.Rate.Day != 20 {
		t.Errorf("%d closed, %s by day %d", g.Closed, g.Rate.Method, *g.Rate.Day)
	}
}

// TestLimitsStandOnEveryDay wants limits as wide on the last days of a curve as the
// rate has them, whose day is drawn by itself.
func TestLimitsStandOnEveryDay(t *testing.T) {
	var batches []rules.Watched
	for i := range 6 {
		batches = append(batches, lot(fmt.Sprint("a", i), 30, 20, 3+i, 0, 84, 5+2*i, 0, 90+i%2, 1, 0))
	}
	batches[0].Lot.Looks[0].Withdrawn = 1
	for _, p := range curveOf(t, batches...).Curve {
		if p.Limits != nil && p.Limits[1]-p.Limits[0] < .05 {
			t.Errorf("day %d: limits %v", p.Day, *p.Limits)
		}
	}
}

package rules_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

// bracketText is a bracket in short: 14-21, not_reached or undefined.
func bracketText(b models.Bracket) string {
	if b.Status != models.Reached {
		if b.From != nil || b.To != nil {
			return "days without being reached"
		}
		return string(b.Status)
	}
	return fmt.Sprintf("%d-%d", *b.From, *b.To)
}

func levelsText(l models.Levels) string {
	return bracketText(l.T10) + " " + bracketText(l.T50) + " " + bracketText(l.T90)
}

func TestRootingOf(t *testing.T) {
	tray := func(changes ...change) *models.BatchRecord {
		return batchWith(append([]change{stuck("2026-01-18")}, changes...)...)
	}
	full := tray(looked("2026-02-01", 0), looked("2026-02-08", 40), looked("2026-02-15", 60))
	cases := []struct {
		name               string
		batch              *models.BatchRecord
		on                 string
		count              string
		ofStuck, ofRooted  string
		neverStuck, unseen bool
	}{
		{name: "not stuck", batch: batchWith(), on: "2026-06-01", neverStuck: true},
		{name: "stuck the day after", batch: tray(), on: "2026-01-17", neverStuck: true},
		{name: "never looked at", batch: tray(), on: "2026-06-01", unseen: true,
			ofStuck: "not_reached not_reached not_reached", ofRooted: "undefined undefined undefined"},
		{name: "roots not examined", batch: tray(looked("2026-02-01")), on: "2026-06-01", unseen: true,
			ofStuck: "not_reached not_reached not_reached", ofRooted: "undefined undefined undefined"},
		{name: "none rooted", batch: full, on: "2026-02-01", count: "0/72 0.0 on 2026-02-01",
			ofStuck: "not_reached not_reached not_reached", ofRooted: "undefined undefined undefined"},
		{name: "half had rooted between day 14 and day 21", batch: full, on: "2026-02-14", count: "40/72 55.6 on 2026-02-08",
			ofStuck: "14-21 14-21 not_reached", ofRooted: "14-21 14-21 14-21"},
		{name: "the rest later", batch: full, on: "2026-02-15", count: "60/72 83.3 on 2026-02-15",
			ofStuck: "14-21 14-21 not_reached", ofRooted: "14-21 14-21 21-28"},
		{name: "lost ones stay in the base", batch: tray(lost("2026-02-01", 20, 40)), on: "2026-03-01", count: "20/72 27.8 on 2026-02-01",
			ofStuck: "0-14 not_reached not_reached", ofRooted: "0-14 0-14 0-14"},
		{name: "potting finds them rooted", batch: tray(looked("2026-02-01", 10), potted("2026-02-10", 30)), on: "2026-03-01", count: "30/72 41.7 on 2026-02-10",
			ofStuck: "0-14 not_reached not_reached", ofRooted: "0-14 14-23 14-23"},
		{name: "a tray that died before roots were looked at", batch: tray(onlyLost("2026-02-01", 40), onlyLost("2026-02-10", 32)), on: "2026-03-01", count: "0/72 0.0 on 2026-02-10",
			ofStuck: "not_reached not_reached not_reached", ofRooted: "undefined undefined undefined"},
		{name: "losses alone say nothing of the living", batch: tray(onlyLost("2026-02-01", 40)), on: "2026-03-01", unseen: true,
			ofStuck: "not_reached not_reached not_reached", ofRooted: "undefined undefined undefined"},
		{name: "a look at a part moves nothing", batch: tray(looked("2026-02-01", 10), examined("2026-02-10", 10, 9, 9)), on: "2026-03-01", count: "10/72 13.9 on 2026-02-01",
			ofStuck: "0-14 not_reached not_reached", ofRooted: "0-14 0-14 0-14"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			count, days := rules.RootingOf(c.batch, tell(t, c.batch, day(c.on)))
			if c.neverStuck {
				if count != nil || days != nil {
					t.Fatalf("%+v, %+v of a batch that was not stuck", count, days)
				}
				return
			}
			if got := levelsText(days.OfStuck); got != c.ofStuck {
				t.Errorf("of stuck %s, want %s", got, c.ofStuck)
			}
			if got := levelsText(days.OfRooted); got != c.ofRooted {
				t.Errorf("of rooted %s, want %s", got, c.ofRooted)
			}
			if c.unseen {
				if count != nil {
					t.Errorf("a percent that nobody looked for: %+v", count)
				}
				return
			}
			if got := fmt.Sprintf("%d/%d %.1f on %s", count.EverRooted, count.Stuck, count.Percent, count.On); got != c.count {
				t.Errorf("%s, want %s", got, c.count)
			}
		})
	}
}

// TestIntervalOfABatch holds the interval against the formula of Wilson (1927)
// worked by hand for 14 of 20.
func TestIntervalOfABatch(t *testing.T) {
	r := batchWith(func(r *models.BatchRecord) { r.Cuttings = 20 }, stuck("2026-01-18"), looked("2026-02-08", 14))
	count, _ := rules.RootingOf(r, tell(t, r, day("2026-02-08")))
	if math.Abs(count.Lower-48.1027) > 0.001 || math.Abs(count.Upper-85.4523) > 0.001 {
		t.Errorf("14 of 20: %.4f to %.4f", count.Lower, count.Upper)
	}
}

func TestPercentLiesInItsInterval(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawBatch(t)
		s, err := rules.Replay(r, lastEntry(r))
		if err != nil {
			t.Fatal(err)
		}
		count, days := rules.RootingOf(r, s)
		if (days == nil) != (r.Sticking == nil) {
			t.Fatalf("days to root %+v of sticking %+v", days, r.Sticking)
		}
		if count == nil {
			return
		}
		if !(0 <= count.Lower && count.Lower <= count.Percent && count.Percent <= count.Upper && count.Upper <= 100) {
			t.Fatalf("%+v is not in order", count)
		}
		if count.On.IsZero() || count.EverRooted > count.Stuck {
			t.Fatalf("%+v cannot be", count)
		}
	})
}

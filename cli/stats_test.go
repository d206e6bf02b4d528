package cli

import (
	"encoding/json"
	"math"
	"testing"

	"pgregory.net/rapid"

	"withybed/models/stats"
)

// TestPotDaysAreInOrder wants more plants to take longer, none longer than there
// are, and what is there to be there now.
func TestPotDaysAreInOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := potting{
			Day: ptrTo(rapid.IntRange(0, 60).Draw(t, "day")), Rooted: rapid.IntRange(0, 30).Draw(t, "rooted"), Lost: rapid.IntRange(0, 30).Draw(t, "lost"),
			Open: ptrTo(rapid.IntRange(0, 40).Draw(t, "open")), Rate: ptrTo(rapid.Float64Range(.05, 1).Draw(t, "rate")), Family: rapid.SampledFrom(familyNames()).Draw(t, "family"),
			T50: ptrTo(rapid.Float64Range(5, 60).Draw(t, "t50")), Rho: ptrTo(rapid.Float64Range(0, .4).Draw(t, "rho")), Chance: .9, Horizon: 200,
		}
		p.T90 = ptrTo(*p.T50 * rapid.Float64Range(1.05, 3).Draw(t, "t90"))
		last := *p.Day
		for want := range p.Rooted + *p.Open + 2 {
			p.Want = &want
			a, err := p.answer()
			if err != nil {
				t.Fatal(err)
			}
			if _, err := json.Marshal(a); err != nil || math.IsNaN(a.ExpectedFinal) {
				t.Fatalf("%+v, %v", a, err)
			}
			switch {
			case want <= p.Rooted && (a.Status != "now" || *a.PotOn != *p.Day):
				t.Fatalf("%d of %d are there: %+v", want, p.Rooted, a)
			case want > p.Rooted+*p.Open && a.Status != "not_reached":
				t.Fatalf("%d of %d and %d: %+v", want, p.Rooted, *p.Open, a)
			case a.PotOn == nil:
				last = math.MaxInt
			case *a.PotOn < last:
				t.Fatalf("%d by day %d, fewer by day %d", want, *a.PotOn, last)
			default:
				last = *a.PotOn
			}
		}
	})
}

func ptrTo[T any](v T) *T { return &v }

// FuzzParseShares never panics, and reads only batches that can be.
func FuzzParseShares(f *testing.F) {
	f.Add("14/20,17/20")
	f.Add(" 1 /2")
	f.Fuzz(func(t *testing.T, text string) {
		shares, err := parseShares(text)
		if err != nil {
			return
		}
		for _, s := range shares {
			if s.Stuck < 1 || s.Rooted < 0 || s.Rooted > s.Stuck {
				t.Fatalf("%q is read as %v", text, shares)
			}
		}
	})
}

// TestNeedsGrow wants more plants to take more cuttings, each part of them to be
// none or more, and the cuttings it takes to give the plants with the chance.
func TestNeedsGrow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := need{Assurance: rapid.Float64Range(.8, .95).Draw(t, "assurance"), Batches: spread{over: 1}}
		laws := rapid.IntRange(1, 3).Draw(t, "laws")
		for range laws {
			var seen lotShares
			for range rapid.IntRange(1, 4).Draw(t, "batches") {
				stuck := rapid.IntRange(10, 40).Draw(t, "stuck")
				seen = append(seen, stats.Share{Rooted: rapid.IntRange(stuck/2, stuck).Draw(t, "rooted"), Stuck: stuck})
			}
			law, err := lawOf(seen)
			if err != nil {
				t.Fatal(err)
			}
			n.Step = append(n.Step, chainStep{"step", law})
		}
		if laws == 1 {
			n.Batch, n.Step = n.Step[0].law.seen, nil
			n.Batches.over = rapid.IntRange(1, 2).Draw(t, "over")
		}
		last := 0
		for _, plants := range []int{0, 1, 12} {
			n.Plants, n.Cuttings = &plants, nil
			a, err := n.forPlants()
			if err != nil {
				t.Fatal(err)
			}
			if a.Cuttings == nil {
				return // a law that may be all or nothing
			}
			if *a.Differ < 0 || *a.Unknown < 0 || *a.Cuttings < last || *a.Cuttings != *a.MeanRule+*a.Chance+*a.Differ+*a.Unknown {
				t.Fatalf("%+v", a)
			}
			last = *a.Cuttings
		}
		n.Cuttings = &last
		if a, err := n.forPlants(); err != nil || a.Given.Chance < n.Assurance-1e-6 {
			t.Fatalf("%d cuttings for %d plants: %+v, %v", last, a.Plants, a.Given, err)
		}
	})
}

// FuzzCalculatorJSON never panics, whatever the parameters.
func FuzzCalculatorJSON(f *testing.F) {
	f.Add(`{"batches":[[14,20],[9,20]],"plants":5,"rate":0.5,"day":3,"open":4,"t50":10,"t90":20}`)
	f.Add(`{"plants":15,"step":["rooting=14/20,17/20","potting=18,2"],"cuttings":30}`)
	f.Fuzz(func(t *testing.T, text string) {
		p, n, k := &proportion{Level: .95}, &need{Assurance: .9, Batches: spread{over: 1}}, &potting{Family: "weibull", Chance: .9, Horizon: 50}
		if json.Unmarshal([]byte(text), p) == nil {
			_, _ = p.answer()
		}
		if json.Unmarshal([]byte(text), n) == nil && n.Plants != nil && *n.Plants < 500 && n.Batches.over < 9 && len(n.Step) < 3 {
			if a, err := n.forPlants(); err == nil {
				if _, err := json.Marshal(a); err != nil {
					t.Fatal(err)
				}
			}
		}
		if json.Unmarshal([]byte(text), k) == nil && (k.Open == nil || *k.Open < 500) {
			if a, err := k.answer(); err == nil {
				if _, err := json.Marshal(a); err != nil {
					t.Fatal(err)
				}
			}
		}
	})
}

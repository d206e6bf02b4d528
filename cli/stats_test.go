package cli

import (
	"encoding/json"
	"math"
	"testing"

	"pgregory.net/rapid"
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

// FuzzCalculatorJSON never panics, whatever the parameters.
func FuzzCalculatorJSON(f *testing.F) {
	f.Add(`{"batches":[[14,20],[9,20]],"plants":5,"rate":0.5,"day":3,"open":4,"t50":10,"t90":20}`)
	f.Fuzz(func(t *testing.T, text string) {
		p, n, k := &proportion{Level: .95}, &need{Assurance: .9, Batches: 1}, &potting{Family: "weibull", Chance: .9, Horizon: 50}
		if json.Unmarshal([]byte(text), p) == nil {
			_, _ = p.answer()
		}
		if json.Unmarshal([]byte(text), n) == nil && n.Plants != nil && *n.Plants < 500 && n.Batches < 9 {
			_, _ = n.forPlants()
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

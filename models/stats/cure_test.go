package stats_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"withybed/models/stats"
)

func ExampleFitCure() {
	lots := drawnLots(20, 40, 120, stats.Law{Family: stats.LogNormal, Mu: math.Log(30), Sigma: 0.4}, 1)
	fits, err := stats.FitCure(context.Background(), lots)
	if err != nil {
		panic(err)
	}
	for _, f := range fits {
		fmt.Printf("%s: %s, half of those that root by day %.0f\n", f.Family, f.Status, f.Rooting.Quantile(0.5))
	}
	// Output:
	// weibull: converged, half of those that root by day 32
	// log_logistic: converged, half of those that root by day 30
	// log_normal: converged, half of those that root by day 30
}

// drawnLots are lots whose cuttings root by a law, three fifths of them, and are
// lost by a Weibull law, one in five; the rest does neither.
func drawnLots(lots, cuttings, last int, law stats.Law, seed uint64) []stats.Lot {
	random := rand.New(rand.NewPCG(seed, 5))
	losing := stats.Law{Family: stats.Weibull, Mu: math.Log(25), Sigma: 0.7}
	all := make([]stats.Lot, lots)
	for i := range all {
		all[i] = stats.Lot{ID: fmt.Sprintf("lot-%05d", i), Cuttings: cuttings}
		var rooted, lost []float64
		for range cuttings {
			switch u, q := random.Float64(), random.Float64(); {
			case u < 0.6:
				rooted = append(rooted, law.Quantile(q))
			case u < 0.8:
				lost = append(lost, losing.Quantile(q))
			}
		}
		before := 0
		for day := 7 + random.IntN(7); day <= last; day += 7 + random.IntN(7) {
			all[i].Looks = append(all[i].Looks, stats.Look{Day: int32(day), Saw: stats.SawRoots,
				Rooted: inside(rooted, before, day), Lost: inside(lost, before, day)})
			before = day
		}
	}
	return all
}

func inside(days []float64, after, by int) (n int32) {
	for _, day := range days {
		if day > float64(after) && day <= float64(by) {
			n++
		}
	}
	return n
}

func TestLawsAgainstClosedForms(t *testing.T) {
	weibull := stats.Law{Family: stats.Weibull, Mu: math.Log(10), Sigma: 0.5}
	near(t, "weibull by its scale", weibull.By(10), 1-1/math.E, 1e-15)
	near(t, "weibull of shape 2", weibull.By(20), 1-math.Exp(-4), 1e-15)
	near(t, "weibull median", weibull.Quantile(0.5), 10*math.Sqrt(math.Ln2), 1e-13)
	logistic := stats.Law{Family: stats.LogLogistic, Mu: math.Log(10), Sigma: 0.5}
	near(t, "log-logistic", logistic.By(20), 4.0/5, 1e-15)
	near(t, "log-logistic quantile", logistic.Quantile(0.9), 30, 1e-12)
	normal := stats.Law{Family: stats.LogNormal, Mu: 0, Sigma: 1}
	near(t, "log-normal by e^1.96", normal.By(math.Exp(1.959963984540054)), 0.975, 1e-15)
	near(t, "log-normal quantile", normal.Quantile(0.025), math.Exp(-1.959963984540054), 1e-13)
	// far tails keep their digits: e^-50 (1 - e^-25), Φ(-9) = 1.12858840595384e-19
	far := stats.Law{Family: stats.Weibull, Mu: 0, Sigma: 1}.Between(50, 75)
	near(t, "weibull tail", far/math.Exp(-50), 1-math.Exp(-25), 1e-14)
	near(t, "normal tail", normal.Between(math.Exp(9), math.Inf(1))/1.12858840595384e-19, 1, 1e-12)
	for _, family := range stats.Families() {
		law := stats.Law{Family: family, Mu: 3, Sigma: 0.3}
		near(t, "at day 0", law.By(0), 0, 0)
		near(t, "in the end", law.By(math.Inf(1)), 1, 0)
		for _, q := range []float64{1e-9, 0.1, 0.5, 0.9, 1 - 1e-9} {
			near(t, "quantile and back", law.By(law.Quantile(q)), q, 1e-12)
		}
	}
}

// TestFitsFindWhatWasDrawn has each family fit lots drawn from itself.
func TestFitsFindWhatWasDrawn(t *testing.T) {
	for i, family := range stats.Families() {
		law := stats.Law{Family: family, Mu: math.Log(30), Sigma: 0.3}
		f := fitCure(t, drawnLots(100, 60, 150, law, 2))[i]
		if f.Status != stats.Converged || f.Naive == nil || f.Clustered == nil || f.CLIC == nil {
			t.Fatalf("%s: %s %s", family, f.Status, f.Reason)
		}
		near(t, "pi of rooted", f.PiRoot, 0.6, 0.03)
		near(t, "pi of lost", f.PiLoss, 0.2, 0.03)
		near(t, "mu", f.Rooting.Mu, law.Mu, 0.03)
		near(t, "sigma", f.Rooting.Sigma, law.Sigma, 0.02)
		near(t, "mu of loss", f.Losing.Mu, math.Log(25), 0.1)
		near(t, "errors with and without lots", f.Clustered.LogitPiRoot/f.Naive.LogitPiRoot, 1, 0.25)
		near(t, "naive error of logit pi", f.Naive.LogitPiRoot, 1/math.Sqrt(6000*0.6*0.4), 0.003)
		pi, half, ok := f.Limits(0.95)
		if !ok || !(pi.Lower < f.PiRoot && f.PiRoot < pi.Upper) || !(half.Lower < f.Rooting.Quantile(0.5) && half.Upper < 32) {
			t.Errorf("limits %v %v", pi, half)
		}
		if _, reached := f.DayOfStuck(0.7); reached {
			t.Error("more than roots has a day")
		}
	}
}

func TestWhatIsDeclined(t *testing.T) {
	for _, c := range []struct {
		name string
		lots []stats.Lot
		want stats.CureStatus
	}{
		{"no lots", nil, stats.Declined},
		{"no looks", []stats.Lot{{ID: "a", Cuttings: 20}}, stats.Declined},
		{"nothing rooted", []stats.Lot{lotOf("a", 20, 14, 0, 28, 0)}, stats.Declined},
		{"all at the first look", []stats.Lot{lotOf("a", 20, 14, 20)}, stats.Declined},
		{"two intervals", []stats.Lot{lotOf("a", 20, 14, 4, 28, 5, 42, 0)}, stats.Declined},
		{"one moment in all of them", []stats.Lot{lotOf("a", 20, 14, 4), lotOf("b", 20, 21, 4), lotOf("c", 20, 28, 4)}, stats.Declined},
		{"watched while it goes on", drawnLots(12, 30, 28, stats.Law{Family: stats.Weibull, Mu: math.Log(40), Sigma: 0.4}, 4), stats.PiNotIdentified},
	} {
		for _, f := range fitCure(t, c.lots) {
			if f.Status != c.want || f.Reason == "" {
				t.Errorf("%s, %s: %s %q", c.name, f.Family, f.Status, f.Reason)
			}
		}
	}
}

// TestAllRootInTheEnd drops the share that never roots where there is none.
func TestAllRootInTheEnd(t *testing.T) {
	lots := []stats.Lot{lotOf("a", 40, 14, 6, 21, 12, 28, 13, 35, 7, 42, 2)}
	for _, f := range fitCure(t, lots) {
		if f.Status != stats.Converged || f.PiRoot != 1 || f.PiNever != 0 || f.Parameters != 2 {
			t.Errorf("%+v", f)
		}
	}
}

// TestDaysInAnotherUnit multiplies all days: mu moves by the logarithm, nothing
// else changes.
func TestDaysInAnotherUnit(t *testing.T) {
	lots := drawnLots(15, 40, 120, stats.Law{Family: stats.LogLogistic, Mu: math.Log(30), Sigma: 0.25}, 3)
	longer := make([]stats.Lot, len(lots))
	for i, l := range lots {
		longer[i] = l
		longer[i].Looks = slices.Clone(l.Looks)
		for k := range l.Looks {
			longer[i].Looks[k].Day *= 7
		}
	}
	long := fitCure(t, longer)
	for i, f := range fitCure(t, lots) {
		near(t, "log-likelihood", long[i].LogLikelihood, f.LogLikelihood, 1e-6)
		near(t, "mu", long[i].Rooting.Mu, f.Rooting.Mu+math.Log(7), 1e-5)
		near(t, "sigma", long[i].Rooting.Sigma, f.Rooting.Sigma, 1e-5)
		near(t, "pi", long[i].PiRoot, f.PiRoot, 1e-5)
	}
}

// TestOrderOfLotsMeansNothing wants the very same bits.
func TestOrderOfLotsMeansNothing(t *testing.T) {
	lots := drawnLots(15, 40, 120, stats.Law{Family: stats.Weibull, Mu: math.Log(30), Sigma: 0.4}, 6)
	first := fmt.Sprintf("%+v", plain(fitCure(t, lots)))
	slices.Reverse(lots)
	if again := fmt.Sprintf("%+v", plain(fitCure(t, lots))); again != first {
		t.Errorf("%s\n%s", first, again)
	}
}

// fitCure fits where nothing stops it.
func fitCure(t rapid.TB, lots []stats.Lot) []stats.CureFit {
	t.Helper()
	fits, err := stats.FitCure(context.Background(), lots)
	if err != nil {
		t.Fatal(err)
	}
	return fits
}

// plain are fits without their addresses.
func plain(fits []stats.CureFit) (all []any) {
	for _, f := range fits {
		all = append(all, f.Mixture, f.LogLikelihood, *f.CLIC, *f.Naive, *f.Clustered)
	}
	return all
}

// TestNoFitBeatsTheCurve holds that the nonparametric curve is at least as likely
// as any law, and that no number is one that cannot be.
func TestNoFitBeatsTheCurve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lots := drawLots(t)
		inc := fit(lots)
		for _, f := range fitCure(t, lots) {
			if !f.OK() {
				if f.Reason == "" {
					t.Fatalf("%s without a reason", f.Status)
				}
				continue
			}
			if f.LogLikelihood > inc.LogLikelihood+inc.Gap+1e-9 {
				t.Fatalf("%s: %v, curve %v", f.Family, f.LogLikelihood, inc.LogLikelihood)
			}
			for _, x := range []float64{f.PiRoot, f.PiLoss, f.PiNever, f.Rooting.Mu, f.Rooting.Sigma, f.AIC, f.Deff, f.NeverP, f.Rooting.Quantile(0.9)} {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					t.Fatalf("%+v", f)
				}
			}
			if sum := f.PiRoot + f.PiLoss + f.PiNever; math.Abs(sum-1) > 1e-9 {
				t.Fatalf("shares sum to %v", sum)
			}
		}
	})
}

// BenchmarkFitCure fits three families to 200,000 cuttings in 5,000 lots.
func BenchmarkFitCure(b *testing.B) {
	lots := simulated(5000, 40, 1)
	for b.Loop() {
		fitCure(b, lots)
	}
}

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

// scored are the lots of two or more arms with their scores at the pooled curve.
func scored(arms ...[]stats.Lot) []stats.Scored {
	all := slices.Concat(arms...)
	scores := stats.BatchScores(all, stats.FitIncidence(stats.Pool(all), 0))
	var out []stats.Scored
	for arm, lots := range arms {
		for _, l := range lots {
			out = append(out, stats.Scored{Score: scores[l.ID], Arm: arm})
		}
	}
	return out
}

// TestPublishedScoreTest has U, Z and p of Finkelstein's scores in permutation
// form, as printed by Fay & Shaw (2010), J Stat Softw 36(2).
func TestPublishedScoreTest(t *testing.T) {
	got, ok, _ := stats.TestTwoArms(context.Background(), scored(cosmesisLots("Rad"), cosmesisLots("RadChem")), 1)
	if !ok || got.Exact {
		t.Fatalf("%+v", got)
	}
	near(t, "U", got.U, 9.944182, 1e-4)
	near(t, "Z", got.Z, 2.6839, 1e-4)
	near(t, "p", got.PNormal, .007277, 1e-5)
	near(t, "p of draws", got.P, .007277, 4e-3)
}

// TestSmallestP is what so few batches can show at best.
func TestSmallestP(t *testing.T) {
	for _, c := range []struct {
		noughts, ones int
		want          float64
		few           bool
	}{{4, 4, 2.0 / 70, false}, {3, 3, .1, true}, {2, 5, 1.0 / 21, false}} {
		var lots []stats.Scored
		for i := range c.noughts + c.ones {
			lots = append(lots, stats.Scored{Score: float64(i), Arm: min(1, i/c.noughts)})
		}
		got, _, _ := stats.TestTwoArms(context.Background(), lots, 1)
		near(t, "smallest p", got.SmallestP, c.want, 1e-12)
		if got.TooFew() != c.few || !got.Exact || got.P < c.want || c.noughts == c.ones && got.P != c.want {
			t.Errorf("%d and %d: %+v", c.noughts, c.ones, got)
		}
	}
	for pairs, want := range map[int]float64{5: .0625, 6: .03125} {
		var lots []stats.Scored
		for i := range pairs {
			lots = append(lots, stats.Scored{Score: -1, Arm: 0, Block: i}, stats.Scored{Score: 1, Arm: 1, Block: i})
		}
		got, _, _ := stats.TestTwoArms(context.Background(), lots, 1)
		near(t, "smallest p of pairs", got.SmallestP, want, 1e-12)
		near(t, "p of pairs", got.P, want, 1e-12)
	}
}

// TestArmsAndDosesByHand is worked by hand: scores of four arms of two.
func TestArmsAndDosesByHand(t *testing.T) {
	var lots []stats.Scored
	for i, score := range []float64{-3, -1, -2, 1, 0, 2, 1, 2} {
		lots = append(lots, stats.Scored{Score: score, Arm: i / 2})
	}
	many, ok, _ := stats.TestManyArms(context.Background(), lots, 1)
	if !ok || !many.Exact || many.Labelings != 2520 {
		t.Fatalf("%+v", many)
	}
	near(t, "chi2", many.Chi2, 4.375, 1e-9)
	chi, _ := stats.ChiManyArms(lots)
	near(t, "p of chi2", chi.PChi, .2238, 1e-4) // of 4.375 on 3 degrees of freedom
	doses, ok, _ := stats.TestDoses(context.Background(), lots, []float64{0, 1000, 2000, 3000}, 1)
	if !ok {
		t.Fatal("no trend")
	}
	near(t, "Z of doses", doses.Z, 2.0494, 1e-4)
}

// TestBlocksAreRelabeledApart has a difference between blocks that is none within.
func TestBlocksAreRelabeledApart(t *testing.T) {
	var lots []stats.Scored
	for block, level := range []float64{0, 100} {
		for i := range 6 {
			arm := 0
			if i < 2+2*block {
				arm = 1
			}
			lots = append(lots, stats.Scored{Score: level + float64(i%2), Arm: arm, Block: block})
		}
	}
	got, _, _ := stats.TestTwoArms(context.Background(), lots, 1)
	if got.Z != 0 || got.P != 1 || got.Labelings != 15*15 {
		t.Errorf("%+v", got)
	}
	for i := range lots {
		lots[i].Block = 0
	}
	if pooled, _, _ := stats.TestTwoArms(context.Background(), lots, 1); pooled.Z < 1 {
		t.Errorf("without blocks %+v", pooled)
	}
	for i := range lots {
		lots[i].Block = i
	}
	if _, ok, _ := stats.TestTwoArms(context.Background(), lots, 1); ok {
		t.Error("a test without a block that holds both arms")
	}
}

// TestScoresSumToNought at the pooled curve, and exchanging the arms flips U.
func TestScoresSumToNought(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lots := stats.Seen(drawLots(t))
		scores := stats.BatchScores(lots, stats.FitIncidence(stats.Pool(lots), 1e-12))
		sum, n := 0.0, 0
		var ours, turned []stats.Scored
		for i, l := range lots {
			if math.IsNaN(scores[l.ID]) || math.IsInf(scores[l.ID], 0) {
				t.Fatalf("score %v of %+v", scores[l.ID], l)
			}
			sum += scores[l.ID]
			n += l.Cuttings
			ours = append(ours, stats.Scored{Score: scores[l.ID], Arm: i % 2})
			turned = append(turned, stats.Scored{Score: scores[l.ID], Arm: 1 - i%2})
		}
		if math.Abs(sum) > 1e-6*float64(n) {
			t.Fatalf("scores of %d cuttings sum to %v: %v", n, sum, scores)
		}
		a, ok, _ := stats.TestTwoArms(context.Background(), ours, 1)
		b, _, _ := stats.TestTwoArms(context.Background(), turned, 1)
		if ok && math.Abs(a.U+b.U-sum) > 1e-9 {
			t.Fatalf("U is %v, and with arms exchanged %v", a.U, b.U)
		}
	})
}

func TestHolm(t *testing.T) {
	got := stats.Holm([]float64{.01, .04, .03, .005})
	want := []float64{.03, .06, .06, .02}
	for i := range want {
		near(t, "p", got[i], want[i], 1e-12)
	}
}

func ExampleTestTwoArms() {
	lots := []stats.Scored{{Score: -3.1}, {Score: -1.2}, {Score: -2.4}, {Score: 0.3}, {Score: 0.9, Arm: 1}, {Score: 1.8, Arm: 1}, {Score: 2.2, Arm: 1}, {Score: 1.5, Arm: 1}}
	t, _, _ := stats.TestTwoArms(context.Background(), lots, 1)
	fmt.Printf("U %.1f, p %.3f of %.0f labelings\n", t.U, t.P, t.Labelings)
	// Output: U 6.4, p 0.029 of 70 labelings
}

// TestRejectionsWithoutADifference counts how often the test of batches finds a
// difference where there is none, beside a test that takes cuttings for
// independent.
func TestRejectionsWithoutADifference(t *testing.T) {
	const runs = 200
	for _, arm := range []int{4, 8} {
		random, batches, cuttings := rand.New(rand.NewPCG(9, uint64(arm))), 0, 0
		for run := range runs {
			var arms [2][]stats.Lot
			for i := range 2 * arm {
				rate := min(0.98, max(0.02, 0.6+math.Sqrt(.05*.6*.4)*random.NormFloat64()))
				arms[i%2] = append(arms[i%2], weeklyLot(random, fmt.Sprint(i), rate))
			}
			lots := scored(arms[0], arms[1])
			if got, _, _ := stats.TestTwoArms(context.Background(), lots, uint64(run)); got.P <= .05 {
				batches++
			}
			if z := zOf(scored(pieces(arms[0]), pieces(arms[1]))); math.Abs(z) >= 1.96 {
				cuttings++
			}
		}
		t.Logf("%d+%d batches: %d of %d, cuttings by themselves %d", arm, arm, batches, runs, cuttings)
		if batches > runs/10 || cuttings < runs/10 {
			t.Errorf("%d+%d batches: %d rejections of %d, cuttings by themselves %d", arm, arm, batches, runs, cuttings)
		}
	}
}

// zOf is U over its standard deviation, by the plain formula.
func zOf(lots []stats.Scored) float64 {
	n, ones, u, sum, squares := float64(len(lots)), 0.0, 0.0, 0.0, 0.0
	for _, l := range lots {
		ones, u = ones+float64(l.Arm), u+float64(l.Arm)*l.Score
		sum, squares = sum+l.Score, squares+l.Score*l.Score
	}
	v := (squares - sum*sum/n) / (n - 1) * ones * (n - ones) / n
	return (u - ones*sum/n) / math.Sqrt(v)
}

// pieces are lots cut up into lots of one cutting.
func pieces(lots []stats.Lot) []stats.Lot {
	var all []stats.Lot
	for _, l := range lots {
		for i, k := range l.Looks {
			for range k.Rooted {
				one := stats.Lot{ID: fmt.Sprint(l.ID, "/", len(all)), Cuttings: 1, Looks: emptied(l.Looks[:i+1])}
				one.Looks[i].Rooted = 1
				all = append(all, one)
			}
		}
		for range l.Open() {
			all = append(all, stats.Lot{ID: fmt.Sprint(l.ID, "/", len(all)), Cuttings: 1, Looks: emptied(l.Looks)})
		}
	}
	return all
}

func emptied(looks []stats.Look) []stats.Look {
	looks = slices.Clone(looks)
	for i := range looks {
		looks[i].Rooted, looks[i].Lost = 0, 0
	}
	return looks
}

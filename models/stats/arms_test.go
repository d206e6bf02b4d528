package stats_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"withybed/models/stats"
)

// armsOf are n lots of each arm in each of some blocks, with rising scores.
func armsOf(arms, n, blocks int) []stats.Scored {
	var lots []stats.Scored
	for block := range blocks {
		for i := range arms * n {
			lots = append(lots, stats.Scored{Score: float64(i) + 100*float64(block), Arm: i / n, Block: block})
		}
	}
	return lots
}

// TestSmallestPOfManyArms has arms of one size exchanged for each other: three arms
// of two have 90 labelings, of which six are always as far out as the observed one.
func TestSmallestPOfManyArms(t *testing.T) {
	for _, c := range []struct {
		arms, n, blocks int
		want            float64
		few             bool
	}{{3, 2, 1, 6.0 / 90, true}, {3, 3, 1, 6.0 / 1680, false}, {4, 1, 1, 1, true}, {3, 1, 3, 6.0 / 216, false}} {
		got, ok, _ := stats.TestManyArms(context.Background(), armsOf(c.arms, c.n, c.blocks), 1)
		if !ok || !got.Exact || got.TooFew() != c.few || got.P < got.SmallestP-1e-12 {
			t.Errorf("%+v: %+v", c, got)
		}
		near(t, "smallest p", got.SmallestP, c.want, 1e-12)
	}
	uneven := []stats.Scored{{Score: 1}, {Score: 2, Arm: 1}, {Score: 4, Arm: 1}, {Score: 3, Arm: 2}, {Score: 7, Arm: 2}, {Score: 8, Arm: 2}}
	got, _, _ := stats.TestManyArms(context.Background(), uneven, 1)
	near(t, "smallest p of uneven arms", got.SmallestP, 1.0/60, 1e-12)
}

// TestSmallestPOfDoses has doses at even steps, which can be turned round, and such
// as cannot.
func TestSmallestPOfDoses(t *testing.T) {
	lots := armsOf(4, 1, 1)
	even, _, _ := stats.TestDoses(context.Background(), lots, []float64{0, 1, 2, 3}, 1)
	near(t, "smallest p of even steps", even.SmallestP, 2.0/24, 1e-12)
	near(t, "p of even steps", even.P, 2.0/24, 1e-12)
	logs, _, _ := stats.TestDoses(context.Background(), lots, []float64{math.Log(100), math.Log(1100), math.Log(3100), math.Log(8100)}, 1)
	near(t, "smallest p of logs", logs.SmallestP, 1.0/24, 1e-12)
	if !even.TooFew() || logs.TooFew() {
		t.Errorf("even %+v, logs %+v", even, logs)
	}
}

// TestDosesWithinBlocks is worked by hand: doses 0 and 1 in the first block, 0, 1
// and 1 in the second, which roots later whatever the dose. Its means take 1/2·2 +
// 2/3·33 from U = 2 + 23, its variance is 1/2·2 + 2/3·14/2.
func TestDosesWithinBlocks(t *testing.T) {
	lots := []stats.Scored{
		{Score: 0}, {Score: 2, Arm: 1},
		{Score: 10, Block: 1}, {Score: 9, Arm: 1, Block: 1}, {Score: 14, Arm: 1, Block: 1},
	}
	got, ok, _ := stats.TestDoses(context.Background(), lots, []float64{0, 1}, 1)
	if !ok || got.Labelings != 6 {
		t.Fatalf("%+v", got)
	}
	near(t, "U", got.U, 25, 1e-12)
	near(t, "Z", got.Z, (25-1-22)/math.Sqrt(1+2.0/3*14/2), 1e-12)
	two, _, _ := stats.TestTwoArms(context.Background(), lots, 1)
	near(t, "Z of two arms", got.Z, two.Z, 1e-12)
	near(t, "p of two arms", got.P, two.P, 1e-12)
}

// TestBlocksDoNotCount lifts whole blocks: no test of arms within them is moved.
func TestBlocksDoNotCount(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var lots, lifted []stats.Scored
		for block := range 3 {
			lift := float64(rapid.IntRange(-50, 50).Draw(t, "lift"))
			for arm := range 3 {
				for range rapid.IntRange(1, 2).Draw(t, "lots") {
					l := stats.Scored{Score: float64(rapid.IntRange(-9, 9).Draw(t, "score")), Arm: arm, Block: block}
					lots = append(lots, l)
					l.Score += lift
					lifted = append(lifted, l)
				}
			}
		}
		many, ok, _ := stats.TestManyArms(context.Background(), lots, 1)
		again, _, _ := stats.TestManyArms(context.Background(), lifted, 1)
		if ok && (math.Abs(many.Chi2-again.Chi2) > 1e-9 || many.P != again.P) {
			t.Fatalf("%+v, lifted %+v", many, again)
		}
		doses, ok, _ := stats.TestDoses(context.Background(), lots, []float64{0, 1, 3}, 1)
		lift, _, _ := stats.TestDoses(context.Background(), lifted, []float64{0, 1, 3}, 1)
		if ok && (math.Abs(doses.Z-lift.Z) > 1e-9 || doses.P != lift.P || doses.P < doses.SmallestP-1e-12) {
			t.Fatalf("%+v, lifted %+v", doses, lift)
		}
	})
}

// TestScoresThatAreTheSame up to rounding tell no arms apart.
func TestScoresThatAreTheSame(t *testing.T) {
	lots := make([]stats.Scored, 7)
	for i := range lots {
		lots[i] = stats.Scored{Score: 0.1, Arm: i % 3}
	}
	lots[3].Score += 1e-16
	if got, ok, _ := stats.TestManyArms(context.Background(), lots, 1); ok {
		t.Errorf("%+v", got)
	}
	if got, ok, _ := stats.TestDoses(context.Background(), lots, []float64{0, 1, 2}, 1); ok {
		t.Errorf("%+v", got)
	}
	for i := range lots {
		lots[i].Arm = i % 2
	}
	if got, _, _ := stats.TestTwoArms(context.Background(), lots, 1); got.Z != 0 || got.P != 1 || got.PNormal != 1 {
		t.Errorf("%+v", got)
	}
}

// TestManyLots have more labelings than a number can say, and are still
// answered in JSON; the same seed gives the same bytes.
func TestManyLots(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 3))
	lots := make([]stats.Scored, 1200)
	for i := range lots {
		lots[i] = stats.Scored{Score: random.NormFloat64(), Arm: i % 3, Block: i % 2}
	}
	text := func(seed uint64) string {
		many, _, _ := stats.TestManyArms(context.Background(), lots, seed)
		doses, _, _ := stats.TestDoses(context.Background(), lots, []float64{0, 1, 2}, seed)
		text, err := json.Marshal([]any{many, doses})
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	first := text(1)
	if again := text(1); again != first {
		t.Errorf("%s, and again %s", first, again)
	}
	if text(2) == first {
		t.Error("another seed gives the same draws")
	}
}

func ExampleTestDoses() {
	lots := armsOf(4, 2, 1) // strengths of 0, 1000, 3000 and 8000 ppm, two batches each
	t, _, _ := stats.TestDoses(context.Background(), lots, []float64{math.Log(100), math.Log(1100), math.Log(3100), math.Log(8100)}, 1)
	fmt.Printf("Z %.2f, p %.4f of %.0f labelings\n", t.Z, t.P, t.Labelings)
	// Output: Z 2.51, p 0.0008 of 2520 labelings
}

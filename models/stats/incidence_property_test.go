package stats_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"withybed/models/stats"
)

func fit(lots []stats.Lot) *stats.Incidence {
	return stats.FitIncidence(stats.Pool(stats.Seen(lots)), 0)
}

// soundCurve holds what is true of every curve: it is certified, nothing is below
// nought, it rises, and all shares sum to 1.
func soundCurve(t interface{ Fatalf(string, ...any) }, inc *stats.Incidence) {
	if math.IsNaN(inc.LogLikelihood) || inc.LogLikelihood > 1e-9 {
		t.Fatalf("log-likelihood %v", inc.LogLikelihood)
	}
	if !(inc.Gap >= 0 && inc.Gap <= stats.FinestGap(inc.Cuttings)) {
		t.Fatalf("gap %v of %v cuttings", inc.Gap, inc.Cuttings)
	}
	if inc.Cuttings == 0 {
		return
	}
	sum := 0.0
	for _, s := range inc.Steps {
		if s.Mass < 0 || s.Fate != stats.FateOpen && s.From >= s.To {
			t.Fatalf("step %+v", s)
		}
		sum += s.Mass
	}
	if math.Abs(sum-1) > 1e-6 {
		t.Fatalf("masses sum to %v: %+v", sum, inc.Steps)
	}
	before, lostBefore := 0.0, 0.0
	for _, day := range inc.Days {
		lower, upper := inc.RootedBy(day)
		lostLower, lostUpper := inc.LostBy(day)
		if lower < before-1e-9 || lostLower < lostBefore-1e-9 || upper < lower-1e-9 || lostUpper < lostLower-1e-9 {
			t.Fatalf("day %d: rooted %v to %v after %v, lost %v to %v", day, lower, upper, before, lostLower, lostUpper)
		}
		if lower < 0 || lower+lostLower > 1+1e-9 {
			t.Fatalf("day %d: rooted %v and lost %v", day, lower, lostLower)
		}
		before, lostBefore = lower, lostLower
	}
}

func TestEveryCurveIsSound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lots := drawLots(t)
		inc := fit(lots)
		soundCurve(t, inc)
		rooted, lost, n := 0, 0, 0
		for _, l := range stats.Seen(lots) {
			rooted, lost, n = rooted+l.Rooted(), lost+l.Lost(), n+l.Cuttings
		}
		if n == 0 {
			return
		}
		if slack := (inc.Gap + 1e-6) / float64(n); inc.Unique && (inc.Rooted() < float64(rooted)/float64(n)-slack || inc.Lost() < float64(lost)/float64(n)-slack) {
			t.Fatalf("rooted %v of at least %d/%d, lost %v of at least %d", inc.Rooted(), rooted, n, inc.Lost(), lost)
		}
	})
}

// TestOneBatchIsItsFractions has the closed form: cumulative fractions, and the
// log-likelihood Σ n ln(n/N).
func TestOneBatchIsItsFractions(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lot := drawWhole(t, "a", 0)
		inc := fit([]stats.Lot{lot})
		rooted, lost, ell := 0, 0, 0.0
		for _, k := range lot.Looks {
			rooted, lost = rooted+int(k.Rooted), lost+int(k.Lost)
			atRooted, _ := inc.RootedBy(int(k.Day))
			atLost, _ := inc.LostBy(int(k.Day))
			closeTo(t, "rooted", atRooted, float64(rooted)/float64(lot.Cuttings), 1e-5)
			closeTo(t, "lost", atLost, float64(lost)/float64(lot.Cuttings), 1e-5)
			ell += kernel(int(k.Rooted), lot.Cuttings) + kernel(int(k.Lost), lot.Cuttings)
		}
		closeTo(t, "log-likelihood", inc.LogLikelihood, ell+kernel(lot.Open(), lot.Cuttings), 1e-5)
	})
}

func kernel(part, whole int) float64 {
	if part == 0 {
		return 0
	}
	return float64(part) * math.Log(float64(part)/float64(whole))
}

func closeTo(t *rapid.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Fatalf("%s is %v, want %v", what, got, want)
	}
}

// drawWhole draws a lot whose roots were examined at every look, on days
// multiplied by step or, with 0, drawn.
func drawWhole(t *rapid.T, id string, step int) stats.Lot {
	lot := stats.Lot{ID: id, Cuttings: rapid.IntRange(1, 40).Draw(t, "cuttings")}
	left, day := int32(lot.Cuttings), int32(0)
	for range rapid.IntRange(1, 5).Draw(t, "looks") {
		if day += int32(step); step == 0 {
			day += rapid.Int32Range(1, 20).Draw(t, "days")
		}
		k := stats.Look{Day: day, Saw: stats.SawRoots, Rooted: rapid.Int32Range(0, left).Draw(t, "rooted")}
		k.Lost = rapid.Int32Range(0, left-k.Rooted).Draw(t, "lost")
		left -= k.Rooted + k.Lost
		lot.Looks = append(lot.Looks, k)
	}
	return lot
}

// TestOneScheduleIsThePooledFraction has batches looked at on the same days, the
// first of them to the end.
func TestOneScheduleIsThePooledFraction(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lots := []stats.Lot{drawWhole(t, "a", 10)}
		for i := range rapid.IntRange(0, 4).Draw(t, "more") {
			other := drawWhole(t, string(rune('b'+i)), 10)
			for len(other.Looks) < len(lots[0].Looks) {
				other.Looks = append(other.Looks, stats.Look{Day: int32(10 * (len(other.Looks) + 1)), Saw: stats.SawRoots})
			}
			other = other.Until(10 * len(lots[0].Looks))
			lots = append(lots, other)
		}
		inc, n := fit(lots), 0
		for _, l := range lots {
			n += l.Cuttings
		}
		for _, day := range inc.Days {
			rooted := 0
			for _, l := range lots {
				known := l.Until(day)
				rooted += known.Rooted()
			}
			lower, _ := inc.RootedBy(day)
			closeTo(t, "rooted", lower, float64(rooted)/float64(n), 1e-5)
		}
	})
}

// TestWhatChangesNothing has what the curve must not depend on: the order of
// lots, their names, lots nobody looked at, a lot cut in two, every lot twice.
func TestWhatChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lots := drawLots(t)
		inc := fit(lots)
		turned := slices.Clone(lots)
		slices.Reverse(turned)
		if got := fit(turned); got.LogLikelihood != inc.LogLikelihood || !slices.Equal(got.Steps, inc.Steps) {
			t.Fatalf("turned round: %+v, before %+v", got.Steps, inc.Steps)
		}
		if got := fit(append(turned, stats.Lot{ID: "unseen", Cuttings: 7})); got.LogLikelihood != inc.LogLikelihood {
			t.Fatal("a lot nobody looked at moves the curve")
		}
		again := slices.Clone(lots)
		for i := range lots {
			lots[i].ID += "2"
		}
		twice := fit(append(again, lots...))
		if math.Abs(twice.LogLikelihood-2*inc.LogLikelihood) > 1e-5 {
			t.Fatalf("every lot twice: %v, once %v", twice.LogLikelihood, inc.LogLikelihood)
		}
		sameCurve(t, inc, twice, 1)
	})
}

// sameCurve wants the same shares, on days multiplied by k, where the data
// determine them.
func sameCurve(t *rapid.T, a, b *stats.Incidence, k int) {
	if !a.Unique || !b.Unique {
		return
	}
	for _, day := range a.Days {
		x, _ := a.RootedBy(day)
		y, _ := b.RootedBy(k * day)
		closeTo(t, "rooted", y, x, 2e-3) // masses of a flat maximum, within the gap
	}
}

func TestDaysTimesAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lots, k := drawLots(t), rapid.IntRange(2, 9).Draw(t, "k")
		inc := fit(lots)
		for i := range lots {
			lots[i].Looks = slices.Clone(lots[i].Looks)
			for j := range lots[i].Looks {
				lots[i].Looks[j].Day *= int32(k)
			}
		}
		longer := fit(lots)
		closeTo(t, "log-likelihood", longer.LogLikelihood, inc.LogLikelihood, 1e-9)
		for i, s := range inc.Steps {
			s.From, s.To = k*s.From, k*s.To
			if longer.Steps[i] != s {
				t.Fatalf("step %+v, want %+v", longer.Steps[i], s)
			}
		}
	})
}

// TestRootedAndLostChangePlaces turns the two ends round.
func TestRootedAndLostChangePlaces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lots := []stats.Lot{drawWhole(t, "a", 0), drawWhole(t, "b", 0), drawWhole(t, "c", 0)}
		inc := fit(lots)
		for i := range lots {
			lots[i].Looks = slices.Clone(lots[i].Looks)
			for j := range lots[i].Looks {
				k := &lots[i].Looks[j]
				k.Rooted, k.Lost = k.Lost, k.Rooted
			}
		}
		turned := fit(lots)
		closeTo(t, "log-likelihood", turned.LogLikelihood, inc.LogLikelihood, 2e-6)
		if !inc.Unique {
			return
		}
		for _, day := range inc.Days {
			rooted, _ := inc.RootedBy(day)
			lost, _ := turned.LostBy(day)
			closeTo(t, "lost of the other", lost, rooted, 2e-3)
		}
	})
}

func TestLevelsAreInOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lots := drawLots(t)
		inc := fit(lots)
		tau, _ := tauOf(lots)
		last := stats.DayBracket{}
		for _, q := range []float64{0.1, 0.5, 0.9} {
			stuck, rooted := inc.DayOf(q, tau), inc.DayOfRooted(q, tau)
			if rooted.Status == stats.Reached && (rooted.By < last.By || rooted.After >= rooted.By) {
				t.Fatalf("%g of rooted is %+v after %+v", q, rooted, last)
			}
			if stuck.Status == stats.Reached && (rooted.Status != stats.Reached || rooted.By > stuck.By) {
				t.Fatalf("%g of stuck is %+v, of rooted %+v", q, stuck, rooted)
			}
			last = rooted
		}
	})
}

// FuzzCurve runs any schedule through the solver: it never panics, and what comes
// out is certified.
func FuzzCurve(f *testing.F) {
	f.Add([]byte{20, 14, 2, 1, 2, 21, 8, 0, 2})
	f.Add([]byte{5, 10, 0, 0, 2, 20, 5, 0, 2, 255, 5, 15, 5, 0, 2, 30, 0, 0, 2})
	f.Fuzz(func(t *testing.T, data []byte) {
		var lots []stats.Lot
		for i, part := range splitAt(data, 255) {
			if lot := lotOfBytes(string(rune('a'+i%26)), part); lot.Check() == nil {
				lots = append(lots, lot)
			}
		}
		soundCurve(t, fit(lots))
	})
}

func splitAt(data []byte, mark byte) (parts [][]byte) {
	for len(data) > 0 {
		i := slices.Index(data, mark)
		if i < 0 {
			return append(parts, data)
		}
		parts, data = append(parts, data[:i]), data[i+1:]
	}
	return parts
}

// lotOfBytes reads the number stuck, then looks of day, rooted, lost and sight.
func lotOfBytes(id string, data []byte) stats.Lot {
	if len(data) == 0 {
		return stats.Lot{ID: id}
	}
	lot := stats.Lot{ID: id, Cuttings: int(data[0])}
	for look := range slices.Chunk(data[1:], 4) {
		if len(look) == 4 {
			lot.Looks = append(lot.Looks, stats.Look{Day: int32(look[0]), Rooted: int32(look[1]), Lost: int32(look[2]), Saw: stats.Sight(look[3] % 3)})
		}
	}
	return lot
}

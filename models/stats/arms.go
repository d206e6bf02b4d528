package stats

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// ManyArms is the score test over more than two arms.
type ManyArms struct {
	Chi2 float64
	DF   int
	PChi float64
	Relabeled
	SmallestP float64 // that any outcome could have had
}

// TestManyArms is chi2 = Σ B(C̄ of an arm)² ÷ s² of scores less the mean of their
// block, with s² = Σ(C-C̄)²/(B-1), squares and degrees of freedom summed over
// blocks, and its p by relabeling within blocks. Ok is false with fewer than two
// arms, or scores that are all the same within blocks. It fails where ctx ends.
//
// Kruskal & Wallis (1952), J Am Stat Assoc 47:583-621, with scores for ranks;
// alignment by blocks: Hodges & Lehmann (1962), Ann Math Stat 33:482-497.
func TestManyArms(ctx context.Context, lots []Scored, seed uint64) (t ManyArms, ok bool, err error) {
	t, chi2, ok := betweenArms(lots)
	if !ok {
		return t, false, ctx.Err()
	}
	t.Relabeled, err = Relabel(ctx, align(lots), seed, chi2)
	t.SmallestP = exchanges(lots) / t.Labelings
	return t, true, err
}

// ChiManyArms is TestManyArms with the p of the chi-squared distribution, for lots
// by the hundred.
func ChiManyArms(lots []Scored) (t ManyArms, ok bool) {
	t, _, ok = betweenArms(lots)
	return t, ok
}

// TooFew says that no outcome could have had a p of .05 or less.
func (t *ManyArms) TooFew() bool { return t.SmallestP > usualAlpha }

// betweenArms is the statistic, and what it is of other sums of aligned scores by
// arm.
func betweenArms(lots []Scored) (t ManyArms, chi2 func(sums []float64) float64, ok bool) {
	sizes := armSizes(lots)
	sums, squares, df := make([]float64, len(sizes)), 0.0, 0
	for _, block := range blocksOf(lots) {
		mean, within := about(block)
		squares, df = squares+within, df+len(block)-1
		for _, l := range block {
			sums[l.Arm] += l.Score - mean
		}
	}
	if t.DF = present(sizes) - 1; t.DF < 1 || squares == 0 {
		return t, nil, false
	}
	variance := squares / float64(df)
	chi2 = func(sums []float64) float64 {
		sum := 0.0
		for arm, n := range sizes {
			if n > 0 {
				sum += sums[arm] * sums[arm] / float64(n)
			}
		}
		return sum / variance
	}
	t.Chi2 = chi2(sums)
	t.PChi = mathext.GammaIncRegComp(float64(t.DF)/2, t.Chi2/2)
	return t, chi2, true
}

// align takes the mean of its block from each score.
func align(lots []Scored) []Scored {
	aligned := make([]Scored, 0, len(lots))
	for _, block := range blocksOf(lots) {
		mean, _ := about(block)
		for _, l := range block {
			l.Score -= mean
			aligned = append(aligned, l)
		}
	}
	return aligned
}

func present(sizes []int) int {
	n := 0
	for _, size := range sizes {
		if size > 0 {
			n++
		}
	}
	return n
}

// exchanges is in how many ways arms can be exchanged for others with as many lots
// in every block: each such labeling lies as far out as the one it came from.
func exchanges(lots []Scored) float64 {
	shapes := slices.DeleteFunc(armShapes(lots), func(shape string) bool { return shape == "" })
	slices.Sort(shapes)
	ways, alike := 1.0, 0.0
	for i, shape := range shapes {
		if i > 0 && shape != shapes[i-1] {
			alike = 0
		}
		alike++
		ways *= alike
	}
	return ways
}

// armShapes are how many lots each arm has block by block, empty where it has none.
func armShapes(lots []Scored) []string {
	sizes, shapes := armSizes(lots), make([]string, armsOf(lots))
	for _, block := range blocksOf(lots) {
		in := make([]int, len(sizes))
		for _, l := range block {
			in[l.Arm]++
		}
		for arm, n := range in {
			if sizes[arm] > 0 {
				shapes[arm] += fmt.Sprint(n, " ")
			}
		}
	}
	return shapes
}

// Doses is the score test for a trend over doses.
type Doses struct {
	U, Z, PNormal float64
	Relabeled
	SmallestP float64 // that any outcome could have had
}

// TestDoses holds U = Σ x C, x the dose of the lot's arm, against what labels given
// at random within blocks would make of it: mean Σ x̄ ΣC and variance
// Σ [Σ(x-x̄)²] [Σ(C-C̄)²/(B-1)] over blocks. Positive is earlier with more. Ok is
// false where doses or scores are all the same within blocks. There is a dose for
// each arm. It fails where ctx ends.
func TestDoses(ctx context.Context, lots []Scored, dose []float64, seed uint64) (t Doses, ok bool, err error) {
	mean, v := 0.0, 0.0
	for _, block := range blocksOf(lots) {
		centre, spread := doseSpread(block, dose)
		average, squares := about(block)
		mean += centre * average * float64(len(block))
		if len(block) > 1 {
			v += spread * squares / float64(len(block)-1)
		}
	}
	for _, l := range lots {
		t.U += dose[l.Arm] * l.Score
	}
	if v == 0 {
		return t, false, ctx.Err()
	}
	t.Z = (t.U - mean) / math.Sqrt(v)
	t.PNormal = math.Erfc(math.Abs(t.Z) / math.Sqrt2)
	t.Relabeled, err = Relabel(ctx, lots, seed, func(sums []float64) float64 {
		u := -mean
		for arm, sum := range sums {
			u += dose[arm] * sum
		}
		return math.Abs(u) / math.Sqrt(v)
	})
	t.SmallestP = 1 / t.Labelings
	if turnable(lots, dose) {
		t.SmallestP = 2 / t.Labelings
	}
	return t, true, err
}

// TooFew says that no outcome could have had a p of .05 or less.
func (t *Doses) TooFew() bool { return t.SmallestP > usualAlpha }

// doseSpread is the mean dose of lots, and the squares of doses about it.
func doseSpread(lots []Scored, dose []float64) (mean, squares float64) {
	for _, l := range lots {
		mean += dose[l.Arm] / float64(len(lots))
	}
	for _, l := range lots {
		squares += (dose[l.Arm] - mean) * (dose[l.Arm] - mean)
	}
	return mean, squares
}

// turnable says that the doses can be given the other way round, the most for the
// least, with as many lots of each: that labeling lies as far out on the other side.
func turnable(lots []Scored, dose []float64) bool {
	shapes := armShapes(lots)
	least, most := math.Inf(1), math.Inf(-1)
	for arm, shape := range shapes {
		if shape != "" {
			least, most = min(least, dose[arm]), max(most, dose[arm])
		}
	}
	for arm, shape := range shapes {
		if shape == "" {
			continue
		}
		turned := slices.IndexFunc(dose, func(x float64) bool { return math.Abs(x-(least+most-dose[arm])) < pSlack })
		if turned < 0 || turned >= len(shapes) || shapes[turned] != shape {
			return false
		}
	}
	return true
}

// Holm makes p values of several tests hold together: the smallest times how many
// there are, the next times one less, never falling, at most 1.
//
// Holm (1979), Scand J Stat 6:65-70.
func Holm(p []float64) []float64 {
	order := make([]int, len(p))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(p[a], p[b]) })
	held, last := make([]float64, len(p)), 0.0
	for k, i := range order {
		last = max(last, min(1, p[i]*float64(len(p)-k)))
		held[i] = last
	}
	return held
}

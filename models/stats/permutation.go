package stats

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/combin"
)

// Scored is a lot in a comparison: its score, the arm it was in (0 is the
// reference) and the block within which arms were tried side by side.
type Scored struct {
	Score float64
	Arm   int
	Block int
}

const (
	mostLabelings = 200_000 // all of them are gone through up to here
	fewestDraws   = 10_000  // and so many drawn beyond
	pSlack        = 1e-9    // labelings as far out as the observed one
	usualAlpha    = 0.05
)

// Labelings is in how many ways the arms could have been given to the lots of
// each block, as many lots to each arm as there are. More than a float64 can hold
// are taken as the largest it can.
func Labelings(lots []Scored) float64 {
	ways := 1.0
	for _, block := range blocksOf(lots) {
		left := len(block)
		for _, n := range armSizes(block) {
			ways = min(math.MaxFloat64, ways*math.Round(combin.GeneralizedBinomial(float64(left), float64(n))))
			left -= n
		}
	}
	return ways
}

// blocksOf are the lots block by block: the same ones where they come so already.
func blocksOf(lots []Scored) [][]Scored {
	byBlock := func(a, b Scored) int { return cmp.Compare(a.Block, b.Block) }
	sorted := lots
	if !slices.IsSortedFunc(lots, byBlock) {
		sorted = slices.Clone(lots)
		slices.SortStableFunc(sorted, byBlock)
	}
	var blocks [][]Scored
	for from := 0; from < len(sorted); from += len(blocks[len(blocks)-1]) {
		to := from + 1
		for to < len(sorted) && sorted[to].Block == sorted[from].Block {
			to++
		}
		blocks = append(blocks, sorted[from:to])
	}
	return blocks
}

func armsOf(lots []Scored) int {
	arms := 0
	for _, l := range lots {
		arms = max(arms, l.Arm+1)
	}
	return arms
}

func armSizes(lots []Scored) []int {
	sizes := make([]int, armsOf(lots))
	for _, l := range lots {
		sizes[l.Arm]++
	}
	return sizes
}

// Relabeled is what came of giving the arms to lots in other ways.
type Relabeled struct {
	P         float64 // share of labelings at least as far out as the observed one
	Exact     bool    // all were gone through
	Labelings float64
}

// Relabel gives the arms to the lots of each block in every other way, or where
// there are more than 200,000 in 10,000 drawn ones, and counts how often far, of
// the sums of scores by arm, is at least what it is as observed. Drawn ones give
// p = (1 + hits) ÷ (1 + draws) (Phipson & Smyth 2010, Stat Appl Genet Mol Biol
// 9:39). It fails where ctx ends.
func Relabel(ctx context.Context, lots []Scored, seed uint64, far func(sums []float64) float64) (Relabeled, error) {
	sums := make([]float64, armsOf(lots))
	for _, l := range lots {
		sums[l.Arm] += l.Score
	}
	observed := far(sums) - pSlack
	r := Relabeled{Labelings: Labelings(lots)}
	hits, all := 0.0, 0.0
	count := func(sums []float64) {
		all++
		if far(sums) >= observed {
			hits++
		}
	}
	if r.Exact = r.Labelings <= mostLabelings; r.Exact {
		everyLabeling(blocksOf(lots), make([]float64, len(sums)), count)
		r.P = hits / all
		return r, ctx.Err()
	}
	err := drawLabelings(ctx, blocksOf(lots), seed, len(sums), count)
	r.P = (1 + hits) / (1 + all)
	return r, err
}

// everyLabeling goes through the labelings of the first block, and for each of
// them through those of the rest.
func everyLabeling(blocks [][]Scored, sums []float64, visit func([]float64)) {
	if len(blocks) == 0 {
		visit(sums)
		return
	}
	label(blocks[0], armSizes(blocks[0]), sums, func() { everyLabeling(blocks[1:], sums, visit) })
}

// label gives the first lot each arm that has room, and goes on with the rest.
func label(lots []Scored, room []int, sums []float64, done func()) {
	if len(lots) == 0 {
		done()
		return
	}
	for arm := range room {
		if room[arm] == 0 {
			continue
		}
		before := sums[arm]
		room[arm]--
		sums[arm] += lots[0].Score
		label(lots[1:], room, sums, done)
		sums[arm] = before
		room[arm]++
	}
}

// drawsBetween is how many labelings are drawn before it is asked whether anybody
// still waits for them.
const drawsBetween = 16

func drawLabelings(ctx context.Context, blocks [][]Scored, seed uint64, arms int, visit func([]float64)) error {
	random := rand.NewPCG(seed, 0)
	sums := make([]float64, arms)
	urns := make([]urn, len(blocks))
	for b, block := range blocks {
		urns[b] = newUrn(block)
	}
	for draw := range fewestDraws {
		if draw%drawsBetween == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		clear(sums)
		for b := range urns {
			urns[b].deal(random, sums)
		}
		visit(sums)
	}
	return nil
}

// urn holds the scores of a block, to be dealt to its lots in any order.
type urn struct {
	scores, left []float64 // all of them, and those not dealt yet
	sum          float64
	runs         []run
}

// run is lots next to each other that are of one arm: those from the end of the run
// before it.
type run struct{ arm, end int }

func newUrn(block []Scored) urn {
	u := urn{left: make([]float64, len(block))}
	for i, l := range block {
		u.scores, u.sum = append(u.scores, l.Score), u.sum+l.Score
		if i == 0 || l.Arm != block[i-1].Arm {
			u.runs = append(u.runs, run{arm: l.Arm})
		}
		u.runs[len(u.runs)-1].end = i + 1
	}
	return u
}

// deal shuffles the scores from the back (Durstenfeld 1964, Commun ACM 7:420) and
// adds them up by arm. The lots at the front have what is left, in whatever order; the
// numbers that would put it in order are drawn and dropped, so that a seed gives the
// labelings of a whole shuffle.
func (u *urn) deal(random *rand.PCG, sums []float64) {
	copy(u.left, u.scores)
	rest, i := u.sum, len(u.left)-1
	for r := len(u.runs) - 1; r > 0; r-- {
		sum := 0.0
		for ; i >= u.runs[r-1].end; i-- {
			j := below(random, uint64(i+1))
			sum += u.left[j]
			u.left[j] = u.left[i]
		}
		sums[u.runs[r].arm] += sum
		rest -= sum
	}
	for ; i > 0; i-- {
		random.Uint64()
	}
	sums[u.runs[0].arm] += rest
}

// TwoArms is the score test of arm 1 against arm 0.
type TwoArms struct {
	U, V, Z float64
	PNormal float64
	Relabeled
	SmallestP float64 // that any outcome could have had
}

// TestTwoArms holds the sum U of the scores of arm 1 against what labels given at
// random within blocks would make of it: mean Σ B1 C̄ and variance
// Σ [Σ(C-C̄)²/(B-1)] B1 B0/B over blocks. Positive U is earlier. Cuttings of one
// lot are alike, so that lots are what is relabeled: a test of cuttings rejects
// far too often. Ok is false where no block holds both arms. It fails where ctx ends.
//
// The permutation form of Finkelstein's test: Fay & Shaw (2010), J Stat Softw 36(2).
func TestTwoArms(ctx context.Context, lots []Scored, seed uint64) (t TwoArms, ok bool, err error) {
	mean, balanced := 0.0, true
	for _, block := range blocksOf(lots) {
		sizes, n := armSizes(block), float64(len(block))
		if len(sizes) < 2 || sizes[0] == 0 {
			for _, l := range block {
				mean += l.Score * float64(l.Arm)
			}
			continue
		}
		centre, squares := about(block)
		ones, noughts := float64(sizes[1]), float64(sizes[0])
		mean += ones * centre
		t.V += squares / (n - 1) * ones * noughts / n
		balanced = balanced && ones == noughts
		ok = true
	}
	for _, l := range lots {
		t.U += l.Score * float64(l.Arm)
	}
	if !ok {
		return t, false, ctx.Err()
	}
	t.Relabeled, err = Relabel(ctx, lots, seed, func(sums []float64) float64 { return math.Abs(sums[1] - mean) })
	t.SmallestP = 1 / t.Labelings
	if balanced {
		t.SmallestP = 2 / t.Labelings
	}
	t.PNormal = 1
	if t.V > 0 {
		t.Z = (t.U - mean) / math.Sqrt(t.V)
		t.PNormal = math.Erfc(math.Abs(t.Z) / math.Sqrt2)
	}
	return t, true, err
}

// TooFew says that no outcome could have had a p of .05 or less.
func (t *TwoArms) TooFew() bool { return t.SmallestP > usualAlpha }

// about is the mean of scores, and their squares about it: 0 where they lie no
// further apart than rounding puts them.
func about(lots []Scored) (mean, squares float64) {
	for _, l := range lots {
		mean += l.Score / float64(len(lots))
	}
	for _, l := range lots {
		squares += (l.Score - mean) * (l.Score - mean)
	}
	if squares < pSlack*pSlack*float64(len(lots)) {
		squares = 0
	}
	return mean, squares
}

package stats

import (
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// TestBelowIsWhatTheLibraryDraws goes on drawing, so that as many numbers have to be
// taken from the source as well: just above half of all numbers every other one is
// drawn again.
func TestBelowIsWhatTheLibraryDraws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		ours, theirs := rand.NewPCG(seed, 1), rand.New(rand.NewPCG(seed, 1))
		for _, n := range append(rapid.SliceOf(rapid.Uint64Min(1)).Draw(t, "n"), 1, 6, 1<<20, 1<<63+1) {
			if got, want := below(ours, n), theirs.Uint64N(n); got != want {
				t.Fatalf("below %d: %d, want %d", n, got, want)
			}
		}
	})
}

package stats_test

import (
	"context"
	"errors"
	"math"
	"runtime"
	"sync/atomic"
	"testing"

	"withybed/models/stats"
)

// ending is a context that ends once it has been asked a number of times whether it
// has.
type ending struct {
	context.Context
	left *atomic.Int64
}

func endsAfter(asked int64) ending {
	e := ending{context.Background(), new(atomic.Int64)}
	e.left.Store(asked)
	return e
}

func (e ending) Err() error {
	if e.left.Add(-1) < 0 {
		return context.Canceled
	}
	return nil
}

// TestNothingGoesOnForNobody wants everything that takes long to ask often enough
// whether it is still waited for, and to end soon after it is not.
func TestNothingGoesOnForNobody(t *testing.T) {
	const most = math.MaxInt32
	lots := drawnLots(30, 40, 120, stats.Law{Family: stats.LogNormal, Mu: math.Log(30), Sigma: 0.4}, 1)
	arms := scored(lots[:8], lots[8:14], lots[14:])
	draw := stats.Drawing{Replicates: 200, Seed: 1}
	for _, c := range []struct {
		name  string
		often int64
		work  func(context.Context) error
	}{
		{"curves of draws", 200, func(ctx context.Context) error {
			return stats.Resample(ctx, lots, draw, func(int, *stats.Replicate) {})
		}},
		{"limits of a curve", 200, func(ctx context.Context) error {
			_, err := stats.CurveSpreads(ctx, lots, []int{28, 56}, draw)
			return err
		}},
		{"fits", 200, func(ctx context.Context) error {
			_, err := stats.FitCure(ctx, lots)
			return err
		}},
		{"labelings of two arms", 200, func(ctx context.Context) error {
			_, _, err := stats.TestTwoArms(ctx, scored(lots[:12], lots[12:]), 1)
			return err
		}},
		{"labelings of three arms", 200, func(ctx context.Context) error {
			_, _, err := stats.TestManyArms(ctx, arms, 1)
			return err
		}},
		{"labelings of doses", 200, func(ctx context.Context) error {
			_, _, err := stats.TestDoses(ctx, arms, []float64{0, 1, 2}, 1)
			return err
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			whole := endsAfter(most)
			if err := c.work(whole); err != nil {
				t.Fatal(err)
			}
			asked := most - whole.left.Load()
			if asked < c.often {
				t.Errorf("asked %d times, want %d or more", asked, c.often)
			}
			for _, after := range []int64{0, 1, asked / 2, asked * 3 / 4} {
				ctx := endsAfter(after)
				if err := c.work(ctx); !errors.Is(err, context.Canceled) {
					t.Errorf("ends after %d of %d: %v", after, asked, err)
				}
				if more := -ctx.left.Load(); more > int64(16+runtime.GOMAXPROCS(0)) {
					t.Errorf("ends after %d of %d, and is asked %d times more", after, asked, more)
				}
			}
		})
	}
}

package rules_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"sync/atomic"
	"testing"
	"time"

	"withybed/models"
	"withybed/models/rules"
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

// TestNoAnswerIsWorkedOutForNobody wants every answer that takes long to ask often
// enough whether it is still waited for, and to end soon after it is not.
func TestNoAnswerIsWorkedOutForNobody(t *testing.T) {
	const most = math.MaxInt32
	batches := append(watchedYear(2024, "none", 12), watchedYear(2024, "soak", 12)...)
	batches = append(batches, foreseen("open", day("2025-01-10"), dogwoods("none"), 0.7, 2))
	var records []*models.BatchRecord
	for i := range 6 {
		r := batchWith(stuck("2026-01-18"), looked("2026-02-01", 8+i), looked("2026-02-08", 30+i), looked("2026-02-15", 45), looked("2026-03-01", 50), looked("2026-05-01", 51))
		r.Code, r.TaxonID = fmt.Sprint("TB-01-2026-", i), "dogwood"
		records = append(records, r)
	}
	set, draw := rules.DefaultSettings(), stats.Drawing{Replicates: 100, Seed: 1}
	for _, c := range []struct {
		name  string
		often int64
		work  func(context.Context) error
	}{
		{"rates", 100, func(ctx context.Context) error {
			_, err := rules.RateReport(ctx, batches, []string{"taxon"}, draw)
			return err
		}},
		{"curves", 100, func(ctx context.Context) error {
			_, err := rules.CurveReport(ctx, batches, []string{"taxon"}, draw)
			return err
		}},
		{"days", 100, func(ctx context.Context) error {
			_, err := rules.DaysReport(ctx, batches, nil, draw)
			return err
		}},
		{"comparisons", 600, func(ctx context.Context) error {
			_, err := rules.Compare(ctx, batches, rules.CompareAsk{Draw: draw})
			return err
		}},
		{"fits", 200, func(ctx context.Context) error {
			_, err := rules.FitReport(ctx, batches, []string{"treatment"})
			return err
		}},
		{"models", 200, func(ctx context.Context) error {
			_, err := rules.FitModels(ctx, records, day("2026-05-02"), &set.Thresholds)
			return err
		}},
		{"forecasts", 200, func(ctx context.Context) error {
			_, err := rules.ForecastReport(ctx, batches, everyBatch, rules.ForecastAsk{On: day("2025-02-10")})
			return err
		}},
		{"calibration of a file", 200, func(ctx context.Context) error {
			_, err := rules.Calibrate(ctx, batches, rules.FilePast(batches), rules.CalibrationAsk{Origins: 20})
			return err
		}},
		{"the past of a nursery", 6, func(ctx context.Context) error {
			_, err := rules.RecordPast(records, &set.Thresholds, time.UTC)(ctx, day("2026-05-02"))
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
				if more := -ctx.left.Load(); more > int64(20+runtime.GOMAXPROCS(0)) {
					t.Errorf("ends after %d of %d, and is asked %d times more", after, asked, more)
				}
			}
		})
	}
}

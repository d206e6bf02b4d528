package nursery_test

import (
	"fmt"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store/storetest"
)

// manyStems is a count no benchmark comes to the end of.
const manyStems = 10_000_000

func benchHouse(b *testing.B, dialect string, stands ...string) *house {
	h := newHouse(b, storetest.Open(b, dialect))
	h.goTo("2026-02-01 10:00")
	must1(h, func() (models.Nursery, error) { return h.Make(h.ctx, nursery.Seed{TimeZone: "America/Los_Angeles"}) })
	h.dogwood()
	for _, code := range stands {
		h.stand(code)
		h.census(code, "2015-01-01", manyStems)
		h.census(code, "2025-01-15", manyStems)
	}
	return h
}

// past fills a stand with batches cut for weaving, a day after the other to the
// end of 2025: history that asks for nothing any more.
func (h *house) past(stand string, batches int) {
	const sheet = 1000
	first := date("2025-12-31").Add(-batches)
	for from := 0; from < batches; from += sheet {
		var rows strings.Builder
		rows.WriteString("stand,collected_on,stems_cut,cuttings,collected_by,purpose,already_cut,reason\n")
		for i := from; i < min(from+sheet, batches); i++ {
			fmt.Fprintf(&rows, "%s,%s,1,3,RQ,weaving,yes,from the old books\n", stand, first.Add(i))
		}
		must1(h, func() (models.DayView, error) { return h.LogDay(h.ctx, unkeyed, []byte(rows.String())) })
	}
}

// BenchmarkLogBatch is the write that matters, checked against every window, by
// few writers and by 32 at one stand. It comes from someone, so that a line is
// kept of it.
func BenchmarkLogBatch(b *testing.B) {
	for _, dialect := range storetest.Dialects {
		for _, writers := range []int{2, 32} {
			b.Run(fmt.Sprintf("%s/writers=%d", dialect, writers), func(b *testing.B) {
				h := benchHouse(b, dialect, "TB-01")
				b.SetParallelism(max(1, writers/runtime.GOMAXPROCS(0)))
				ctx := nursery.As(h.ctx, models.Caller{Token: "t", Name: "RQ", Role: models.Volunteer, Request: "POST /v1/batches"})
				var cuts atomic.Int64
				b.ResetTimer()
				b.RunParallel(func(pb *testing.PB) {
					for pb.Next() {
						day := date("2025-02-01").Add(int(cuts.Add(1)) % 360) // as a season spreads them
						if _, err := h.LogBatch(ctx, unkeyed, cutOf("TB-01", day.String(), 1)); err != nil {
							b.Error(err)
						}
					}
				})
			})
		}
	}
}

// BenchmarkHistory asks what a stand can spare and what is due, with little behind
// it and with eleven years of a cut a day. The allowance reads two windows of
// days, full ones in the second case, and due reads the 50 batches in trays.
func BenchmarkHistory(b *testing.B) {
	for _, dialect := range storetest.Dialects {
		for _, history := range []int{0, 4000} {
			h := benchHouse(b, dialect, "TB-01")
			h.past("TB-01", history)
			for i := range 50 {
				h.log(cutOf("TB-01", date("2026-01-01").Add(i%28).String(), 4, stuckOn("2026-01-29", "B2")))
			}
			if _, err := h.store.SQL().Exec("ANALYZE"); err != nil { // as both databases do by themselves, in their own time
				b.Fatal(err)
			}
			b.Run(fmt.Sprintf("%s/allowance/history=%d", dialect, history), func(b *testing.B) {
				for b.Loop() {
					h.allowed("TB-01", nursery.AllowanceQuery{})
				}
			})
			b.Run(fmt.Sprintf("%s/due/history=%d", dialect, history), func(b *testing.B) {
				for b.Loop() {
					must1(h, func() (models.DueList, error) { return h.Due(h.ctx, nursery.DueQuery{}) })
				}
			})
		}
	}
}

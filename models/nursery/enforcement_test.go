package nursery_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
)

// atOnce runs n writers at the same time, each with its own chance, and waits.
func atOnce(n int, write func(i int, chance *rand.Rand)) {
	var all sync.WaitGroup
	start := make(chan struct{})
	for i := range n {
		all.Go(func() {
			<-start
			write(i, rand.New(rand.NewPCG(uint64(i), 7)))
		})
	}
	close(start)
	all.Wait()
}

// wantRefusal says what is wrong with an error that should be a refusal for want
// of stems.
func wantRefusal(err error) error {
	e := models.AsError(err)
	switch {
	case e == nil || e.Kind != models.Refused || e.Code != "over-allowance":
		return fmt.Errorf("the error is no refusal: %w", err)
	case e.Allowed == nil || *e.Allowed < 0 || e.Binding == nil || e.Binding.Code != "stand" || e.Binding.Detail == "":
		return fmt.Errorf("the refusal lacks its numbers: %w", err)
	}
	return nil
}

// Whatever the number of writers, exactly the allowance is taken: to the stem,
// since each goes on with one stem at a time until even that is refused.
func TestManyWritersTakeTheAllowanceAndNoMore(t *testing.T) {
	const writers, tries = 32, 4
	each(t, func(h *house) {
		h.dogwood()
		h.stand("TB-01", func(r *models.NewStand) {
			r.HarvestRule = &models.NewHarvestRule{StandCap: ptr(models.MustDecimal("0.29")), WindowDays: ptr(30)}
		})
		h.census("TB-01", "2025-11-01", 400) // 116 stems in any 30 days
		atOnce(writers, func(i int, chance *rand.Rand) {
			for try := range tries {
				most := 12
				if try == tries-1 {
					most = 1
				}
				h.takeSome(chance, most)
			}
		})
		h.fillUp("TB-01", date("2026-02-01"))
		h.noWindowIsOverfull("TB-01", 30, 116)
		if got := h.allowed("TB-01", allowanceOn("2026-02-20")); got.Taken != 116 || got.Allowed != 0 {
			h.t.Errorf("%d of %d are taken and %d allowed", got.Taken, got.Limit, got.Allowed)
		}
	})
}

// takeSome tries one batch of up to so many stems on a day of three weeks.
func (h *house) takeSome(chance *rand.Rand, most int) {
	on := date("2026-02-01").Add(chance.IntN(20))
	req := cutOf("TB-01", on.String(), 1+chance.IntN(most))
	_, err := h.LogBatch(h.ctx, unkeyed, req)
	if err == nil {
		return
	}
	if problem := wantRefusal(err); problem != nil {
		h.t.Error(problem)
		return
	}
	if allowed := *models.AsError(err).Allowed; allowed >= req.StemsCut {
		h.t.Errorf("%d stems are refused, and %d allowed", req.StemsCut, allowed)
	}
}

// fillUp takes single stems, by many writers at once, until none is left.
func (h *house) fillUp(stand string, on models.Date) {
	atOnce(32, func(int, *rand.Rand) {
		for {
			_, err := h.LogBatch(h.ctx, unkeyed, cutOf(stand, on.String(), 1))
			if err == nil {
				continue
			}
			if problem := wantRefusal(err); problem != nil {
				h.t.Error(problem)
			}
			return
		}
	})
}

// noWindowIsOverfull sums the ledger line by line, without asking the rules.
func (h *house) noWindowIsOverfull(stand string, window, limit int) {
	h.t.Helper()
	stems := map[models.Date]int{}
	total := 0
	for _, batch := range h.batchesOf(nursery.BatchQuery{Stand: stand}) {
		stems[batch.CollectedOn] += batch.StemsCut
		total += batch.StemsCut
	}
	for day := range stems {
		taken := 0
		for i := range window {
			taken += stems[day.Add(-i)]
		}
		if taken > limit {
			h.t.Errorf("%d of %d stems are taken in the %d days to %s", taken, limit, window, day)
		}
	}
	if sum, _ := h.ledger(stand); sum != total {
		h.t.Errorf("the ledger has %d stems, and the batches %d", sum, total)
	}
}

// Day sheets that touch the same stands in different orders wait for each other
// and never lock each other out.
func TestDaySheetsOverManyStands(t *testing.T) {
	stands := []string{"TB-01", "TB-02", "TB-03", "TB-04", "TB-05"}
	each(t, func(h *house) {
		h.counted(stands...)
		var mutex sync.Mutex
		entered := map[string]int{}
		atOnce(16, func(i int, chance *rand.Rand) {
			for range 4 {
				sheet, rows := "stand,collected_on,stems_cut,cuttings,collected_by\n", map[string]int{}
				for _, at := range chance.Perm(len(stands)) {
					n := 1 + chance.IntN(2)
					sheet += fmt.Sprintf("%s,2026-02-%02d,%d,6,RQ\n", stands[at], 1+chance.IntN(20), n)
					rows[stands[at]] += n
				}
				_, err := h.LogDay(h.ctx, unkeyed, []byte(sheet))
				if err != nil {
					if problem := wantRefusal(err); problem != nil {
						h.t.Error(problem)
					}
					continue
				}
				mutex.Lock()
				for stand, n := range rows {
					entered[stand] += n
				}
				mutex.Unlock()
			}
		})
		for _, stand := range stands {
			if sum, _ := h.ledger(stand); sum != entered[stand] || sum > 40 {
				h.t.Errorf("%d stems of %s are on the ledger, and %d were entered", sum, stand, entered[stand])
			}
			h.noWindowIsOverfull(stand, 350, 40)
		}
		h.wholeSheets(stands)
	})
}

// wholeSheets wants as many batches of each stand: a sheet has a row for each.
func (h *house) wholeSheets(stands []string) {
	h.t.Helper()
	n := len(h.batchesOf(nursery.BatchQuery{Stand: stands[0]}))
	for _, stand := range stands[1:] {
		if m := len(h.batchesOf(nursery.BatchQuery{Stand: stand})); m != n || n == 0 {
			h.t.Errorf("%d batches of %s and %d of %s: a sheet was entered in part", n, stands[0], m, stand)
		}
	}
}

// What changes the rules takes the lock of the stand as well: a cut is judged
// either before it or after.
func TestRulesChangeBetweenCuts(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		atOnce(16, func(i int, chance *rand.Rand) {
			switch {
			case i == 0:
				_, err := h.AddSurvey(h.ctx, unkeyed, "TB-01", models.NewSurvey{SurveyedOn: date("2026-01-02"), Method: models.Census, Stems: ptr(400)})
				if err != nil {
					h.t.Error(err)
				}
			case i == 1:
				_, err := h.EditTaxon(h.ctx, "Cornus sericea", 1, models.TaxonEdit{Protected: models.SetTo(true)})
				if err != nil {
					h.t.Error(err)
				}
			default:
				for range 6 {
					_, err := h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-01", 1+chance.IntN(4)))
					if e := models.AsError(err); err != nil && (e == nil || e.Kind != models.Refused) {
						h.t.Errorf("%v", err)
					}
				}
			}
		})
		_, err := h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-01", 1))
		h.refused(err, models.Refused, "protected")
		h.noWindowIsOverfull("TB-01", 350, 40)
	})
}

// One request sent many times at once is one batch, and all are told the same.
func TestOneKeyIsOneBatch(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		answers := make([]string, 16)
		atOnce(len(answers), func(i int, _ *rand.Rand) {
			view, err := h.LogBatch(h.ctx, keyed("same"), cutOf("TB-01", "2026-02-01", 4, stuckOn("2026-02-02", "B2")))
			text, err2 := json.Marshal(view)
			if err := errors.Join(err, err2); err != nil {
				h.t.Error(err)
			}
			answers[i] = string(text)
		})
		slices.Sort(answers)
		if distinct := slices.Compact(answers); len(distinct) != 1 {
			h.t.Errorf("the answers differ:\n%s", strings.Join(distinct, "\n"))
		}
		if stems, lines := h.ledger("TB-01"); stems != 4 || lines != 1 {
			h.t.Errorf("%d stems in %d lines", stems, lines)
		}
		_, err := h.LogBatch(h.ctx, keyed("same"), cutOf("TB-01", "2026-02-01", 5))
		h.refused(err, models.Conflict, "key-reused")
		other := nursery.As(h.ctx, models.Caller{Token: "another", Role: models.Volunteer})
		must1(h, func() (models.BatchView, error) {
			return h.LogBatch(other, keyed("same"), cutOf("TB-01", "2026-02-01", 5))
		})
	})
}

// A refusal holds no key, and a key is forgotten after 30 days.
func TestHowLongAKeyHolds(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		_, err := h.LogBatch(h.ctx, keyed("a"), cutOf("TB-01", "2026-02-01", 41))
		h.refused(err, models.Refused, "over-allowance")
		first, err := h.LogBatch(h.ctx, keyed("a"), cutOf("TB-01", "2026-02-01", 4))
		must(h, first, err)
		h.goTo("2026-03-31 10:59")
		again, err := h.LogBatch(h.ctx, keyed("a"), cutOf("TB-01", "2026-02-01", 4))
		h.sameJSON("almost 30 days later", first, must(h, again, err))
		forgotten, err := h.ForgetKeys(h.ctx)
		if must(h, forgotten, err); forgotten != 0 {
			h.t.Errorf("%d keys are forgotten early", forgotten)
		}
		h.goTo("2026-03-31 11:01")
		second, err := h.LogBatch(h.ctx, keyed("a"), cutOf("TB-01", "2026-02-01", 4))
		if must(h, second, err); second.Code != "TB-01-2026-2" {
			h.t.Errorf("after 30 days the key gives %s", second.Code)
		}
		h.goTo("2026-04-30 12:00")
		forgotten, err = h.ForgetKeys(h.ctx)
		if must(h, forgotten, err); forgotten != 1 {
			h.t.Errorf("%d keys are forgotten", forgotten)
		}
	})
}

// Entries about one batch by many at once: each counts, or says that it is too
// many; none is lost.
func TestManyEntriesAboutOneBatch(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		code := h.log(cutOf("TB-01", "2026-02-01", 8)).Code // 24 cuttings
		var mutex sync.Mutex
		moved := 0
		atOnce(16, func(i int, _ *rand.Rand) {
			var err error
			if i%4 == 0 {
				_, err = h.Split(h.ctx, unkeyed, code, models.NewSplit{On: date("2026-02-02"), Arms: []models.Arm{{Count: 2}}})
			} else {
				_, err = h.Move(h.ctx, unkeyed, code, models.NewMove{On: date("2026-02-02"), To: models.ToUsed, Count: 2})
			}
			mutex.Lock()
			defer mutex.Unlock()
			if err == nil {
				moved++
			} else if e := models.AsError(err); e == nil || e.Code != "too-many-cuttings" {
				h.t.Error(err)
			}
		})
		view, err := h.Batch(h.ctx, code)
		must(h, view, err)
		if counts := view.Counts; moved != 12 || counts.InHand != 0 || counts.Used+counts.ToSisters != 24 || view.Version != 13 {
			h.t.Errorf("%d entries passed, version %d: %+v", moved, view.Version, counts)
		}
	})
}

func TestManyServersMakeOneReminderAndWriteFlagsOnce(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		code := h.log(cutOf("TB-01", "2026-02-20", 4)).Code
		h.goTo("2026-03-02 07:00")
		var mutex sync.Mutex
		did := map[string]int{}
		ids := map[string]bool{}
		atOnce(24, func(i int, _ *rand.Rand) {
			kind, done, err := h.jobOf(i, &mutex, ids)
			if err != nil {
				h.t.Errorf("%s: %v", kind, err)
			}
			mutex.Lock()
			defer mutex.Unlock()
			if done {
				did[kind]++
			}
		})
		if did["reminder"] != 1 || did["flags"] != 1 || len(ids) != 1 {
			h.t.Errorf("done: %v, and the reminders are %v", did, ids)
		}
		if got := h.weeks(); len(got) != 1 {
			h.t.Errorf("the weeks are %q", got)
		}
		if got := h.flagHistory(code); !slices.Equal(got, []string{"stick 2026-03-02 to "}) {
			h.t.Errorf("the flags are %q", got)
		}
	})
}

// jobOf is a third each: the scheduled reminder, one asked for, and the flags.
func (h *house) jobOf(i int, mutex *sync.Mutex, ids map[string]bool) (kind string, done bool, err error) {
	switch i % 3 {
	case 0:
		done, err = h.RemindIfDue(h.ctx)
		return "reminder", done, err
	case 1:
		view, err := h.Remind(h.ctx, unkeyed, models.NewReminder{})
		mutex.Lock()
		ids[view.ID] = true
		mutex.Unlock()
		return "reminder", view.Made, err
	}
	done, err = h.WriteFlags(h.ctx)
	return "flags", done, err
}

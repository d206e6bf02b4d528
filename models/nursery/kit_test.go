package nursery_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// house is a nursery in the west on a database of its own, with a clock that the
// test moves and identifiers that are counted.
type house struct {
	*nursery.Nursery
	t     testing.TB
	ctx   context.Context
	store *store.Store
	at    time.Time // what the clock says
	ids   atomic.Int64
}

// each runs a story on both databases, beginning on 1 March 2026 at 10 in the
// morning.
func each(t *testing.T, story func(h *house)) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := newHouse(t, s)
		if _, err := h.Make(h.ctx, nursery.Seed{Name: "Wrenlow Valley", TimeZone: "America/Los_Angeles"}); err != nil {
			t.Fatal(err)
		}
		story(h)
	})
}

func newHouse(t testing.TB, s *store.Store) *house {
	h := &house{t: t, ctx: context.Background(), store: s}
	h.goTo("2026-03-01 10:00")
	h.Nursery = nursery.New(s, func() time.Time { return h.at }, func() string { return fmt.Sprintf("id-%09d", h.ids.Add(1)) }, func() string { return fmt.Sprintf("%08d%044d", h.ids.Add(1), h.ids.Add(1)) })
	return h
}

// goTo moves the clock to a minute in the west.
func (h *house) goTo(minute string) {
	h.t.Helper()
	place, err := time.LoadLocation("America/Los_Angeles")
	if err != nil {
		h.t.Fatal(err)
	}
	if h.at, err = time.ParseInLocation("2006-01-02 15:04", minute, place); err != nil {
		h.t.Fatal(err)
	}
}

func date(text string) models.Date { return models.MustDate(text) }

func ptr[T any](v T) *T { return &v }

// must is an answer that came without an error.
func must[T any](h *house, answer T, err error) T {
	h.t.Helper()
	if err != nil {
		h.t.Fatal(err)
	}
	return answer
}

// refused wants an error of a kind and code that says something.
func (h *house) refused(err error, kind models.Kind, code string, says ...string) *models.Error {
	h.t.Helper()
	var e *models.Error
	if !errors.As(err, &e) {
		h.t.Fatalf("the error is %v, want %s %s", err, kind, code)
	}
	if e.Kind != kind || e.Code != code {
		h.t.Fatalf("the error is %s %s (%v), want %s %s", e.Kind, e.Code, e, kind, code)
	}
	for _, word := range says {
		if !strings.Contains(e.Error(), word) {
			h.t.Errorf("%q does not say %q", e.Error(), word)
		}
	}
	return e
}

// unkeyed is a request without a key.
var unkeyed = nursery.Once{}

func keyed(key string) nursery.Once {
	return nursery.Once{Route: "POST /v1/batches", Key: key}
}

func (h *house) dogwood() {
	h.t.Helper()
	must1(h, func() (models.Taxon, error) {
		return h.AddTaxon(h.ctx, unkeyed, models.NewTaxon{ScientificName: "Cornus sericea", CommonName: "red-osier dogwood", Family: "Cornaceae"})
	})
}

// must1 runs a step whose answer does not matter.
func must1[T any](h *house, step func() (T, error)) {
	h.t.Helper()
	if _, err := step(); err != nil {
		h.t.Fatal(err)
	}
}

func (h *house) stand(code string, change ...func(*models.NewStand)) {
	h.t.Helper()
	req := models.NewStand{Code: code, Name: "Wrenlow Bend " + code, Taxon: "Cornus sericea", Place: "Wrenlow Bend", LandManager: "Wrenlow Valley Parks"}
	for _, c := range change {
		c(&req)
	}
	must1(h, func() (models.StandView, error) { return h.AddStand(h.ctx, unkeyed, req) })
}

func (h *house) census(stand, on string, stems int, plants ...int) models.SurveyView {
	h.t.Helper()
	req := models.NewSurvey{SurveyedOn: date(on), Method: models.Census, Stems: &stems, SurveyedBy: "OP"}
	if len(plants) > 0 {
		req.Plants = &plants[0]
	}
	view, err := h.AddSurvey(h.ctx, unkeyed, stand, req)
	return must(h, view, err)
}

// counted is a house with the dogwood stands TB-01 and so on, each with a census
// of 800 stems on 1 January 2026, so that 40 may be cut.
func (h *house) counted(stands ...string) {
	h.t.Helper()
	h.dogwood()
	for _, code := range stands {
		h.stand(code)
		h.census(code, "2026-01-01", 800)
	}
}

func cutOf(stand, on string, stems int, change ...func(*models.NewBatch)) models.NewBatch {
	req := models.NewBatch{
		Stand: stand, CollectedOn: date(on), StemsCut: stems, Cuttings: 3 * stems, CollectedBy: "RQ",
		Details: models.Details{Kind: models.Hardwood},
	}
	for _, c := range change {
		c(&req)
	}
	return req
}

func alreadyCut(r *models.NewBatch) { r.AlreadyCut, r.Reason = true, "two crews cut on one morning" }

func stuckOn(on, bench string) func(*models.NewBatch) {
	return func(r *models.NewBatch) { r.StuckOn, r.Tray = date(on), warmTray(bench) }
}

func warmTray(bench string) models.Tray {
	return models.Tray{
		Medium: "perlite", Bench: bench, BottomHeat: &models.BottomHeat{Recorded: true, Heated: true, Celsius: 21},
		Treatment: &models.Treatment{Auxin: "IBA", AuxinPPM: ptr(3000.0)},
	}
}

func (h *house) log(req models.NewBatch) models.BatchView {
	h.t.Helper()
	view, err := h.LogBatch(h.ctx, unkeyed, req)
	return must(h, view, err)
}

// ledger is the sum of the stems on a stand's ledger, and the number of its lines.
func (h *house) ledger(stand string) (stems, lines int) {
	h.t.Helper()
	page := models.Page{Limit: models.MaxPage}
	for {
		list, err := h.Ledger(h.ctx, stand, models.Date{}, page)
		must(h, list, err)
		for _, line := range list.Items {
			stems += line.Stems
			lines++
		}
		if list.Next == "" {
			return stems, lines
		}
		page.After = list.Next
	}
}

// batchesOf are all batches of a query, over all pages.
func (h *house) batchesOf(q nursery.BatchQuery) []models.BatchSummary {
	h.t.Helper()
	var all []models.BatchSummary
	q.Limit = models.MaxPage
	for {
		list, err := h.Batches(h.ctx, q)
		must(h, list, err)
		all = append(all, list.Items...)
		if list.Next == "" {
			return all
		}
		q.After = list.Next
	}
}

func (h *house) allowed(stand string, q nursery.AllowanceQuery) models.Allowance {
	h.t.Helper()
	answer, err := h.Allowance(h.ctx, stand, q)
	return must(h, answer, err)
}

// sameJSON wants two answers to be written alike.
func (h *house) sameJSON(what string, want, got any) {
	h.t.Helper()
	first, err := json.Marshal(want)
	must(h, first, err)
	second, err := json.Marshal(got)
	must(h, second, err)
	if string(first) != string(second) {
		h.t.Errorf("%s: the answers are\n%s\n%s", what, first, second)
	}
}

func (h *house) warned(warnings []string, says string) {
	h.t.Helper()
	if !slices.ContainsFunc(warnings, func(w string) bool { return strings.Contains(w, says) }) {
		h.t.Errorf("the warnings %q do not say %q", warnings, says)
	}
}

// flagsOf are the flags in a list of what is due, with their batch.
func flagsOf(items []models.DueItem) []string {
	names := []string{}
	for _, item := range items {
		names = append(names, item.Batch+" "+string(item.Flag))
	}
	return names
}

package nursery_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/rules"
	"withybed/models/stats"
	"withybed/models/store"
)

// tray is a batch that was stuck: where, how and by whom, and how many rooted by
// the look of 1 February.
type tray struct {
	stand, cut string
	kind       models.CuttingKind
	models.Tray
	rooted int
}

func heat(on bool) *models.BottomHeat { return &models.BottomHeat{Recorded: true, Heated: on} }

func treated(name string) *models.Treatment {
	t := models.NamedTreatment(name)
	return &t
}

func (h *house) stuckTray(t tray) string {
	h.t.Helper()
	code := h.log(cutOf(t.stand, t.cut, 10, alreadyCut, func(r *models.NewBatch) {
		on := date(t.cut).Add(1)
		r.Kind, r.StuckOn, r.Tray = t.kind, on, t.Tray
	})).Code
	view, err := h.Check(h.ctx, unkeyed, code, models.NewCheck{CheckedOn: date(t.cut).Add(30), Rooted: &t.rooted})
	must(h, view, err)
	return code
}

// trays are four batches that differ in everything they can be picked by.
func (h *house) trays() {
	h.t.Helper()
	h.counted("TB-01", "TB-02")
	for _, t := range []tray{
		{"TB-01", "2026-01-10", models.Hardwood, models.Tray{Treatment: treated("none"), Medium: "perlite", Bench: "B1", BottomHeat: heat(true), StuckBy: "RQ"}, 10},
		{"TB-01", "2026-01-11", models.Hardwood, models.Tray{Treatment: treated("Willow water"), Medium: "perlite", Bench: "B1", BottomHeat: heat(true), StuckBy: "RQ"}, 20},
		{"TB-02", "2025-06-20", models.LiveStake, models.Tray{Medium: "water", Bench: "B2", BottomHeat: heat(false), StuckBy: "JD"}, 12},
		{"TB-02", "2026-01-12", models.LiveStake, models.Tray{Medium: "Water", Bench: "B2", StuckBy: "someone new"}, 14},
	} {
		h.stuckTray(t)
	}
}

func TestRootingIsPickedByWhatWasRecorded(t *testing.T) {
	each(t, func(h *house) {
		h.trays()
		for what, c := range map[string]struct {
			pick   nursery.RootingPick
			rooted int
		}{
			"all":                       {nursery.RootingPick{}, 56},
			"a taxon":                   {nursery.RootingPick{Taxon: "cornus sericea"}, 56},
			"a stand":                   {nursery.RootingPick{Stand: "tb-01"}, 30},
			"a kind":                    {nursery.RootingPick{Kind: models.LiveStake}, 26},
			"a treatment":               {nursery.RootingPick{Treatment: "willow  WATER"}, 20},
			"no treatment":              {nursery.RootingPick{Treatment: "none"}, 36},
			"a medium":                  {nursery.RootingPick{Medium: "WATER"}, 26},
			"heated":                    {nursery.RootingPick{Heated: "yes"}, 30},
			"unheated":                  {nursery.RootingPick{Heated: "no"}, 12},
			"a bench":                   {nursery.RootingPick{Bench: "b2"}, 26},
			"a season":                  {nursery.RootingPick{Season: "2024/25"}, 12},
			"from a day on":             {nursery.RootingPick{From: date("2026-01-11")}, 34},
			"up to a day":               {nursery.RootingPick{To: date("2026-01-10")}, 22},
			"several at once":           {nursery.RootingPick{Stand: "TB-01", Treatment: "none", Heated: "yes", Season: "2025/26"}, 10},
			"nothing that is there":     {nursery.RootingPick{Stand: "TB-01", Medium: "sand"}, 0},
			"before anything was found": {nursery.RootingPick{On: date("2025-07-01")}, 0},
		} {
			report, err := h.RootingCurve(h.ctx, nursery.RootingQuery{RootingPick: c.pick})
			if must(h, report, err); len(report.Groups) != 1 || report.Groups[0].Rooted != c.rooted {
				h.t.Errorf("%s: %+v, want %d rooted", what, report.Groups, c.rooted)
			}
		}
	})
}

// Rates tell kinds and treatments apart unless they are asked to be pooled; the
// others pool, and say over what.
func TestWhatIsPooled(t *testing.T) {
	each(t, func(h *house) {
		h.trays()
		rate, err := h.RootingRate(h.ctx, nursery.RootingQuery{})
		if must(h, rate, err); !slices.Equal(rate.By, rules.DefaultGrouping) || len(rate.Groups) != 4 {
			h.t.Errorf("rates are by %q, in %d groups", rate.By, len(rate.Groups))
		}
		for _, g := range rate.Groups {
			if strings.Contains(strings.Join(g.Notes, "\n"), "pooled") {
				h.t.Errorf("%v: %q", g.Key, g.Notes)
			}
		}
		days, err := h.RootingDays(h.ctx, nursery.RootingQuery{})
		if must(h, days, err); len(days.Groups) != 1 || len(days.By) != 0 {
			h.t.Errorf("days: %+v", days)
		}
		for _, over := range []string{"treatments", "kinds"} {
			if notes := strings.Join(days.Groups[0].Notes, "\n"); !strings.Contains(notes, over) {
				h.t.Errorf("%q does not say that it pools %s", notes, over)
			}
		}
		fit, err := h.RootingFit(h.ctx, nursery.RootingPick{}, []string{"kind"})
		if must(h, fit, err); fit.Rooted != 56 || len(fit.Groups) != 2 || fit.Groups[0].Rooted+fit.Groups[1].Rooted != 56 {
			h.t.Errorf("fits: %+v", fit)
		}
		alone, err := h.RootingFit(h.ctx, nursery.RootingPick{}, nil)
		if must(h, alone, err); len(alone.Groups) != 0 || len(alone.Fits) != 3 {
			h.t.Errorf("fits of all: %+v", alone)
		}
		h.sameJSON("the fits of all", alone.FitGroup, fit.FitGroup)
		_, err = h.RootingFit(h.ctx, nursery.RootingPick{}, []string{"person"})
		h.refused(err, models.Invalid, "unknown-grouping")
	})
}

func TestArmsAreComparedByWhatWasRecorded(t *testing.T) {
	each(t, func(h *house) {
		h.trays()
		c, err := h.RootingCompare(h.ctx, nursery.RootingPick{Stand: "TB-01"}, rules.CompareAsk{})
		if must(h, c, err); c.By != "treatment" || c.Reference != "none" || c.On != date("2026-03-01") || len(c.Arms) != 2 || c.SideBySide {
			h.t.Errorf("%+v", c)
		}
		_, err = h.RootingCompare(h.ctx, nursery.RootingPick{}, rules.CompareAsk{Reference: "talc"})
		h.refused(err, models.Invalid, "unknown-arm", "talc")
		_, err = h.RootingCompare(h.ctx, nursery.RootingPick{}, rules.CompareAsk{By: "weather"})
		h.refused(err, models.Invalid, "unknown-grouping", "weather")
	})
}

// People are compared for those who lead, by codes alone.
func TestPeopleAreComparedForLeadsAlone(t *testing.T) {
	each(t, func(h *house) {
		h.trays()
		ask := rules.CompareAsk{By: rules.ByPerson}
		for _, role := range []models.Role{models.Volunteer, models.Reader, models.Manager} {
			_, err := h.RootingCompare(nursery.As(h.ctx, models.Caller{Role: role}), nursery.RootingPick{}, ask)
			h.refused(err, models.Forbidden, "not-for-role", "leads and coordinators", string(role))
		}
		for _, role := range []models.Role{"", models.Lead, models.Coordinator} {
			c, err := h.RootingCompare(nursery.As(h.ctx, models.Caller{Role: role}), nursery.RootingPick{}, ask)
			if must(h, c, err); !slices.Equal(armsOf(c), []string{"JD", "RQ", "someone new"}) {
				h.t.Errorf("as %q the arms are %q", role, armsOf(c))
			}
		}
		for _, code := range []string{"RQ", "JD"} {
			must1(h, func() (models.PersonView, error) {
				return h.AddPerson(h.ctx, unkeyed, models.NewPerson{Code: code, Name: "Robin Quill " + code})
			})
		}
		c, err := h.RootingCompare(h.ctx, nursery.RootingPick{}, ask)
		if must(h, c, err); !slices.Equal(armsOf(c), []string{"JD", "RQ"}) {
			h.t.Errorf("with a list of people the arms are %q", armsOf(c))
		}
	})
}

func armsOf(c models.Comparison) (names []string) {
	for _, a := range c.Arms {
		names = append(names, a.Treatment)
	}
	return names
}

// rootingAnswers ask each question about rooting, limits drawn few times.
func (h *house) rootingAnswers() map[string]func(context.Context) error {
	q := nursery.RootingQuery{Drawing: stats.Drawing{Replicates: 2, Seed: 1}}
	return map[string]func(context.Context) error{
		"rate":  func(ctx context.Context) error { _, err := h.RootingRate(ctx, q); return err },
		"curve": func(ctx context.Context) error { _, err := h.RootingCurve(ctx, q); return err },
		"days":  func(ctx context.Context) error { _, err := h.RootingDays(ctx, q); return err },
		"fit":   func(ctx context.Context) error { _, err := h.RootingFit(ctx, q.RootingPick, nil); return err },
		"compare": func(ctx context.Context) error {
			_, err := h.RootingCompare(ctx, q.RootingPick, rules.CompareAsk{})
			return err
		},
		"people": func(ctx context.Context) error {
			_, err := h.RootingCompare(ctx, q.RootingPick, rules.CompareAsk{By: rules.ByPerson})
			return err
		},
	}
}

// What is asked takes as many statements of fifty batches as of one, and none of
// them ask after what goes away.
func TestRootingTakesOneNumberOfStatements(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.stuckTray(tray{"TB-01", "2026-01-10", models.Hardwood, warmTray("B1"), 5})
		few := h.rootingStatements()
		for i := range 49 {
			h.log(cutOf("TB-01", date("2026-01-11").Add(i%20).String(), 1, alreadyCut, stuckOn("2026-01-31", "B2")))
		}
		for name, taken := range h.rootingStatements() {
			if taken != few[name] || taken == 0 {
				h.t.Errorf("%s takes %d statements of one batch and %d of fifty", name, few[name], taken)
			}
		}
		gone, leave := context.WithCancel(h.ctx)
		leave()
		for name, ask := range h.rootingAnswers() {
			if err := ask(gone); !errors.Is(err, context.Canceled) {
				h.t.Errorf("%s after its client has gone: %v", name, err)
			}
		}
	})
}

func (h *house) rootingStatements() map[string]int {
	h.t.Helper()
	taken := map[string]int{}
	for name, ask := range h.rootingAnswers() {
		if err := ask(store.Watch(h.ctx, func(string) { taken[name]++ })); err != nil {
			h.t.Fatal(err)
		}
	}
	return taken
}

// BenchmarkCurve is a pooled curve over 5,000 stored batches of 40 cuttings, each
// looked at four times: without limits, and with limits drawn 1,000 times.
func BenchmarkCurve(b *testing.B) {
	h := benchHouse(b, store.SQLite, "TB-01")
	h.manyTrays(5000)
	for _, replicates := range []int{0, 1000} {
		b.Run(fmt.Sprintf("replicates=%d", replicates), func(b *testing.B) {
			q := nursery.RootingQuery{Drawing: stats.Drawing{Replicates: replicates, Seed: 1}}
			for b.Loop() {
				report, err := h.RootingCurve(h.ctx, q)
				if must(h, report, err); report.Groups[0].Batches != 5000 || report.Groups[0].Gap > 1e-3 {
					b.Fatalf("%+v", report.Groups[0].RootingCounts)
				}
			}
		})
	}
}

// manyTrays writes batches as the use cases leave them, in one transaction.
func (h *house) manyTrays(n int) {
	h.t.Helper()
	code := h.log(cutOf("TB-01", "2025-10-01", 10, stuckOn("2025-10-02", "B1"))).Code
	err := h.store.Write(h.ctx, func(tx *store.Tx) error {
		first, err := tx.BatchRecord(models.NameKey(code))
		if err != nil {
			return err
		}
		for from := 1; from < n; from += 500 {
			if err := h.addTrays(tx, first, from, min(from+500, n)); err != nil {
				return err
			}
		}
		return h.addLooks(tx, first.ID, 0)
	})
	must(h, struct{}{}, err)
}

func (h *house) addTrays(tx *store.Tx, first *models.BatchRecord, from, to int) error {
	records := make([]*models.BatchRecord, 0, to-from)
	for i := from; i < to; i++ {
		r := first.Copy()
		r.ID, r.Number = fmt.Sprintf("tray-%06d", i), i+1
		r.Code = fmt.Sprintf("TB-01-2025-%d", i+1)
		r.CodeKey = models.NameKey(r.Code)
		r.Sticking.BatchID = r.ID
		records = append(records, r)
	}
	if err := tx.AddBatches(records); err != nil {
		return err
	}
	for i, r := range records {
		if err := h.addLooks(tx, r.ID, from+i); err != nil {
			return err
		}
	}
	return nil
}

// addLooks are four looks at a batch, on days of its own.
func (h *house) addLooks(tx *store.Tx, batch string, i int) error {
	for k := range 4 {
		rooted := (k + 1) * (8 + i%20) / 4
		c := models.Check{ID: fmt.Sprintf("%s-%d", batch, k), BatchID: batch, CheckedOn: date("2025-10-02").Add(14*(k+1) + i%13), Rooted: &rooted, Entry: 100 + k, EnteredAt: h.at}
		if err := tx.AddCheck(c); err != nil {
			return err
		}
	}
	return nil
}

package nursery_test

import (
	"context"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
)

func allowanceOn(day string) nursery.AllowanceQuery {
	if day == "" {
		return nursery.AllowanceQuery{}
	}
	return nursery.AllowanceQuery{On: date(day)}
}

func TestTheStoryOfStands(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		h.stand("TB-01", func(r *models.NewStand) {
			r.Latitude, r.Longitude, r.Sensitivity = ptr(46.12345), ptr(-122.54321), models.HighSensitivity
		})
		h.stand("TB-02", func(r *models.NewStand) { r.Place = "Long Bar" })
		_, err := h.AddStand(h.ctx, unkeyed, models.NewStand{Code: "tb-01", Name: "again", Taxon: "Cornus sericea"})
		h.refused(err, models.Conflict, "taken", "tb-01")
		_, err = h.AddStand(h.ctx, unkeyed, models.NewStand{Code: "TB-03", Name: "third", Taxon: "Cornus sericae"})
		if e := h.refused(err, models.Unknown, "unknown-taxon"); len(e.Suggestions) != 1 {
			h.t.Errorf("near are %q", e.Suggestions)
		}
		_, err = h.Stand(h.ctx, "TB-3", false)
		if e := h.refused(err, models.NotFound, "no-such-stand"); len(e.Suggestions) != 2 {
			h.t.Errorf("near are %q", e.Suggestions)
		}

		view, err := h.Stand(h.ctx, "tb-01", false)
		if must(h, view, err); *view.Latitude != 46.1 || view.DataGeneralizations == "" || view.HarvestRule.StandCap != models.MustDecimal("0.05") || view.HarvestRule.InForceFrom != date("2026-03-01") {
			h.t.Errorf("%+v", view)
		}
		exact, err := h.Stand(h.ctx, "tb-01", true)
		if must(h, exact, err); *exact.Latitude != 46.12345 || *exact.Longitude != -122.54321 || exact.DataGeneralizations != "" {
			h.t.Errorf("%+v", exact)
		}

		for query, codes := range map[nursery.StandQuery]int{
			{}: 2, {Place: "long  BAR"}: 1, {Taxon: "cornus sericea"}: 2, {Place: "elsewhere"}: 0,
		} {
			list, err := h.Stands(h.ctx, query)
			if must(h, list, err); len(list.Items) != codes {
				h.t.Errorf("%+v finds %d stands, want %d", query, len(list.Items), codes)
			}
		}
		_, err = h.Stands(h.ctx, nursery.StandQuery{Taxon: "Cornus alba"})
		h.refused(err, models.Unknown, "unknown-taxon")
	})
}

func TestStandsAreEditedInVersions(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		edited, err := h.EditStand(h.ctx, "TB-01", 1, models.StandEdit{
			Name: models.SetTo("Upper bank"), HarvestRule: &models.NewHarvestRule{StandCap: ptr(models.MustDecimal("0.01"))},
			InForceFrom: date("2026-04-01"), Why: "asked for", By: "OP",
		})
		if must(h, edited, err); edited.Version != 2 || edited.Name != "Upper bank" || edited.HarvestRule.StandCap != models.MustDecimal("0.05") {
			h.t.Errorf("%+v", edited)
		}
		_, err = h.EditStand(h.ctx, "TB-01", 1, models.StandEdit{Name: models.SetTo("Lower bank")})
		h.refused(err, models.Stale, "stale", "at version 2, not 1")
		_, err = h.EditStand(h.ctx, "TB-09", 1, models.StandEdit{})
		h.refused(err, models.NotFound, "no-such-stand")
		edited, err = h.EditStand(h.ctx, "TB-01", 2, models.StandEdit{
			Closures: &[]models.Closure{{From: "03-01", To: "03-31", EveryYear: true, Reason: "birds nest"}}, InForceFrom: date("2026-03-15"),
		})
		if must(h, edited, err); edited.Version != 3 || len(edited.Closures) != 0 {
			h.t.Errorf("%+v", edited)
		}
		for on, want := range map[string][2]int{ // limit, allowed
			"2026-03-14": {40, 40}, "2026-03-15": {40, 0}, "2026-03-31": {40, 0}, "2026-04-01": {8, 8},
		} {
			if got := h.allowed("TB-01", allowanceOn(on)); got.Limit != want[0] || got.Allowed != want[1] {
				h.t.Errorf("on %s %d of %d are allowed, want %d of %d", on, got.Allowed, got.Limit, want[1], want[0])
			}
		}
		versions, err := h.Versions(h.ctx, "TB-01")
		if must(h, versions, err); len(versions.HarvestRules) != 2 || len(versions.Closures) != 2 || versions.HarvestRules[1].Why != "asked for" || versions.HarvestRules[1].SetBy != "OP" {
			h.t.Errorf("%+v", versions)
		}
		h.goTo("2026-03-20 10:00")
		view, err := h.Stand(h.ctx, "TB-01", false)
		if must(h, view, err); len(view.Closures) != 1 || view.Closures[0].Kind != models.Closed {
			h.t.Errorf("closures are %+v", view.Closures)
		}
	})
}

func TestTheStoryOfAnAllowance(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		if got := h.allowed("TB-01", nursery.AllowanceQuery{}); got.On != date("2026-03-01") || got.Stems != 1 || got.Allowed != 40 || got.Survey.SurveyedOn != date("2026-01-01") || len(got.Rules) != 7 {
			h.t.Errorf("%+v", got)
		}
		h.log(cutOf("TB-01", "2026-02-10", 30))
		got := h.allowed("TB-01", nursery.AllowanceQuery{On: date("2026-02-01"), Stems: 11})
		if got.Allowed != 10 || got.Taken != 0 || got.Limit != 40 || *got.PossibleFrom != date("2027-01-26") {
			h.t.Errorf("before the cut: %+v", got)
		}
		_, err := h.Allowance(h.ctx, "TB-1", nursery.AllowanceQuery{})
		h.refused(err, models.NotFound, "no-such-stand")
		h.stand("TB-02")
		if got := h.allowed("TB-02", nursery.AllowanceQuery{}); got.Allowed != 0 || got.Binding.Code != "survey" || got.PossibleFrom != nil {
			h.t.Errorf("never counted: %+v", got)
		}
	})
}

func TestTheLedgerAndItsSeasons(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		h.stand("TB-01")
		h.census("TB-01", "2025-01-01", 800)
		h.log(cutOf("TB-01", "2025-06-30", 8))
		h.log(cutOf("TB-01", "2025-07-01", 4, func(r *models.NewBatch) { r.ParentPlants = ptr(3) }))
		h.log(cutOf("TB-01", "2026-02-01", 12))
		list, err := h.Ledger(h.ctx, "TB-01", models.Date{}, models.Page{Limit: 2})
		must(h, list, err)
		if len(list.Items) != 2 || list.Next == "" || list.Items[0].Batch != "TB-01-2026-1" || list.Items[1].Batch != "TB-01-2025-2" {
			h.t.Errorf("%+v", list)
		}
		if line := list.Items[1]; line.Stems != 4 || line.Parents != 3 || line.Kind != models.Cut || line.TakenOn != date("2025-07-01") || line.EnteredBy != "RQ" {
			h.t.Errorf("%+v", line)
		}
		seasons, err := h.Seasons(h.ctx, "TB-01", models.Date{})
		must(h, seasons, err)
		if len(seasons) != 2 || seasons[0].Season != "2025/26" || seasons[0].Stems != 16 || seasons[0].Batches != 2 || *seasons[0].Fraction != 0.02 || seasons[1].Stems != 8 {
			h.t.Errorf("%+v", seasons)
		}
		for _, ask := range []func() error{
			func() error { _, err := h.Ledger(h.ctx, "TB-2", models.Date{}, models.Page{}); return err },
			func() error { _, err := h.Seasons(h.ctx, "TB-2", models.Date{}); return err },
			func() error { _, err := h.Versions(h.ctx, "TB-2"); return err },
			func() error { _, err := h.Surveys(h.ctx, "TB-2", models.Page{}); return err },
			func() error { _, err := h.Disturbances(h.ctx, "TB-2"); return err },
		} {
			h.refused(ask(), models.NotFound, "no-such-stand")
		}
	})
}

// A list that belongs to a stand reads the nursery, the stand and the list, of what
// can be corrected also what was, and none of the rules, counts and cuts of the
// stand; and the codes of people, for those who see people by their codes alone.
func TestListsOfAStandReadNothingElse(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.log(cutOf("TB-01", "2026-02-01", 2))
		must1(h, func() (models.DisturbanceView, error) {
			return h.AddDisturbance(h.ctx, unkeyed, "TB-01", models.NewDisturbance{On: date("2026-02-10"), Kind: "flood"})
		})
		for name, list := range map[string]func(ctx context.Context) error{
			"ledger": func(ctx context.Context) error {
				_, err := h.Ledger(ctx, "TB-01", models.Date{}, models.Page{})
				return err
			},
			"surveys":      func(ctx context.Context) error { _, err := h.Surveys(ctx, "TB-01", models.Page{}); return err },
			"disturbances": func(ctx context.Context) error { _, err := h.Disturbances(ctx, "TB-01"); return err },
		} {
			for _, as := range []models.Role{"", models.Reader} {
				taken, want := 0, 4
				if as == models.Reader && name != "ledger" {
					want = 5
				}
				ctx := nursery.As(store.Watch(h.ctx, func(string) { taken++ }), models.Caller{Role: as})
				if err := list(ctx); err != nil || taken != want {
					h.t.Errorf("the %s takes %d statements (%v) for role %q, want %d", name, taken, err, as, want)
				}
			}
		}
	})
}

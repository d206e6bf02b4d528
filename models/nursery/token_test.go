package nursery_test

import (
	"context"
	"math/rand/v2"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"withybed/models"
	"withybed/models/nursery"
)

func (h *house) token(name string, role models.Role) models.TokenView {
	h.t.Helper()
	view, err := h.AddToken(h.ctx, unkeyed, models.NewToken{Name: name, Role: role})
	return must(h, view, err)
}

// Of many who make the first token of a name at once, one does.
func TestOneTokenOfAName(t *testing.T) {
	each(t, func(h *house) {
		_, err := h.AddToken(h.ctx, unkeyed, models.NewToken{Name: "RQ", Role: models.Volunteer})
		h.refused(err, models.Invalid, "first-token")
		var made atomic.Int64
		atOnce(12, func(int, *rand.Rand) {
			_, err := h.AddToken(h.ctx, unkeyed, models.NewToken{Name: "OP", Role: models.Coordinator})
			if err == nil {
				made.Add(1)
				return
			}
			h.refused(err, models.Conflict, "token-name-taken", "OP", "2027-03-01")
		})
		if made.Load() != 1 {
			h.t.Errorf("%d tokens of one name", made.Load())
		}
	})
}

func TestTokensEndAndAreRevoked(t *testing.T) {
	each(t, func(h *house) {
		op := h.token("OP", models.Coordinator)
		crew := h.token("Saturday  crew", models.Volunteer)
		if crew.Name != "Saturday crew" || crew.EndsOn != date("2026-03-01") || crew.EndsAt.Format(time.RFC3339) != "2026-03-02T08:00:00Z" {
			h.t.Errorf("%+v", crew)
		}
		token, err := h.Token(h.ctx, crew.Secret)
		if must(h, token, err).Role != models.Volunteer || token.Hash == crew.Secret || strings.Contains(token.Hash, crew.Secret[15:]) {
			h.t.Errorf("%+v", token)
		}
		for _, secret := range []string{"", op.Secret[:20], op.Secret + "a", crew.Secret[:15] + op.Secret[15:]} {
			_, err := h.Token(h.ctx, secret)
			h.refused(err, models.Unauthenticated, "token-unknown")
		}

		h.goTo("2026-03-02 00:00")
		again := h.token("Saturday crew", models.Volunteer) // yesterday's is over
		_, err = h.RevokeToken(h.ctx, unkeyed, "nobody")
		h.refused(err, models.NotFound, "no-such-token")
		view, err := h.RevokeToken(h.ctx, unkeyed, "saturday crew")
		if must(h, view, err); view.Handle != again.Handle || view.State != models.Revoked || len(view.Warnings) != 0 {
			h.t.Errorf("%+v", view)
		}
		view, err = h.RevokeToken(h.ctx, unkeyed, again.Handle)
		h.warned(must(h, view, err).Warnings, "revoked before")
		view, err = h.RevokeToken(h.ctx, unkeyed, op.Handle)
		h.warned(must(h, view, err).Warnings, "no coordinator's token is left")

		h.sees(false)
		h.sees(true, again.Handle, crew.Handle, op.Handle)
		needed, err := h.TokensNeeded(h.ctx)
		if !must(h, needed, err) {
			h.t.Error("the door stands open again")
		}
	})
}

// sees wants tokens in a list, the newest first, page by page.
func (h *house) sees(all bool, handles ...string) {
	h.t.Helper()
	var got []string
	for page := (models.Page{Limit: 1}); ; {
		list, err := h.Tokens(h.ctx, all, page)
		for _, t := range must(h, list, err).Items {
			got = append(got, t.Handle)
			if t.Secret != "" {
				h.t.Errorf("a list shows the secret of %s", t.Name)
			}
		}
		if page.After = list.Next; page.After == "" {
			break
		}
	}
	if !slices.Equal(got, handles) {
		h.t.Errorf("tokens %v, want %v", got, handles)
	}
}

// A land manager sees the stands on their land, with their exact places, and of
// all others not even that they are there.
func TestALandManagerSeesTheirOwnLand(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		on := func(land string) func(*models.NewStand) {
			return func(s *models.NewStand) {
				s.LandManager, s.Latitude, s.Longitude = land, ptr(46.12345), ptr(-122.54321)
				s.Sensitivity = models.ExtremeSensitivity
			}
		}
		h.stand("TB-01", on("Wrenlow Valley Parks"))
		h.stand("TB-02", on("Hollin Water District"))
		h.stand("TB-03", on(""))
		h.stand("TB-04", on("wrenlow  valley PARKS"))
		parks := nursery.As(h.ctx, models.Caller{Token: "t", Name: "parks", Role: models.Manager, LandManager: "Wrenlow Valley parks"})

		list, err := h.Stands(parks, nursery.StandQuery{})
		var codes []string
		for _, s := range must(h, list, err).Items {
			codes = append(codes, s.Code)
			if s.Latitude == nil || *s.Latitude != 46.12345 {
				h.t.Errorf("%s is shown at %v", s.Code, s.Latitude)
			}
		}
		if !slices.Equal(codes, []string{"TB-01", "TB-04"}) {
			h.t.Errorf("sees %v", codes)
		}
		for name, ask := range h.askAbout(parks) {
			if err := ask("TB-01"); err != nil {
				h.t.Errorf("%s on their land: %v", name, err)
			}
			for _, code := range []string{"TB-02", "TB-03", "TB-99"} {
				if e := h.refused(ask(code), models.NotFound, "no-such-stand"); len(e.Suggestions) != 0 {
					h.t.Errorf("%s of %s tells of %v", name, code, e.Suggestions)
				}
			}
		}
		_, err = h.Stand(h.as(models.Lead), "TB-01", true)
		h.refused(err, models.Forbidden, "exact-withheld", "lead")
		_, err = h.Stands(h.as(models.Reader), nursery.StandQuery{Exact: true})
		h.refused(err, models.Forbidden, "exact-withheld")
	})
}

// askAbout is everything that can be asked about one stand.
func (h *house) askAbout(ctx context.Context) map[string]func(code string) error {
	closures := []models.Closure{{From: "04-15", To: "07-31", EveryYear: true}}
	return map[string]func(code string) error{
		"show":         func(c string) error { _, err := h.Stand(ctx, c, false); return err },
		"exact":        func(c string) error { _, err := h.Stand(ctx, c, true); return err },
		"versions":     func(c string) error { _, err := h.Versions(ctx, c); return err },
		"allowance":    func(c string) error { _, err := h.Allowance(ctx, c, nursery.AllowanceQuery{}); return err },
		"ledger":       func(c string) error { _, err := h.Ledger(ctx, c, models.Date{}, models.Page{}); return err },
		"seasons":      func(c string) error { _, err := h.Seasons(ctx, c, models.Date{}); return err },
		"surveys":      func(c string) error { _, err := h.Surveys(ctx, c, models.Page{}); return err },
		"disturbances": func(c string) error { _, err := h.Disturbances(ctx, c); return err },
		"others' cuts": func(c string) error { _, err := h.OthersCuts(ctx, c, models.Page{}); return err },
		"sheet":        func(c string) error { _, err := h.Sheet(ctx, c, nursery.SheetQuery{Stems: 1, Crew: "C"}); return err },
		"enter a cut": func(c string) error {
			_, err := h.AddOthersCut(ctx, unkeyed, c, models.NewOthersCut{From: date("2026-02-01"), To: date("2026-02-01"), High: 1, CutBy: "weavers", Evidence: "stubs"})
			return err
		},
		"rests":       func(c string) error { _, err := h.Rests(ctx, c, models.Page{}); return err },
		"salvages":    func(c string) error { _, err := h.Salvages(ctx, c, models.Page{}); return err },
		"nest checks": func(c string) error { _, err := h.NestChecks(ctx, c, models.Page{}); return err },
		"cleanings":   func(c string) error { _, err := h.ToolCleanings(ctx, c, models.Page{}); return err },
		"look for nests": func(c string) error {
			_, err := h.AddNestCheck(ctx, unkeyed, c, models.NewNestCheck{By: "parks"})
			return err
		},
		"close": func(c string) error {
			_, err := h.AddClosures(ctx, unkeyed, c, models.NewClosures{Closures: closures, Why: "nests", By: "parks"})
			return err
		},
	}
}

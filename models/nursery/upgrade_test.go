package nursery_test

import (
	"context"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
)

// everyTable are the tables of the schema.
func (h *house) everyTable() (tables []string) {
	h.t.Helper()
	query := "SELECT table_name FROM information_schema.tables WHERE table_schema = 'public'"
	if h.store.Dialect() == store.SQLite {
		query = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
	}
	for _, row := range h.rows(h.store.SQL(), query) {
		if name := strings.Trim(row, "[] "); !strings.HasPrefix(name, "goose") {
			tables = append(tables, name)
		}
	}
	return tables
}

// work is a day at the nursery: most things are read and written once.
func (h *house) work(stand string) {
	h.t.Helper()
	ctx := nursery.As(h.ctx, models.Caller{Token: "t", Name: "OP", Role: models.Coordinator, Request: "POST /v1/" + stand})
	h.stand(stand)
	h.census(stand, "2026-01-01", 800)
	batch := h.log(cutOf(stand, "2026-02-01", 8, stuckOn("2026-02-02", "B2")))
	for name, do := range map[string]func() error{
		"key": func() error { _, err := h.LogBatch(ctx, keyed(stand), cutOf(stand, "2026-02-02", 2)); return err },
		"check": func() error {
			_, err := h.Check(ctx, unkeyed, batch.Code, models.NewCheck{CheckedOn: date("2026-02-20"), Rooted: ptr(9)})
			return err
		},
		"person": func() error {
			_, err := h.AddPerson(ctx, unkeyed, models.NewPerson{Code: stand, Email: stand + "@wrenlow.example", Mail: []models.MailList{models.BenchMail}})
			return err
		},
		"token": func() error {
			_, err := h.AddToken(ctx, unkeyed, models.NewToken{Name: stand, Role: models.Coordinator})
			return err
		},
		"others": func() error {
			_, err := h.AddOthersCut(ctx, unkeyed, stand, byOthers("2026-01-03", "2026-01-05", 1, 2))
			return err
		},
		"remind":   func() error { _, err := h.Remind(ctx, unkeyed, models.NewReminder{}); return err },
		"claim":    func() error { _, _, err := h.ClaimLetter(h.ctx, "one", "wrenlow.example", 1); return err },
		"list":     func() error { _, err := h.Batches(ctx, nursery.BatchQuery{}); return err },
		"stands":   func() error { _, err := h.Stands(ctx, nursery.StandQuery{}); return err },
		"ledger":   func() error { _, err := h.Ledger(ctx, stand, models.Date{}, models.Page{}); return err },
		"surveys":  func() error { _, err := h.Surveys(ctx, stand, models.Page{}); return err },
		"changes":  func() error { _, err := h.Changes(ctx, "", models.Page{}); return err },
		"tokens":   func() error { _, err := h.Tokens(ctx, true, models.Page{}); return err },
		"people":   func() error { _, err := h.People(ctx, models.Page{}); return err },
		"letters":  func() error { _, err := h.Letters(ctx, "", models.Page{}); return err },
		"taxa":     func() error { _, err := h.Taxa(ctx, models.Page{}); return err },
		"versions": func() error { _, err := h.Versions(ctx, stand); return err },
		"flags":    func() error { _, err := h.WriteFlags(h.ctx); return err },
		"nursery":  func() error { _, err := h.See(ctx); return err },
		"reminder": func() error { _, err := h.Reminders(ctx, models.Page{}); return err },
		"due":      func() error { _, err := h.dueToday(ctx); return err },
	} {
		if err := do(); err != nil {
			h.t.Errorf("%s at %s: %v", name, stand, err)
		}
	}
}

func (h *house) dueToday(ctx context.Context) (models.DueList, error) {
	return h.Due(ctx, nursery.DueQuery{})
}

// A server that runs goes on as before when a newer one adds columns to every
// table: that is what lets servers be upgraded one by one.
func TestColumnsThatAreAddedUpsetNobody(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		h.work("TB-01")
		for _, table := range h.everyTable() {
			if _, err := h.store.SQL().ExecContext(h.ctx, "ALTER TABLE "+table+" ADD COLUMN added INTEGER NOT NULL DEFAULT 7"); err != nil {
				h.t.Fatal(err)
			}
		}
		h.work("TB-02")
	})
}

package migrations_test

import (
	"encoding/json"
	"errors"
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"withybed/migrations"
	"withybed/models/store"
)

// upTo applies the steps whose names sort before a text.
func upTo(t *testing.T, s *store.Store, before string) {
	t.Helper()
	some := fstest.MapFS{}
	for _, dialect := range []string{"postgres", "sqlite"} {
		names, err := fs.Glob(migrations.Files, dialect+"/*.sql")
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			if strings.TrimPrefix(name, dialect+"/") >= before {
				continue
			}
			text, err := fs.ReadFile(migrations.Files, name)
			if err != nil {
				t.Fatal(err)
			}
			some[name] = &fstest.MapFile{Data: text}
		}
	}
	if _, err := migrations.UpFrom(background, some, s.SQL(), s.Dialect(), s.LockPath()); err != nil {
		t.Fatal(err)
	}
}

// Settings that a nursery of before did not have get their defaults, each with its
// basis, and those it had stay as they are.
func TestANurseryOfBeforeGetsItsNewSettings(t *testing.T) {
	const before = `{"name":"Wrenlow Valley''s","harvest_rule":{"stand_cap":0.05},"thresholds":{"check_every":10,"notice_share":0.8},
		"bases":{"check_every":"our own records; kept since 2020"}}`
	const after = `{"name":"Wrenlow Valley's","harvest_rule":{"stand_cap":0.05},
		"thresholds":{"check_every":10,"notice_share":0.8,"permit_expiry_notice":120,"few_parents":5,"donor_share":0.5},
		"bases":{"check_every":"our own records; kept since 2020",
			"permit_expiry_notice":"our own choice: four months, since a new paper takes its time",
			"few_parents":"our own choice: an order wants fifty plants or more, and a batch from fewer than a handful brings little of them",
			"donor_share":"plants for an order are to come in similar numbers from each parent; more than half from one is the least that can be told"}}`
	eachEmpty(t, func(t *testing.T, s *store.Store, _ string) {
		upTo(t, s, "00005")
		if _, err := s.SQL().Exec("INSERT INTO nursery (id, settings, version, made_at) VALUES ('nursery', '" + before + "', 1, '2026-01-01 00:00:00')"); err != nil {
			t.Fatal(err)
		}
		if _, err := up(s); err != nil {
			t.Fatal(err)
		}
		var text string
		if err := s.SQL().QueryRow("SELECT settings FROM nursery").Scan(&text); err != nil {
			t.Fatal(err)
		}
		var want, got map[string]any
		if err := errors.Join(json.Unmarshal([]byte(after), &want), json.Unmarshal([]byte(text), &got)); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("the settings, wanted (-) and got (+):\n%s", diff)
		}
	})
}

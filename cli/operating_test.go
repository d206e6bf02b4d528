package cli

import (
	"bytes"
	"encoding/json"
	"io"
	"log/slog"
	"net/http"
	"strings"
	"testing"

	"withybed/models/store"
	"withybed/models/store/storetest"
)

// asked is the status and the text of a page, asked for with a token or without.
func asked(t *testing.T, url, token string) (status int, text string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, url, nil)
	if err != nil {
		t.Fatal(err)
	}
	if token != "" {
		r.Header.Set("Authorization", "Bearer "+token)
	}
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer.StatusCode, string(body)
}

// Servers are replaced one by one: the old one goes on while the new one has
// brought the schema further already, and is not started again on it.
func TestAServerOutlivesANewerSchema(t *testing.T) {
	for _, dialect := range storetest.Dialects {
		t.Run(dialect, func(t *testing.T) {
			url := storetest.New(t, dialect)
			old := newBench(t, url)
			address, stop := old.served()
			db, err := store.Open(t.Context(), url)
			if err != nil {
				t.Fatal(err)
			}
			defer db.Close()
			if _, err := db.SQL().ExecContext(t.Context(), "INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, TRUE)"); err != nil {
				t.Fatal(err)
			}
			if out := old.must("health", "--server", address); !strings.HasPrefix(out, "ready: ") {
				t.Error(out)
			}
			if status, text := asked(t, address+"/metrics", ""); status != http.StatusOK || !strings.Contains(text, "withy_database_schema_version 9999\n") {
				t.Errorf("%d %s", status, text)
			}
			old.must("taxon", "list", "--server", address)
			for _, start := range [][]string{{"serve", "--listen", "127.0.0.1:0"}, {"serve", "--migrate", "--listen", "127.0.0.1:0"}, {"health"}, {"taxon", "list"}} {
				if code, _, stderr := old.run(start...); code != exitOther || !strings.Contains(stderr, "use a newer withy") {
					t.Errorf("withy %v: %d %s", start, code, stderr)
				}
			}
			if code := stop(); code != exitDone {
				t.Errorf("stopped with %d", code)
			}
		})
	}
}

// Health and readiness ask nobody who they are; the numbers do.
func TestHealthNeedsNoToken(t *testing.T) {
	b := newBench(t, here(t))
	address, stop := b.served()
	defer stop()
	if status, text := asked(t, address+"/metrics", ""); status != http.StatusOK || !strings.Contains(text, `withy_database_info{dialect="sqlite"} 1`) {
		t.Errorf("before there are tokens: %d %s", status, text)
	}
	secret := strings.TrimSpace(b.must("token", "add", "OP", "--role", "coordinator", "--server", address))
	out := b.must("health", "--server", address, "--json")
	var found health
	if err := json.Unmarshal([]byte(out), &found); err != nil || found.Status != "ready" || found.At != address ||
		found.Today.String() != "2026-01-19" || found.TimeZone != "America/Los_Angeles" || found.Version == "" {
		t.Errorf("%v: %s", err, out)
	}
	if code, _, stderr := b.run("taxon", "list", "--server", address); code != exitOther || !strings.Contains(stderr, "token") {
		t.Errorf("without a token: %d %s", code, stderr)
	}
	if status, text := asked(t, address+"/metrics", ""); status != http.StatusUnauthorized || strings.Contains(text, "withy_build_info") {
		t.Errorf("the numbers without a token: %d %s", status, text)
	}
	status, text := asked(t, address+"/metrics", secret)
	if status != http.StatusOK || strings.Contains(text, secret) || !strings.Contains(text, `withy_job_runs_total{job="flags"`) ||
		!strings.Contains(text, `withy_problems_total{kind="unauthenticated"} 2`) {
		t.Errorf("the numbers with one: %d %s", status, text)
	}
	for _, page := range []string{"/docs", "/docs/swagger-ui-bundle.js", "/problems", "/v1/openapi.json", "/healthz", "/readyz"} {
		if status, _ := asked(t, address+page, ""); status != http.StatusOK {
			t.Errorf("%s: %d", page, status)
		}
	}
}

func TestHealthWarnsOfTheZone(t *testing.T) {
	b := newBench(t, here(t))
	address, stop := b.served()
	defer stop()
	b.vars = map[string]string{"WITHY_TIME_ZONE": "UTC", "WITHY_SERVER": address}
	if code, _, stderr := b.run("health"); code != exitDone || !strings.Contains(stderr, "warning: WITHY_TIME_ZONE is UTC, and the nursery counts its days in America/Los_Angeles") {
		t.Errorf("%d %s", code, stderr)
	}
	b.vars["WITHY_SERVER"] = "http://127.0.0.1:1"
	if code, _, stderr := b.run("health"); code != exitOther || !strings.Contains(stderr, "cannot be reached") {
		t.Errorf("%d %s", code, stderr)
	}
}

func TestTheLogTakesItsForm(t *testing.T) {
	for form, begins := range map[string]string{"": "time=", "text": "time=", "json": `{"time":`} {
		var stderr bytes.Buffer
		b := newBench(t, here(t))
		b.vars["WITHY_LOG"], b.vars["WITHY_LOG_FORMAT"] = "info", form
		s, err := newSession(b.env(nil, io.Discard, &stderr))
		if err != nil {
			t.Fatal(err)
		}
		log, err := s.logger(slog.LevelInfo)
		if err != nil {
			t.Fatal(err)
		}
		log.Debug("unseen")
		log.Info("job done", "job", "flags")
		if line := stderr.String(); !strings.HasPrefix(line, begins) || strings.Count(line, "\n") != 1 || !strings.Contains(line, "flags") {
			t.Errorf("%q: %q", form, line)
		}
	}
	b := newBench(t, here(t))
	b.vars["WITHY_LOG_FORMAT"] = "xml"
	if code, _, stderr := b.run("nursery", "show"); code != exitUsage || stderr != "withy: WITHY_LOG_FORMAT is \"xml\", and must be text or json\n" {
		t.Errorf("%d %s", code, stderr)
	}
}

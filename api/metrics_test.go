package api

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/gin-gonic/gin"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// ticking is a clock on which each look is a tenth of a second after the last.
func ticking() models.Clock {
	now := time.Date(2026, 1, 17, 9, 0, 0, 0, time.UTC)
	return func() time.Time {
		now = now.Add(100 * time.Millisecond)
		return now
	}
}

// metricsFor is the page of numbers as someone with a role reads it.
func metricsFor(t *testing.T, m *Metrics, role models.Role) (status int, text string) {
	t.Helper()
	engine := gin.New()
	mountMetrics(engine, m, slog.New(slog.DiscardHandler))
	r := httptest.NewRequestWithContext(nursery.As(t.Context(), models.Caller{Role: role}), "GET", "/metrics", nil)
	w := httptest.NewRecorder()
	engine.ServeHTTP(w, r)
	return w.Code, w.Body.String()
}

func wantNumbers(t *testing.T, text string, lines ...string) {
	t.Helper()
	for _, line := range lines {
		if !strings.Contains(text, line+"\n") {
			t.Errorf("the numbers lack %s", line)
		}
	}
	if t.Failed() {
		t.Log(text)
	}
}

func TestRequestsAndRefusalsAreCounted(t *testing.T) {
	m := NewMetrics(ticking(), "0.1.0", "5bbd5bc")
	d := openDoor(t, func(d *Deps) { d.Metrics = m })
	for _, r := range []struct{ method, path, body string }{
		{"GET", "/v1/trays/T-1", ""}, {"GET", "/v1/trays/T-1", ""}, {"HEAD", "/v1/trays/T-1", ""},
		{"GET", "/v1/trays/full", ""}, {"GET", "/v1/trays/shut", ""}, {"GET", "/v1/trays/shut", ""},
		{"GET", "/v1/trays/none", ""}, {"GET", "/v1/trays/panic", ""},
		{"POST", "/v1/trays", `{"code":"SECRET-CODE"}`}, {"POST", "/v1/trays", goodTray},
		{"GET", "/v1/SECRET-PAGE", ""}, {"SECRET", "/v1/trays", ""}, {"GET", "/v1/trays/T-1?on=SECRET-DAY", ""},
		{"GET", "/problems", ""}, {"GET", "/v1/openapi.json", ""}, {"GET", "/docs", ""}, {"GET", "/healthz", ""},
	} {
		d.ask(t, r.method, r.path, r.body)
	}
	d.logText(t) // every request is counted once the door is closed
	status, text := metricsFor(t, m, models.Reader)
	if status != http.StatusOK || strings.Contains(text, "SECRET") {
		t.Errorf("status %d, and it tells what was sent: %t", status, strings.Contains(text, "SECRET"))
	}
	wantNumbers(t, text,
		`withy_request_duration_seconds_count{method="GET",operation="show-tray",status="2xx"} 2`,
		`withy_request_duration_seconds_sum{method="GET",operation="show-tray",status="2xx"} `+sums(text, "show-tray"),
		`withy_request_duration_seconds_count{method="HEAD",operation="show-tray",status="2xx"} 1`,
		`withy_request_duration_seconds_count{method="GET",operation="show-tray",status="4xx"} 5`,
		`withy_request_duration_seconds_count{method="GET",operation="show-tray",status="5xx"} 1`,
		`withy_request_duration_seconds_count{method="POST",operation="add-tray",status="2xx"} 1`,
		`withy_request_duration_seconds_count{method="POST",operation="add-tray",status="4xx"} 1`,
		`withy_request_duration_seconds_count{method="GET",operation="none",status="4xx"} 1`,
		`withy_request_duration_seconds_count{method="other",operation="none",status="4xx"} 1`,
		`withy_request_duration_seconds_count{method="GET",operation="problems",status="2xx"} 1`,
		`withy_request_duration_seconds_count{method="GET",operation="openapi",status="2xx"} 1`,
		`withy_request_duration_seconds_count{method="GET",operation="docs",status="2xx"} 1`,
		`withy_request_duration_seconds_count{method="GET",operation="health",status="2xx"} 1`,
		`withy_refusals_total{code="over-allowance"} 1`,
		`withy_refusals_total{code="closed-season"} 2`,
		`withy_problems_total{kind="refused"} 3`,
		`withy_problems_total{kind="invalid"} 2`,
		`withy_problems_total{kind="not_found"} 3`,
		`withy_problems_total{kind="internal"} 1`,
	)
	if !regexp.MustCompile(`withy_build_info\{goversion="go[^"]+",revision="5bbd5bc",version="0.1.0"\} 1`).MatchString(text) ||
		!strings.Contains(text, "go_goroutines ") {
		t.Errorf("it does not say what it was built from, or how it runs: %s", text)
	}
}

// sums is the time of the requests of one operation that went well, which has to
// be a tenth of a second or more for each.
func sums(text, operation string) string {
	found := regexp.MustCompile(`_sum\{method="GET",operation="` + operation + `",status="2xx"\} (\S+)`).FindStringSubmatch(text)
	var seconds float64
	if found == nil {
		return "missing"
	}
	if _, err := fmt.Sscan(found[1], &seconds); err != nil || seconds < 0.2 {
		return "0.2 or more"
	}
	return found[1]
}

func TestJobsAndLettersAreCounted(t *testing.T) {
	m := NewMetrics(ticking(), "0.1.0", "")
	m.Job("flags")(true, nil)
	m.Job("flags")(false, nil)
	m.Job("reminder")(false, errors.New("the disk is full"))
	m.Letter(true)
	m.Letter(true)
	m.Letter(false)
	_, text := metricsFor(t, m, models.Coordinator)
	wantNumbers(t, text,
		`withy_job_runs_total{job="flags",outcome="done"} 1`,
		`withy_job_runs_total{job="flags",outcome="nothing"} 1`,
		`withy_job_runs_total{job="reminder",outcome="failed"} 1`,
		`withy_job_seconds_total{job="flags"} 0.2`,
		`withy_job_last_success_timestamp_seconds{job="flags"} 1.7686404004e+09`,
		`withy_mail_tries_total{outcome="sent"} 2`,
		`withy_mail_tries_total{outcome="failed"} 1`,
	)
	if strings.Contains(text, `last_success_timestamp_seconds{job="reminder"`) || strings.Contains(text, "withy_database_up") {
		t.Error("it tells of what never was")
	}
}

func TestTheDatabaseIsLookedAtWhenTheNumbersAreRead(t *testing.T) {
	m := NewMetrics(ticking(), "0.1.0", "")
	var down error
	m.Watch(Database{
		Dialect: "sqlite", Pools: map[string]*sql.DB{"writer": {}},
		Schema: func(context.Context) (int64, error) { return 3, down },
		Letters: func(context.Context) (models.MailCounts, error) {
			return models.MailCounts{Waiting: 4, GivenUp: 1}, down
		},
	})
	_, text := metricsFor(t, m, models.Lead)
	wantNumbers(t, text, `withy_database_up 1`, `withy_database_schema_version 3`, `withy_database_info{dialect="sqlite"} 1`,
		`withy_mail_letters{state="waiting"} 4`, `withy_mail_letters{state="given_up"} 1`, `go_sql_open_connections{db_name="writer"} 0`)
	down = errors.New("no such host db.wrenlow.example")
	status, text := metricsFor(t, m, models.Lead)
	wantNumbers(t, text, `withy_database_up 0`)
	if status != http.StatusOK || strings.Contains(text, "withy_mail_letters{") || strings.Contains(text, "wrenlow") {
		t.Errorf("%d, with a database that is gone: %s", status, text)
	}
}

func TestTheNumbersAreForThoseWhoRead(t *testing.T) {
	m := NewMetrics(ticking(), "0.1.0", "")
	for role, want := range map[models.Role]int{
		"": 403, models.Manager: 403, models.Reader: 200, models.Volunteer: 200, models.Lead: 200, models.Coordinator: 200,
	} {
		status, text := metricsFor(t, m, role)
		if status != want || want != 200 && (!strings.Contains(text, "not-for-role") || strings.Contains(text, "withy_")) {
			t.Errorf("%q: %d %.80s", role, status, text)
		}
	}
}

func TestTheNumbersOfANursery(t *testing.T) {
	h := openHouse(t, storetest.Open(t, store.SQLite))
	status, header, text := h.ask(t, "GET", "/metrics", "")
	if status != http.StatusOK || !strings.HasPrefix(header.Get("Content-Type"), "text/plain; version=0.0.4") || !strings.Contains(text, "withy_build_info{") {
		t.Errorf("%d %v %.80s", status, header, text)
	}
}

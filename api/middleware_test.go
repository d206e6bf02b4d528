package api

import (
	"context"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"withybed/models"
	"withybed/models/nursery"
)

func TestRequestIDs(t *testing.T) {
	d := openDoor(t, nil)
	for given, want := range map[string]string{
		"abc-123": "abc-123", "a b": "id-", strings.Repeat("x", 65): "id-", "": "id-", "<script>": "id-",
	} {
		_, header, _ := d.ask(t, "GET", "/healthz", "", "X-Request-Id", given)
		if got := header.Get("X-Request-Id"); !strings.HasPrefix(got, want) {
			t.Errorf("%q became %q", given, got)
		}
	}
}

func TestLogTellsNoSecrets(t *testing.T) {
	d := openDoor(t, nil)
	d.ask(t, "POST", "/v1/trays", `{"code":"SECRET-BODY"}`)
	d.ask(t, "GET", "/v1/trays/T-1?on=SECRET-QUERY", "")
	_, _, body := d.ask(t, "GET", "/v1/trays/broken", "", "X-Request-Id", "r-9")
	log := d.logText(t)
	if strings.Contains(log, "SECRET") {
		t.Errorf("the log tells too much:\n%s", log)
	}
	if !strings.Contains(log, "hunter2") || !strings.Contains(log, "request_id=r-9") {
		t.Errorf("the log lacks the fault:\n%s", log)
	}
	if strings.Contains(body, "hunter2") {
		t.Errorf("the answer tells the fault: %s", body)
	}
	if !strings.Contains(log, "method=GET path=/v1/trays/T-1 status=422") {
		t.Errorf("the log lacks the request:\n%s", log)
	}
}

func TestHeadersOfSafety(t *testing.T) {
	d := openDoor(t, nil)
	for _, path := range []string{"/v1/trays/T-1", "/problems", "/nowhere", "/v1/trays/panic"} {
		_, header, _ := d.ask(t, "GET", path, "")
		for name, want := range map[string]string{
			"X-Content-Type-Options": "nosniff", "X-Frame-Options": "DENY", "Cache-Control": "no-store", "Referrer-Policy": "no-referrer",
		} {
			if header.Get(name) != want {
				t.Errorf("%s: %s is %q", path, name, header.Get(name))
			}
		}
		if !strings.HasPrefix(header.Get("Content-Security-Policy"), "default-src 'none'") {
			t.Errorf("%s: policy %q", path, header.Get("Content-Security-Policy"))
		}
	}
}

func TestRetryAfter(t *testing.T) {
	d := openDoor(t, func(d *Deps) {
		d.Ready = func(context.Context) (nursery.Readiness, error) {
			return nursery.Readiness{}, errors.New("no such table: stand")
		}
	})
	status, header, body := d.ask(t, "GET", "/readyz", "")
	if status != 503 || header.Get("Retry-After") == "" || strings.Contains(body, "table") {
		t.Errorf("%d %v %s", status, header, body)
	}
	if status, header, _ := d.ask(t, "GET", "/v1/trays/full", ""); status != 409 || header.Get("Retry-After") != "" {
		t.Errorf("a refusal asks to come back: %d %v", status, header)
	}
	if log := d.logText(t); !strings.Contains(log, "no such table") {
		t.Errorf("the log does not say why: %s", log)
	}
}

func TestHead(t *testing.T) {
	d := openDoor(t, nil)
	status, header, body := d.ask(t, "HEAD", "/v1/trays/T-1", "")
	if status != 200 || header.Get("ETag") != `"7"` || body != "" {
		t.Errorf("%d %v %q", status, header, body)
	}
}

func TestRequestsEndInTime(t *testing.T) {
	d := openDoor(t, func(d *Deps) { d.Time = time.Millisecond })
	if status, _, body := d.ask(t, "GET", "/v1/trays/wait", ""); status != 503 || !strings.Contains(body, "/problems/timeout") {
		t.Errorf("%d %s", status, body)
	}
}

func TestPanicInTheMiddleBreaksOff(t *testing.T) {
	log := testDeps(io.Discard).Log
	h := caught(log)(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		_, _ = io.WriteString(w, "half of")
		panic("no ink")
	}))
	defer func() {
		if v := recover(); v != http.ErrAbortHandler { //nolint:errorlint // a panic's value, never wrapped
			t.Errorf("panicked with %v", v)
		}
	}()
	h.ServeHTTP(httptest.NewRecorder(), httptest.NewRequest("GET", "/", nil))
	t.Error("went on after half an answer")
}

func TestUnderstoodKeepsWhatIsKnown(t *testing.T) {
	p := newProblem(t.Context(), models.Errorf(models.Stale, "stale", "changed"))
	if e := understood(p); e.Kind != models.Stale || e.Code != "stale" || e.Detail != "changed" {
		t.Errorf("%+v", e)
	}
}

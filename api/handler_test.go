package api

import (
	"net/http"
	"strings"
	"testing"
)

const goodTray = `{"code":"T-1","filled_on":"2026-01-17","cells":72,"share":0.29,"rows":[{"count":3}]}`

func TestAnswers(t *testing.T) {
	d := openDoor(t, nil)
	want := goldenAnswers(t, "answers")
	for _, c := range []struct {
		name, method, path, body string
		headers                  []string
		status                   int
	}{
		{"add", "POST", "/v1/trays", goodTray, []string{"Idempotency-Key", "k-1"}, 201},
		{"edit", "PATCH", "/v1/trays/T-1", `{"medium":null,"filled_on":"2026-02-01"}`, []string{"If-Match", `"3"`}, 200},
		{"edit_merge_type", "PATCH", "/v1/trays/T-1", `{"medium":"perlite"}`, []string{"If-Match", `W/"3"`, "Content-Type", "application/merge-patch+json"}, 200},
		{"show", "GET", "/v1/trays/T-1?on=2026-01-17&cells=5", "", nil, 200},
		{"healthz", "GET", "/healthz", "", nil, 200},
		{"readyz", "GET", "/readyz", "", nil, 200},

		{"no_such_batch", "GET", "/v1/trays/none", "", nil, 404},
		{"over_allowance", "GET", "/v1/trays/full", "", nil, 409},
		{"closed_season", "GET", "/v1/trays/shut", "", nil, 409},
		{"taken", "GET", "/v1/trays/twice", "", nil, 409},
		{"unknown_taxon", "GET", "/v1/trays/nobody", "", nil, 422},
		{"database_busy", "GET", "/v1/trays/busy", "", nil, 503},
		{"timeout", "GET", "/v1/trays/slow", "", nil, 503},
		{"stopping", "GET", "/v1/trays/leaving", "", nil, 503},
		{"internal", "GET", "/v1/trays/broken", "", nil, 500},
		{"panic", "GET", "/v1/trays/panic", "", nil, 500},
		{"out_of_range", "GET", "/v1/trays/longname", "", nil, 422},

		{"no_such_page", "GET", "/v1/trees", "", nil, 404},
		{"slash_at_end", "GET", "/v1/trays/", "", nil, 404},
		{"method_not_allowed", "DELETE", "/v1/trays", "", nil, 405},
		{"no_such_problem", "GET", "/problems/none-such", "", nil, 404},

		{"if_match_missing", "PATCH", "/v1/trays/T-1", `{}`, nil, 428},
		{"if_match_any", "PATCH", "/v1/trays/T-1", `{}`, []string{"If-Match", "*"}, 428},
		{"if_match_foreign", "PATCH", "/v1/trays/T-1", `{}`, []string{"If-Match", `"abc"`}, 412},
		{"bad_key", "POST", "/v1/trays", goodTray, []string{"Idempotency-Key", "a b"}, 422},

		{"query_unknown", "GET", "/v1/trays/T-1?day=2026-01-17", "", nil, 422},
		{"query_twice", "GET", "/v1/trays/T-1?cells=1&cells=2", "", nil, 422},
		{"query_empty", "GET", "/v1/trays/T-1?cells=", "", nil, 422},
		{"query_number", "GET", "/v1/trays/T-1?cells=many", "", nil, 422},
		{"query_year", "GET", "/v1/trays/T-1?on=0206-01-17", "", nil, 422},
		{"query_unreadable", "GET", "/v1/trays/T-1?on=%zz", "", nil, 400},
		{"query_nul", "GET", "/v1/trays/T-1?on=%00", "", nil, 422},
		{"path_not_text", "GET", "/v1/trays/%ff", "", nil, 400},

		{"body_text", "POST", "/v1/trays", goodTray, []string{"Content-Type", "text/plain"}, 415},
		{"body_other_json", "POST", "/v1/trays", goodTray, []string{"Content-Type", "application/cloud+json"}, 415},
		{"body_latin", "POST", "/v1/trays", goodTray, []string{"Content-Type", "application/json; charset=latin1"}, 415},
		{"accept_picture", "GET", "/v1/trays/T-1", "", []string{"Accept", "image/png"}, 406},

		{"cross_origin", "POST", "/v1/trays", goodTray, []string{"Sec-Fetch-Site", "cross-site"}, 403},
		{"cross_origin_old", "POST", "/v1/trays", goodTray, []string{"Origin", "http://elsewhere.example"}, 403},
	} {
		t.Run(c.name, func(t *testing.T) {
			status, header, body := d.ask(t, c.method, c.path, c.body, append(c.headers, "X-Request-Id", "r-1")...)
			if status != c.status {
				t.Errorf("status %d, want %d: %s", status, c.status, body)
			}
			wantType := jsonType
			if status >= 400 {
				wantType = problemType
			}
			if got := header.Get("Content-Type"); got != wantType {
				t.Errorf("content type %q", got)
			}
			want.hold(t, c.name, body)
		})
	}
}

func TestWhatPasses(t *testing.T) {
	d := openDoor(t, nil)
	for _, headers := range [][]string{
		{"Content-Type", "Application/JSON ; charset=UTF-8"},
		{"Content-Type", ""},
		{"Accept", "*/*"},
		{"Accept", "text/html, application/*;q=0.2"},
		{"Accept", "application/problem+json, application/json"},
		{"Sec-Fetch-Site", "same-origin"},
		{"Host", "127.0.0.1:8080"},
		{"Host", "[::1]:8080"},
		{"Host", "LOCALHOST"},
	} {
		status, header, body := d.ask(t, "POST", "/v1/trays", goodTray, headers...)
		if status != http.StatusCreated || header.Get("ETag") != `"1"` {
			t.Errorf("%v: %d %s", headers, status, body)
		}
	}
}

func TestASlashInANameIsNoWayToAnotherPage(t *testing.T) {
	d := openDoor(t, nil)
	if status, _, body := d.ask(t, "GET", "/v1/trays/T%2F1", ""); status != 200 || !strings.Contains(body, `"T/1"`) {
		t.Errorf("status %d, %s", status, body)
	}
	if status, _, _ := d.ask(t, "GET", "/v1/trays%2FT-1", ""); status != 404 {
		t.Errorf("a route with an escaped slash is answered with %d", status)
	}
}

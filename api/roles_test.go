package api

import (
	"encoding/json"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// mayDo is who may take each route: reader, volunteer, lead, coordinator and land
// manager by their first letters, or everyone. It is written out here by hand, so
// that a slip in the table of routes is seen.
var mayDo = map[string]string{
	"health": "everyone", "ready": "everyone",

	"show-nursery": "rvlcm", "list-taxa": "rvlcm", "show-taxon": "rvlcm",
	"list-stands": "rvlcm", "show-stand": "rvlcm", "list-stand-versions": "rvlcm", "show-allowance": "rvlcm",
	"list-ledger": "rvlcm", "list-seasons": "rvlcm", "list-surveys": "rvlcm", "list-disturbances": "rvlcm",
	"show-sheet": "rvlcm", "show-stand-parents": "rvlcm", "show-board": "rvlcm", "show-land": "rvlcm", "plot-stand": "rvlcm", "list-others-cuts": "rvlcm", "list-permits": "rvlcm", "show-permit": "rvlcm",

	"list-rests": "rvlcm", "list-salvages": "rvlcm", "list-nest-checks": "rvlcm", "list-tool-cleanings": "rvlcm", "show-place-closures": "rvlcm",
	"add-rest": "c", "end-rest": "c", "add-salvage": "c", "add-nest-check": "vlcm", "check-place": "vlcm", "log-tool-cleaning": "vlc", "close-place": "cm",

	"list-batches": "rvlc", "show-batch": "rvlc", "list-due": "rvlc", "show-rooting-rate": "rvlc", "show-rooting-curve": "rvlc", "show-rooting-days": "rvlc",
	"compare-rooting": "rvlc", "fit-rooting": "rvlc", "forecast-rooting": "rvlc", "calibrate-rooting": "rvlc",
	"list-reminders": "rvlc", "show-reminder": "rvlc",

	"log-batch": "vlc", "log-day": "vlc", "stick-batch": "vlc", "move-cuttings": "vlc", "check-batch": "vlc",
	"split-batch": "lc", "pot-up-batch": "lc", "decide-batch": "lc", "make-reminder": "lc",

	"add-closures": "cm", "add-others-cut": "cm",

	"correct-batch": "lc", "void-batch": "lc", "determine-batch": "lc", "correct-survey": "c", "correct-stand": "c", "list-corrections": "rvlcm",

	"list-shares": "rvlcm", "list-held-shares": "rvlcm", "add-share": "c", "return-share": "lc",

	"add-permit": "c", "edit-permit": "c",
	"edit-nursery": "c", "add-taxon": "c", "edit-taxon": "c", "add-stand": "c", "edit-stand": "c", "add-survey": "c", "add-disturbance": "c", "review-batch": "c",
	"list-tokens": "c", "add-token": "c", "revoke-token": "c", "list-changes": "c", "list-mail": "c",
	"list-people": "c", "add-person": "c", "show-person": "c", "edit-person": "c", "erase-person": "c",
}

// operation is a route as the document describes it, with names filled in.
type route struct{ id, method, path string }

func routesOf(t *testing.T, document []byte) []route {
	t.Helper()
	var doc struct {
		Paths map[string]map[string]struct {
			OperationID string `json:"operationId"`
		} `json:"paths"`
	}
	if err := json.Unmarshal(document, &doc); err != nil {
		t.Fatal(err)
	}
	names := strings.NewReplacer("{taxon}", "Cornus%20sericea", "{stand}", "MB-03", "{share}", "C", "{batch}", "MB-03-2026-1",
		"{week}", "2026-01-12", "{token}", "nobody", "{person}", "RQ", "{place}", "Mallow%20Bend", "{rest}", "r-1", "{survey}", "s-1", "{permit}", "WV-2026-12")
	var all []route
	for path, methods := range doc.Paths {
		for method, op := range methods {
			all = append(all, route{op.OperationID, strings.ToUpper(method), names.Replace(path)})
		}
	}
	return all
}

// take asks for a route in a form that changes nothing: who may take it is told
// before the form is looked at.
func (g *gate) take(r route, token string) *httptest.ResponseRecorder {
	body, headers := "", []string{}
	if r.method != "GET" {
		body = "{}"
	}
	if r.method == "PATCH" {
		headers = append(headers, "If-Match", `"999"`)
	}
	return g.ask(token, r.method, r.path, body, headers...)
}

// Every route asks every role, and every token that is none, for what it may.
func TestEveryRouteAsksWhoComes(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		g := openGate(t, s, func(d *Deps) { d.Rate = 1000 })
		document := g.from(nearby, g, "GET", "/v1/openapi.json", "").Body.Bytes()
		routes := routesOf(t, document)
		tokens := map[string]string{
			"c": g.token(models.NewToken{Name: "OP", Role: models.Coordinator}),
			"l": g.token(models.NewToken{Name: "TS", Role: models.Lead}),
			"v": g.token(models.NewToken{Name: "RQ", Role: models.Volunteer, EndsOn: models.MustDate("2026-12-31")}),
			"r": g.token(models.NewToken{Name: "board", Role: models.Reader}),
			"m": g.token(models.NewToken{Name: "parks", Role: models.Manager, LandManager: "Wrenlow Valley Parks"}),
		}
		ended := g.token(models.NewToken{Name: "Saturday crew", Role: models.Coordinator, EndsOn: models.MustDate("2026-01-17")})
		revoked := g.token(models.NewToken{Name: "lost", Role: models.Coordinator})
		if _, err := g.nursery.RevokeToken(t.Context(), nursery.Once{}, "lost"); err != nil {
			t.Fatal(err)
		}
		g.pass(24 * time.Hour)
		strangers := map[string]string{
			"": "token-missing", "withy-aaaaaaaa-" + strings.Repeat("a", 44): "token-unknown", ended: "token-ended", revoked: "token-revoked",
		}

		for _, r := range routes {
			may, listed := mayDo[r.id]
			if !listed {
				t.Errorf("nobody has said who may %s", r.id)
				continue
			}
			for role, token := range tokens {
				allowed := may == "everyone" || strings.Contains(may, role)
				if w := g.take(r, token); allowed == (w.Code == 401 || w.Code == 403 && codeIn(w) == "not-for-role") || w.Code >= 500 {
					t.Errorf("%s as %s: %d %s", r.id, role, w.Code, w.Body)
				}
			}
			for token, code := range strangers {
				w := g.take(r, token)
				if may == "everyone" && w.Code != 200 || may != "everyone" && (w.Code != 401 || codeIn(w) != code) {
					t.Errorf("%s with %q: %d %s", r.id, token, w.Code, codeIn(w))
				}
				g.pass(failureEvery)
			}
		}
		for id := range mayDo {
			if !slices.ContainsFunc(routes, func(r route) bool { return r.id == id }) {
				t.Errorf("there is no route %s", id)
			}
		}
	})
}

// What is no route asks for a token too, and every route says that it takes one.
func TestNoPathIsLeftOpen(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		g := openGate(t, s, nil)
		g.token(models.NewToken{Name: "OP", Role: models.Coordinator})
		for _, path := range []string{"/v1", "/v1/", "/v1/nothing", "/V1/stands", "//v1/stands", "/v1/../v1/stands", "/metrics", "/healthz/../v1/stands", "/docs/../v1/stands"} {
			if w := g.ask("", "GET", path, ""); w.Code < 400 {
				t.Errorf("%s is open: %d %s", path, w.Code, w.Body)
			}
		}
	})
}

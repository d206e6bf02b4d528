package api

import (
	"crypto/tls"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// safe holds that an answer carries what keeps browsers from harm, and nothing
// that tells of the server or lets other sites in.
func safe(t *testing.T, what string, h http.Header, public bool) {
	t.Helper()
	for name, want := range map[string]string{
		"X-Content-Type-Options": "nosniff", "X-Frame-Options": "DENY", "Referrer-Policy": "no-referrer",
		"Cross-Origin-Resource-Policy": "same-origin",
		"Server":                       "", "X-Powered-By": "", "Set-Cookie": "", "Access-Control-Allow-Origin": "", "Access-Control-Allow-Credentials": "",
	} {
		if got := h.Get(name); got != want {
			t.Errorf("%s: %s is %q, want %q", what, name, got, want)
		}
	}
	if got := h.Get("Cache-Control"); got != "no-store" && !public {
		t.Errorf("%s may be kept: %q", what, got)
	}
	policy := h.Get("Content-Security-Policy")
	for _, part := range []string{"default-src 'none'", "base-uri 'none'", "form-action 'none'", "frame-ancestors 'none'"} {
		if !strings.Contains(policy, part) {
			t.Errorf("%s: %s is missing in %q", what, part, policy)
		}
	}
	if strings.Contains(policy, "unsafe") || strings.Contains(policy, "*") || strings.Contains(policy, "http") {
		t.Errorf("%s: the policy lets too much in: %q", what, policy)
	}
	if len(h.Values("Content-Type")) != 1 || len(h.Values("X-Request-Id")) != 1 {
		t.Errorf("%s: %v", what, h)
	}
}

// Every route, whoever asks it and whatever it answers, and every page besides.
func TestEveryAnswerIsSafeInABrowser(t *testing.T) {
	g := openGate(t, storetest.Open(t, store.SQLite), func(d *Deps) { d.Rate = 1000 })
	routes := routesOf(t, g.from(nearby, g, "GET", "/v1/openapi.json", "").Body.Bytes())
	for _, r := range routes {
		safe(t, r.id+" without tokens", g.from(nearby, g, r.method, r.path, "{}").Header(), false)
		safe(t, r.id+" from afar", g.from(faraway, g, r.method, r.path, "{}").Header(), false)
	}
	tokens := map[string]string{
		"coordinator": g.token(models.NewToken{Name: "OP", Role: models.Coordinator}),
		"reader":      g.token(models.NewToken{Name: "board", Role: models.Reader}),
		"nobody":      "", "a stranger": "withy-aaaaaaaa-" + strings.Repeat("a", 44),
	}
	for who, token := range tokens {
		for _, r := range routes {
			safe(t, r.id+" by "+who, g.take(r, token).Header(), false)
			safe(t, r.id+" by "+who+", broken", g.ask(token, r.method, r.path+"?x=1&x=2", "{").Header(), false)
			safe(t, r.id+" by "+who+", by no such method", g.ask(token, "BREW", r.path, "").Header(), false)
			safe(t, r.id+" by "+who+", unreadable", g.ask(token, r.method, r.path, "{}", "Accept", "image/png").Header(), false)
		}
		for _, path := range []string{"/metrics", "/", "/v1", "/v1/nothing", "/%00", "/v1/taxa?%zz"} {
			safe(t, path+" by "+who, g.ask(token, "GET", path, "").Header(), false)
		}
		safe(t, "a forged request by "+who, g.ask(token, "POST", "/v1/taxa", "{}", "Origin", "http://elsewhere.example").Header(), false)
		for _, path := range []string{"/healthz", "/readyz", "/problems", "/problems/stale", "/problems/nothing", "/v1/openapi.json",
			"/docs", "/docs/start.js", "/docs/swagger-ui.css", "/docs/swagger-ui-bundle.js", "/docs/favicon-16x16.png", "/docs/nothing"} {
			for _, accept := range []string{"text/html", jsonType, "text/plain", "image/png", "*/*"} {
				safe(t, path+" by "+who, g.ask(token, "GET", path, "", "Accept", accept).Header(), true)
			}
		}
	}
}

// What fails within is answered with the same headers.
func TestFaultsAreSafeInABrowser(t *testing.T) {
	d := openDoor(t, nil)
	for _, tray := range []string{"panic", "broken", "slow", "busy", "leaving", "full"} {
		status, header, _ := d.ask(t, "GET", "/v1/trays/"+tray, "")
		if status < 400 {
			t.Errorf("%s: %d", tray, status)
		}
		safe(t, tray, header, false)
	}
}

// Browsers are told to come over TLS alone where they came over it: a word of a
// proxy counts where the proxy is known.
func TestStrictTransport(t *testing.T) {
	g := openGate(t, storetest.Open(t, store.SQLite), func(d *Deps) {
		d.Proxies = []netip.Prefix{netip.MustParsePrefix("10.0.0.0/8")}
	})
	const proxy, year = "10.1.2.3:5", "max-age=31536000"
	for _, c := range []struct{ address, protocol, want string }{
		{faraway, "", ""}, {nearby, "", ""}, {proxy, "", ""}, {proxy, "http", ""}, {proxy, "HTTPS", year}, {proxy, "https", year},
		{faraway, "https", ""}, {nearby, "https", ""}, {"pipe", "https", ""},
	} {
		for _, path := range []string{"/healthz", "/v1/nursery", "/nothing"} {
			headers := []string{"X-Forwarded-Proto", c.protocol}
			if c.protocol == "" {
				headers = nil
			}
			if got := g.from(c.address, g, "GET", path, "", headers...).Header().Get("Strict-Transport-Security"); got != c.want {
				t.Errorf("%s from %s by %q: %q, want %q", path, c.address, c.protocol, got, c.want)
			}
		}
	}
	r := httptest.NewRequestWithContext(t.Context(), "GET", "/healthz", nil)
	r.TLS, r.RemoteAddr = &tls.ConnectionState{}, faraway
	w := httptest.NewRecorder()
	g.ServeHTTP(w, r)
	if got := w.Header().Get("Strict-Transport-Security"); got != year {
		t.Errorf("over TLS: %q", got)
	}
}

package api

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// gate is a door on a nursery of its own, with a clock that the test moves. It is
// asked without a network, so that a test says where a request comes from.
type gate struct {
	t       testing.TB
	nursery *nursery.Nursery
	http.Handler
	log strings.Builder
	mu  sync.Mutex
	at  time.Time
}

func (g *gate) now() time.Time {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.at
}

func (g *gate) pass(d time.Duration) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.at = g.at.Add(d)
}

func openGate(t testing.TB, s *store.Store, change func(*Deps)) *gate {
	t.Helper()
	g := &gate{t: t, at: storyTime}
	var ids atomic.Int64
	newID := func() string { return fmt.Sprintf("n%06d", ids.Add(1)) }
	g.nursery = nursery.New(s, g.now, newID, func() string { return fmt.Sprintf("%08d%044d", ids.Add(1), ids.Add(1)) })
	if _, err := g.nursery.Make(t.Context(), nursery.Seed{TimeZone: "America/Los_Angeles"}); err != nil {
		t.Fatal(err)
	}
	g.Handler = g.another(change)
	return g
}

// another is a second server of the same nursery.
func (g *gate) another(change func(*Deps)) http.Handler {
	deps := testDeps(&g.log)
	deps.Clock = g.now
	if change != nil {
		change(&deps)
	}
	return New(deps, Mount(g.nursery))
}

// from asks as someone at an address does; headers come in pairs.
func (g *gate) from(address string, h http.Handler, method, path, body string, headers ...string) *httptest.ResponseRecorder {
	g.t.Helper()
	r := httptest.NewRequestWithContext(g.t.Context(), method, path, strings.NewReader(body))
	r.RemoteAddr, r.Host = address, "localhost"
	if body != "" {
		r.Header.Set("Content-Type", jsonType)
	}
	for i := 0; i < len(headers); i += 2 {
		if headers[i] == "Host" {
			r.Host = headers[i+1]
		}
		r.Header.Add(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

const nearby, faraway = "127.0.0.1:40000", "203.0.113.9:40000"

// ask asks from far away with a token, or without one if it is empty.
func (g *gate) ask(token, method, path, body string, headers ...string) *httptest.ResponseRecorder {
	g.t.Helper()
	if token != "" {
		headers = append(headers, "Authorization", "Bearer "+token)
	}
	return g.from(faraway, g, method, path, body, headers...)
}

func codeIn(w *httptest.ResponseRecorder) string {
	var p Problem
	if json.Unmarshal(w.Body.Bytes(), &p) != nil {
		return ""
	}
	return p.Code
}

func (g *gate) wants(w *httptest.ResponseRecorder, status int, code string) {
	g.t.Helper()
	if w.Code != status || codeIn(w) != code && status >= 400 {
		g.t.Errorf("%d %s, want %d %s: %s", w.Code, codeIn(w), status, code, w.Body)
	}
}

// token makes a token, and gives its secret.
func (g *gate) token(req models.NewToken) string {
	g.t.Helper()
	view, err := g.nursery.AddToken(g.t.Context(), nursery.Once{}, req)
	if err != nil {
		g.t.Fatal(err)
	}
	return view.Secret
}

// Before there are tokens this computer alone may come in, and it acts as
// coordinator; from the first token on, for good, everyone needs one.
func TestTheFirstTokenShutsTheDoor(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		g := openGate(t, s, nil)
		beside := g.another(nil)
		see := func(h http.Handler, address string, headers ...string) *httptest.ResponseRecorder {
			return g.from(address, h, "GET", "/v1/nursery", "", headers...)
		}
		g.wants(see(g, nearby), 200, "")
		g.wants(see(g, "[::1]:999"), 200, "")
		g.wants(see(g, "[::ffff:127.0.0.1]:999"), 200, "")
		g.wants(see(g, "pipe"), 200, "")
		g.wants(see(g, faraway), 401, "no-token-yet")
		g.wants(see(g, nearby, "X-Forwarded-For", "203.0.113.9"), 401, "no-token-yet")
		g.wants(see(g, nearby, "Forwarded", "for=203.0.113.9"), 401, "no-token-yet")
		g.wants(see(g, nearby, "Host", "elsewhere.example"), 403, "wrong-host")

		add := func(body string) *httptest.ResponseRecorder {
			return g.from(nearby, g, "POST", "/v1/tokens", body, "Idempotency-Key", "the-first")
		}
		g.wants(add(`{"name":"RQ","role":"volunteer"}`), 422, "first-token")
		first := add(`{"name":"OP","role":"coordinator"}`)
		g.wants(first, 201, "")
		var made models.TokenView
		if err := json.Unmarshal(first.Body.Bytes(), &made); err != nil || made.Secret == "" {
			t.Fatal(first.Body)
		}
		for _, h := range []http.Handler{g, beside} {
			g.wants(see(h, nearby), 401, "token-missing")
			g.wants(see(h, "pipe"), 401, "token-missing")
			g.wants(see(h, faraway, "Authorization", "Bearer "+made.Secret, "Host", "withybed.wrenlow.example"), 200, "")
		}
		again := g.from(nearby, g, "POST", "/v1/tokens", `{"name":"OP","role":"coordinator"}`, "Idempotency-Key", "the-first", "Authorization", "Bearer "+made.Secret)
		g.wants(again, 409, "token-name-taken") // another caller's key
		g.wants(g.ask(made.Secret, "POST", "/v1/tokens/"+made.Handle+"/revocations", ""), 201, "")
		g.pass(lookUpEvery)
		g.wants(see(g, nearby), 401, "token-missing") // although none is left
		g.wants(see(g, nearby, "Authorization", "Bearer "+made.Secret), 401, "token-revoked")
	})
}

// A token's secret is shown once, whoever asks how often.
func TestASecretIsShownOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		g := openGate(t, s, nil)
		op := g.token(models.NewToken{Name: "OP", Role: models.Coordinator})
		ask := func() *httptest.ResponseRecorder {
			return g.ask(op, "POST", "/v1/tokens", `{"name":"Saturday crew","role":"volunteer"}`, "Idempotency-Key", "k")
		}
		first := ask()
		g.wants(first, 201, "")
		g.wants(ask(), 409, "token-already-shown")
		g.wants(g.ask(op, "POST", "/v1/tokens", `{"name":"saturday  CREW","role":"lead"}`), 409, "token-name-taken")

		var made models.TokenView
		if err := json.Unmarshal(first.Body.Bytes(), &made); err != nil {
			t.Fatal(err)
		}
		list := g.ask(op, "GET", "/v1/tokens?all=true", "").Body.String()
		if strings.Contains(list, made.Secret) || !strings.Contains(list, made.Handle) {
			t.Error(list)
		}
		if strings.Contains(g.log.String(), made.Secret) || strings.Contains(g.log.String(), op) {
			t.Errorf("the log tells a secret:\n%s", g.log.String())
		}
		for _, secret := range []string{made.Secret, op} {
			if found := inDatabase(t, s, secret[len("withy-")+9:]); found != "" {
				t.Errorf("the secret stands in %s", found)
			}
		}
	})
}

// inDatabase is the table that holds a text anywhere, if one does.
func inDatabase(t *testing.T, s *store.Store, text string) string {
	t.Helper()
	for _, table := range []string{"tokens", "idempotency_keys", "changes"} {
		query := "SELECT COUNT(*) FROM " + table + " AS r WHERE CAST(r AS TEXT) LIKE '%" + text + "%'"
		if s.Dialect() == store.SQLite {
			columns := map[string]string{"tokens": "handle || hash || name || made_by", "idempotency_keys": "route || key || result || hash", "changes": "made_by || request || COALESCE(detail, '')"}
			query = "SELECT COUNT(*) FROM " + table + " WHERE " + columns[table] + " LIKE '%" + text + "%'"
		}
		var n int
		if err := s.SQL().QueryRowContext(t.Context(), query).Scan(&n); err != nil {
			t.Fatal(err)
		}
		if n > 0 {
			return table
		}
	}
	return ""
}

// What is known of a token holds for five seconds, and not a moment longer; a
// token that ends does so at once.
func TestATokenIsLookedUpAtMostOnceInFiveSeconds(t *testing.T) {
	s := storetest.Open(t, store.SQLite)
	g := openGate(t, s, nil)
	op := g.token(models.NewToken{Name: "OP", Role: models.Coordinator})
	rq := g.token(models.NewToken{Name: "RQ", Role: models.Volunteer})
	var statements atomic.Int64
	watched := func(path string) int64 {
		statements.Store(0)
		ctx := store.Watch(t.Context(), func(string) { statements.Add(1) })
		r := httptest.NewRequestWithContext(ctx, "GET", path, nil)
		r.RemoteAddr = faraway
		r.Header.Set("Authorization", "Bearer "+rq)
		w := httptest.NewRecorder()
		g.ServeHTTP(w, r)
		g.wants(w, 200, "")
		return statements.Load()
	}
	first, second := watched("/v1/nursery"), watched("/v1/nursery")
	if first <= second {
		t.Errorf("%d statements with a look-up, %d without", first, second)
	}
	g.wants(g.ask(op, "POST", "/v1/tokens/RQ/revocations", ""), 201, "")
	g.pass(lookUpEvery - time.Millisecond)
	g.wants(g.ask(rq, "GET", "/v1/nursery", ""), 200, "")
	g.pass(time.Millisecond)
	g.wants(g.ask(rq, "GET", "/v1/nursery", ""), 401, "token-revoked")

	day := g.token(models.NewToken{Name: "Saturday crew", Role: models.Volunteer})
	midnight := time.Date(2026, 1, 18, 0, 0, 0, 0, mustPlace(t)).Sub(g.now())
	g.pass(midnight - time.Millisecond)
	g.wants(g.ask(day, "GET", "/v1/nursery", ""), 200, "")
	g.pass(time.Millisecond)
	g.wants(g.ask(day, "GET", "/v1/nursery", ""), 401, "token-ended")
}

// What was found is as old as its look-up, and a clock that is set back makes it
// no younger.
func TestWhatIsKnownAges(t *testing.T) {
	for age, want := range map[time.Duration]bool{
		0: true, lookUpEvery - 1: true, lookUpEvery: false, time.Hour: false, -1: false, -time.Hour: false,
	} {
		if got := (known{at: storyTime}).isFresh(storyTime.Add(age)); got != want {
			t.Errorf("after %v: %v", age, got)
		}
	}
	g := openGate(t, storetest.Open(t, store.SQLite), nil)
	op := g.token(models.NewToken{Name: "OP", Role: models.Coordinator})
	rq := g.token(models.NewToken{Name: "RQ", Role: models.Volunteer})
	g.wants(g.ask(rq, "GET", "/v1/nursery", ""), 200, "")
	g.wants(g.ask(op, "POST", "/v1/tokens/RQ/revocations", ""), 201, "")
	g.pass(-time.Hour)
	g.wants(g.ask(rq, "GET", "/v1/nursery", ""), 401, "token-revoked")
}

// Whoever finds a secret may paste it to have it revoked: it is revoked, and is
// neither logged nor kept.
func TestASecretIsRevokedByItself(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		g := openGate(t, s, nil)
		op := g.token(models.NewToken{Name: "OP", Role: models.Coordinator})
		lost := g.token(models.NewToken{Name: "lost", Role: models.Lead})
		w := g.ask(op, "POST", "/v1/tokens/"+lost+"/revocations", "", "Idempotency-Key", "k")
		g.wants(w, 201, "")
		none := g.ask(op, "POST", "/v1/tokens/"+lost[:20]+"/revocations", "")
		g.wants(none, 404, "no-such-token")
		g.wants(g.ask(lost, "GET", "/v1/nursery", ""), 401, "token-revoked")
		chance := lost[len("withy-")+9:]
		for what, text := range map[string]string{"the log": g.log.String(), "the answer": w.Body.String(), "the problem": none.Body.String()} {
			if strings.Contains(text, chance[:11]) {
				t.Errorf("%s tells of the secret:\n%s", what, text)
			}
		}
		if found := inDatabase(t, s, chance); found != "" {
			t.Errorf("the secret stands in %s", found)
		}
	})
}

func mustPlace(t *testing.T) *time.Location {
	t.Helper()
	place, err := time.LoadLocation("America/Los_Angeles")
	if err != nil {
		t.Fatal(err)
	}
	return place
}

// One address that tries wrong tokens is told to wait; good tokens pass from there
// all the while, and others are not held up.
func TestWrongTokensAreLimitedByAddress(t *testing.T) {
	g := openGate(t, storetest.Open(t, store.SQLite), func(d *Deps) {
		d.Proxies = []netip.Prefix{netip.MustParsePrefix("10.0.0.0/8")}
	})
	op := g.token(models.NewToken{Name: "OP", Role: models.Coordinator})
	wrong := func(i int, address string, headers ...string) *httptest.ResponseRecorder {
		secret := fmt.Sprintf("withy-aaaaaaaa-%044d", i)
		return g.from(address, g, "GET", "/v1/nursery", "", append(headers, "Authorization", "Bearer "+secret)...)
	}
	for i := range failuresAtOnce {
		g.wants(wrong(i, faraway), 401, "token-unknown")
	}
	held := wrong(99, faraway)
	g.wants(held, 429, "too-many-attempts")
	if held.Header().Get("Retry-After") != "6" {
		t.Errorf("try again after %q", held.Header().Get("Retry-After"))
	}
	g.wants(g.ask(op, "GET", "/v1/nursery", ""), 200, "")
	g.wants(wrong(1, "203.0.113.10:5"), 401, "token-unknown")
	// Behind a proxy that is known, the address before it counts, and what a stranger
	// writes into the header does not.
	g.wants(wrong(2, "10.1.2.3:5", "X-Forwarded-For", "198.51.100.7, 203.0.113.9"), 429, "too-many-attempts")
	g.wants(wrong(3, "10.1.2.3:5", "X-Forwarded-For", "203.0.113.9, 198.51.100.7"), 401, "token-unknown")
	g.wants(wrong(4, faraway, "X-Forwarded-For", "198.51.100.7"), 429, "too-many-attempts")
	g.pass(failureEvery)
	g.wants(wrong(5, faraway), 401, "token-unknown")
}

func TestATokenAsksNoMoreThanItsShare(t *testing.T) {
	g := openGate(t, storetest.Open(t, store.SQLite), func(d *Deps) { d.Rate = 2 })
	op := g.token(models.NewToken{Name: "OP", Role: models.Coordinator})
	rq := g.token(models.NewToken{Name: "RQ", Role: models.Volunteer})
	for range 2 * burstSeconds {
		g.wants(g.ask(rq, "GET", "/v1/nursery", ""), 200, "")
	}
	g.wants(g.ask(rq, "GET", "/v1/nursery", ""), 429, "too-many-requests")
	g.wants(g.ask(op, "GET", "/v1/nursery", ""), 200, "")
	g.pass(time.Second)
	g.wants(g.ask(rq, "GET", "/v1/nursery", ""), 200, "")
}

// What is no token is told so, whatever it is written like.
func TestHeadersThatAreNoToken(t *testing.T) {
	g := openGate(t, storetest.Open(t, store.SQLite), nil)
	op := g.token(models.NewToken{Name: "OP", Role: models.Coordinator})
	for _, header := range []string{"", "Bearer", "Bearer ", "Basic " + op, op, "Bearer withy-", "Bearer " + op + "x", "Bearer " + strings.ToUpper(op), "bearer\t" + op} {
		w := g.from(faraway, g, "GET", "/v1/nursery", "", "Authorization", header)
		g.wants(w, 401, "token-unknown")
		if w.Header().Get("WWW-Authenticate") == "" {
			t.Errorf("%q: nothing says how to come in", header)
		}
	}
	g.wants(g.from(faraway, g, "GET", "/v1/nursery", "", "Authorization", "bearer  "+op), 200, "")
	g.wants(g.from(faraway, g, "GET", "/v1/nursery", "", "Authorization", "Bearer "+op, "Authorization", "Bearer "+op), 401, "token-unknown")
}

// Pages that hold nothing of the nursery are for everyone, and no others.
func TestPublicPages(t *testing.T) {
	for path, want := range map[string]bool{
		"/healthz": true, "/readyz": true, "/problems": true, "/problems/stale": true, "/v1/openapi.json": true, "/docs": true, "/docs/x.css": true,
		"/": true, "/v1": false, "/v1/nursery": false, "/metrics": false, "/healthzx": false, "/v1/openapi.json5": false, "/docsx": false,
	} {
		if isPublic(path) != want {
			t.Errorf("%s: %v", path, !want)
		}
	}
}

// Many who come at once with one token cause one look-up, and one of them that
// gives up does not take the others along.
func TestLookUpsAreShared(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		g := openGate(t, s, nil)
		op := g.token(models.NewToken{Name: "OP", Role: models.Coordinator})
		var all sync.WaitGroup
		codes := make([]int, 40)
		for i := range codes {
			all.Go(func() { codes[i] = g.ask(op, "GET", "/v1/nursery", "").Code })
		}
		all.Wait()
		if slices.ContainsFunc(codes, func(code int) bool { return code != 200 }) {
			t.Error(codes)
		}
	})
}

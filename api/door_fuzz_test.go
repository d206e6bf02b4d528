package api

import (
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/danielgtaylor/huma/v2"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// Nothing but the secret itself, as Bearer and once, opens the door, and no answer
// repeats what was shown.
func FuzzAuthorization(f *testing.F) {
	g := openGate(f, storetest.Open(f, store.SQLite), nil)
	secret := g.token(models.NewToken{Name: "OP", Role: models.Coordinator})
	f.Add("Bearer ", secret, false)
	f.Add("bearer\t", secret, false)
	f.Add("Basic ", "b3A6b3A=", true)
	f.Add("Bearer withy-", secret[:20], true)
	f.Add("", strings.ToUpper(secret), false)
	f.Fuzz(func(t *testing.T, before, after string, twice bool) {
		r := httptest.NewRequest(http.MethodGet, "/v1/nursery", nil)
		r.RemoteAddr = faraway
		given := before + after
		r.Header["Authorization"] = []string{given}
		if twice {
			r.Header["Authorization"] = []string{given, given}
		}
		g.pass(time.Minute) // never too many
		w := httptest.NewRecorder()
		g.ServeHTTP(w, r)
		scheme, shown, _ := strings.Cut(given, " ")
		opens := !twice && strings.EqualFold(scheme, "bearer") && strings.TrimSpace(shown) == secret
		if opens != (w.Code == http.StatusOK) || !opens && w.Code != http.StatusUnauthorized {
			t.Fatalf("%q, twice %t: %d", given, twice, w.Code)
		}
		if strings.Contains(w.Body.String(), secret) || strings.Contains(g.log.String(), secret) {
			t.Fatalf("%q: the secret is told", given)
		}
		g.log.Reset()
	})
}

// Any address is read or refused, and what is read can be kept.
func FuzzAddress(f *testing.F) {
	for _, seed := range []string{"/v1/stands?place=a&x=", "/%00", "/%ff?%zz", "?a=1&a=2", "/v1/%2e%2e/?;", "//x?=&="} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, address string) {
		u, err := url.ParseRequestURI(address)
		if err != nil {
			return
		}
		fault := addressFault(u)
		if fault != nil {
			if entryFor(fault).HTTPStatus() >= 500 || !utf8.ValidString(fault.Detail) {
				t.Fatalf("%q: %v", address, fault)
			}
			return
		}
		if !storable(u.Path) {
			t.Fatalf("%q: the path cannot be kept", address)
		}
		for name, values := range u.Query() {
			if len(values) != 1 || values[0] == "" || !storable(name+values[0]) {
				t.Fatalf("%q: %q is %q", address, name, values)
			}
		}
	})
}

// A body is read as one of the types an operation takes, or not at all.
func FuzzBodyType(f *testing.F) {
	for _, seed := range []string{jsonType, "APPLICATION/JSON; charset=UTF-8", mergeType, "text/csv;charset=utf-16", ";", "a/b;c"} {
		f.Add(seed)
	}
	op := &huma.Operation{RequestBody: &huma.RequestBody{Content: map[string]*huma.MediaType{jsonType: {}, mergeType: {}}}}
	f.Fuzz(func(t *testing.T, given string) {
		if got := bodyType(op, given); got != "" && got != jsonType {
			t.Fatalf("%q is read as %q", given, got)
		}
	})
}

// Every edit is read or refused with its faults.
func FuzzEdits(f *testing.F) {
	for _, seed := range []string{`{"name":null}`, `{"thresholds":{"soak_days":null}}`, `{"harvest_rule":{"stand_cap":null}}`, `{"closures":null}`,
		`{"reminder_day":7,"bases":{"a":{}}}`, `{"medium":null,"share":1e400}`} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if _, err := readStrict(data); err != nil {
			return
		}
		for _, edit := range []any{&trayEdit{}, &models.NurseryEdit{}, &models.StandEdit{}, &models.TaxonEdit{}, &models.PersonEdit{}} {
			err := unmarshalStrict(data, edit)
			if err == nil {
				continue
			}
			faults, ok := unpack(err.Error())
			if !ok || len(faults) == 0 {
				t.Fatalf("no faults in %q", err)
			}
			for _, fault := range faults {
				if fault.Name == "" || strings.Contains(fault.Detail, "json:") {
					t.Fatalf("%T: %+v", edit, fault)
				}
			}
		}
	})
}

// answering is a server that answers every request with one text.
type answering struct {
	status int
	body   string
}

func (a answering) RoundTrip(r *http.Request) (*http.Response, error) {
	return &http.Response{StatusCode: a.status, Status: http.StatusText(a.status), Request: r, Header: http.Header{}, Body: io.NopCloser(strings.NewReader(a.body))}, nil
}

// Whatever a server answers, the client ends with a value or a plain error, and is
// never led to another server.
func FuzzAnswers(f *testing.F) {
	f.Add(200, `{"items":[{"code":"MB-03"}],"next":"/v1/stands?after=x"}`)
	f.Add(200, `{"items":null,"next":"//elsewhere.example/"}`)
	f.Add(409, `{"kind":"refused","code":"over-allowance","detail":"no","allowed":0}`)
	f.Add(302, "<html>")
	f.Add(500, `{"kind":"internal","request_id":"\u0000"}`)
	f.Fuzz(func(t *testing.T, status int, body string) {
		if status < 200 || status > 599 {
			return
		}
		c := NewClient("http://nursery.example", &http.Client{Transport: answering{status, body}}, func() string { return "k" })
		n := 0
		for _, err := range c.Stands(t.Context(), nursery.StandQuery{}) {
			if n++; err != nil && err.Error() == "" || n > 10*len(body)+10 {
				break
			}
		}
		next := body
		if following(&next, "/v1/stands") != "" && !strings.HasPrefix(next, "/") {
			t.Fatalf("led to %q", next)
		}
		_, err := c.Stand(t.Context(), "MB-03", false)
		if status >= 300 && err == nil {
			t.Fatalf("%d %q is taken for a stand", status, body)
		}
	})
}

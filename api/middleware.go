package api

import (
	"context"
	"log/slog"
	"net/http"
	"net/netip"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/danielgtaylor/huma/v2"

	"withybed/models"
	"withybed/models/rules"
)

// A layer wraps a handler with one concern.
type layer func(http.Handler) http.Handler

// layered puts layers around a handler, the first one outermost.
func layered(h http.Handler, layers ...layer) http.Handler {
	for _, l := range slices.Backward(layers) {
		h = l(h)
	}
	return h
}

// request is what problem documents, the log and the metrics say of a request.
// What is not known at the door is noted on the way.
type request struct {
	id, path  string
	operation string      // its route, once found; empty where there is none
	kind      models.Kind // of the problem it is answered with, and its code
	code      string
}

type requestKey struct{}

// requestFrom is the request that a context belongs to, or one that nobody else
// sees where it belongs to none.
func requestFrom(ctx context.Context) *request {
	if at, ok := ctx.Value(requestKey{}).(*request); ok {
		return at
	}
	return &request{}
}

// noteOperation notes the route of a request before huma reads it.
func noteOperation(ctx huma.Context, next func(huma.Context)) {
	requestFrom(ctx.Context()).operation = ctx.Operation().OperationID
	next(ctx)
}

var plainID = regexp.MustCompile(`^[A-Za-z0-9._-]{1,64}$`)

// identify gives every request an id: the caller's own if it is short and
// plain, otherwise a new one.
func identify(newID func() string) layer {
	return func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			id := r.Header.Get("X-Request-Id")
			if !plainID.MatchString(id) {
				id = newID()
			}
			w.Header().Set("X-Request-Id", id)
			ctx := context.WithValue(r.Context(), requestKey{}, &request{id: id, path: rules.WithoutSecrets(r.URL.EscapedPath())})
			next.ServeHTTP(w, r.WithContext(ctx))
		})
	}
}

// logged writes one line for each request, without bodies and query values.
func logged(log *slog.Logger, clock models.Clock) layer {
	return func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			start := clock.Now()
			seen := &watched{ResponseWriter: w}
			defer func() {
				log.InfoContext(r.Context(), "request", "request_id", requestFrom(r.Context()).id,
					"operation", requestFrom(r.Context()).operation, "method", r.Method, "path", rules.WithoutSecrets(r.URL.Path), "status", seen.status, "bytes", seen.bytes,
					"ms", clock.Now().Sub(start).Milliseconds())
			}()
			next.ServeHTTP(seen, r)
		})
	}
}

// caught answers a panic with a problem. Where the answer has begun already the
// connection is broken off, so that half an answer is not taken for a whole one.
func caught(log *slog.Logger) layer {
	return func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			seen := &watched{ResponseWriter: w}
			defer func() {
				v := recover()
				if v == nil {
					return
				}
				if v == http.ErrAbortHandler { //nolint:errorlint // a panic's value, never wrapped
					panic(v)
				}
				log.ErrorContext(r.Context(), "panic", "request_id", requestFrom(r.Context()).id, "panic", v, "stack", stack())
				if seen.status != 0 {
					panic(http.ErrAbortHandler)
				}
				writeProblem(w, r, internalError())
			}()
			next.ServeHTTP(seen, r)
		})
	}
}

// guarded sets the headers that keep browsers from guessing, framing and keeping,
// and, once they came over TLS, from ever coming without it.
func guarded(proxies []netip.Prefix) layer {
	return func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			h := w.Header()
			h.Set("X-Content-Type-Options", "nosniff")
			h.Set("X-Frame-Options", "DENY")
			h.Set("Referrer-Policy", "no-referrer")
			h.Set("Cross-Origin-Resource-Policy", "same-origin")
			h.Set("Content-Security-Policy", contentPolicy(""))
			h.Set("Cache-Control", "no-store")
			if encrypted(r, proxies) {
				h.Set("Strict-Transport-Security", "max-age=31536000") // a year
			}
			next.ServeHTTP(w, r)
		})
	}
}

// unchained closes the connection after a request that came in chunks. It may have
// given a length as well, which the HTTP library drops in silence: where a proxy in
// front went by that length, what follows is another's request, or one slipped past
// the proxy (RFC 9112, 6.1).
func unchained(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if len(r.TransferEncoding) > 0 {
			w.Header().Set("Connection", "close")
		}
		next.ServeHTTP(w, r)
	})
}

// contentPolicy lets a page use nothing but the styles named.
func contentPolicy(styles string) string {
	policy := "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
	if styles != "" {
		policy += "; style-src " + styles
	}
	return policy
}

// sameOrigin refuses what a browser sends on behalf of another site's page,
// unless it only reads.
func sameOrigin(next http.Handler) http.Handler {
	protection := http.NewCrossOriginProtection()
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if err := protection.Check(r); err != nil {
			writeProblem(w, r, models.Errorf(models.Forbidden, "cross-origin",
				"this request was sent by a page of another site and changes nothing here"))
			return
		}
		next.ServeHTTP(w, r)
	})
}

// addressed refuses addresses that say something twice or cannot be kept:
// query parameters given twice or empty, and text that is not UTF-8 or holds a
// NUL, which a database refuses.
func addressed(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if err := addressFault(r.URL); err != nil {
			writeProblem(w, r, err)
			return
		}
		next.ServeHTTP(w, r)
	})
}

func addressFault(u *url.URL) *models.Error {
	if !storable(u.Path) {
		return models.Errorf(models.Malformed, "malformed", "the path holds characters that cannot be: use text in UTF-8")
	}
	query, err := url.ParseQuery(u.RawQuery)
	if err != nil {
		return models.Errorf(models.Malformed, "malformed", "the query of the address cannot be read: parameters are name=value, joined by &, with spaces and signs escaped")
	}
	var faults []models.Field
	for name, values := range query {
		switch {
		case !storable(name + values[0]):
			faults = append(faults, models.Field{Name: strings.ToValidUTF8(name, "?"), Detail: "holds characters that cannot be"})
		case len(values) > 1:
			faults = append(faults, models.Field{Name: name, Detail: "is given twice: give it once", Value: values[1]})
		case values[0] == "":
			faults = append(faults, models.Field{Name: name, Detail: "is empty: give it a value or leave it out"})
		}
	}
	if len(faults) == 0 {
		return nil
	}
	return shapeFault("invalid", faults)
}

// storable says that a text can be kept by both databases.
func storable(s string) bool { return utf8.ValidString(s) && !strings.ContainsRune(s, 0) }

// limited ends the context of a request after a time.
func limited(limit time.Duration) layer {
	return func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			ctx, cancel := context.WithTimeout(r.Context(), limit)
			defer cancel()
			next.ServeHTTP(w, r.WithContext(ctx))
		})
	}
}

// headAsGet lets every route that can be read be asked for its headers alone;
// the server itself leaves out the body.
func headAsGet(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodHead {
			get := r.WithContext(r.Context())
			get.Method = http.MethodGet
			r = get
		}
		next.ServeHTTP(w, r)
	})
}

package api

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"

	"withybed/models"
)

// Client calls the routes of a server, near or far, and gives back its problems
// as the *models.Error they were made from.
type Client struct {
	base   string
	http   *http.Client
	newKey func() string
	token  string // the secret that opens the door; empty where none is needed
}

// NewClient calls the server at base, such as http://127.0.0.1:8080 or
// InProcessBase. newKey makes the Idempotency-Key of each POST.
func NewClient(base string, hc *http.Client, newKey func() string) *Client {
	return &Client{base: strings.TrimRight(base, "/"), http: hc, newKey: newKey}
}

// WithToken is the same client, which shows a token at the door.
func (c *Client) WithToken(secret string) *Client {
	held := *c
	held.token = secret
	return &held
}

// WithKey is the same client with one Idempotency-Key for every POST, for
// repeating a request under the key it had.
func (c *Client) WithKey(key string) *Client {
	keyed := *c
	keyed.newKey = func() string { return key }
	return &keyed
}

// Reply is what an answer says besides its body.
type Reply struct {
	Status int
	ETag   string // the version, to be given back in an edit; empty if there is none
}

// call is one request to be sent, if need be more than once.
type call struct {
	method, path string
	query        url.Values
	body         any
	header       http.Header
	tries        int
}

// bytes is the body as it is sent: bytes as they are, anything else as JSON.
func (c call) bytes() ([]byte, error) {
	if raw, ok := c.body.([]byte); ok || c.body == nil {
		return raw, nil
	}
	body, err := json.Marshal(c.body)
	if err != nil {
		return nil, fmt.Errorf("write the request: %w", err)
	}
	return body, nil
}

// lostTries is how often a request is sent in all when the connection is lost
// under it: reading twice is harmless, and so is a POST under the same key.
const lostTries = 3

func get[T any](ctx context.Context, c *Client, path string, query url.Values) (T, Reply, error) {
	return send[T](ctx, c, call{method: http.MethodGet, path: path, query: query, tries: lostTries})
}

func post[T any](ctx context.Context, c *Client, path string, body any) (T, Reply, error) {
	header := http.Header{"Idempotency-Key": {c.newKey()}}
	return send[T](ctx, c, call{method: http.MethodPost, path: path, body: body, header: header, tries: lostTries})
}

// patch is sent once: a second try could not tell its own edit from another's.
func patch[T any](ctx context.Context, c *Client, path, etag string, body any) (T, Reply, error) {
	header := http.Header{}
	if etag != "" {
		header.Set("If-Match", etag)
	}
	return send[T](ctx, c, call{method: http.MethodPatch, path: path, body: body, header: header, tries: 1})
}

func send[T any](ctx context.Context, c *Client, call call) (T, Reply, error) {
	var value T
	answer, err := c.do(ctx, call)
	if err != nil {
		return value, Reply{}, err
	}
	defer answer.Body.Close()
	reply := Reply{Status: answer.StatusCode, ETag: answer.Header.Get("ETag")}
	if answer.StatusCode >= 300 {
		return value, reply, c.readProblem(answer)
	}
	if answer.StatusCode == http.StatusNoContent {
		return value, reply, nil
	}
	if err := json.NewDecoder(answer.Body).Decode(&value); err != nil {
		return value, reply, c.lost(ctx, fmt.Errorf("read the answer: %w", err))
	}
	return value, reply, nil
}

func (c *Client) do(ctx context.Context, call call) (*http.Response, error) {
	body, err := call.bytes()
	if err != nil {
		return nil, err
	}
	for try := 1; ; try++ {
		answer, err := c.once(ctx, call, body)
		if err == nil {
			return answer, nil
		}
		if try >= call.tries || ctx.Err() != nil {
			return nil, c.lost(ctx, err)
		}
	}
}

func (c *Client) once(ctx context.Context, call call, body []byte) (*http.Response, error) {
	target := c.base + call.path
	if len(call.query) > 0 {
		target += "?" + call.query.Encode()
	}
	r, err := http.NewRequestWithContext(ctx, call.method, target, bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	for name, values := range call.header {
		r.Header[name] = values
	}
	if r.Header.Get("Accept") == "" {
		r.Header.Set("Accept", jsonType)
	}
	if c.token != "" {
		r.Header.Set("Authorization", "Bearer "+c.token)
	}
	if body != nil && r.Header.Get("Content-Type") == "" {
		r.Header.Set("Content-Type", jsonType)
	}
	return c.http.Do(r)
}

// lost is the error for a server that cannot be reached.
func (c *Client) lost(ctx context.Context, cause error) error {
	if errors.Is(cause, context.Canceled) && ctx.Err() != nil {
		return ctx.Err()
	}
	if c.base == InProcessBase {
		return fmt.Errorf("call the server in this process: %w", cause)
	}
	told := models.Errorf(models.Unavailable, "server-unreachable",
		"the server at %s cannot be reached", redacted(c.base))
	return &unreachable{told: told, cause: cause}
}

// redacted is an address without what may be secret in it.
func redacted(address string) string {
	u, err := url.Parse(address)
	if err != nil {
		return "the address given"
	}
	u.RawQuery, u.Fragment, u.ForceQuery = "", "", false
	return u.Redacted()
}

// unreachable keeps what the network said without showing it.
type unreachable struct {
	told  *models.Error
	cause error
}

// Error is the sentence to be shown.
func (u *unreachable) Error() string { return u.told.Error() }

// Unwrap is what is shown, and its cause.
func (u *unreachable) Unwrap() []error { return []error{u.told, u.cause} }

// longestProblem is how much of a problem document is read, in bytes.
const longestProblem = 1 << 20

// readProblem turns a problem document back into the error it was made from, by
// its kind and never by the status.
func (c *Client) readProblem(answer *http.Response) error {
	var p Problem
	err := json.NewDecoder(io.LimitReader(answer.Body, longestProblem)).Decode(&p)
	if _, known := statuses[p.Kind]; err != nil || !known {
		return models.Errorf(models.Unavailable, "unexpected-answer",
			"what answers at %s is not this program's server: it said %s", redacted(c.base), answer.Status)
	}
	e := &models.Error{Kind: p.Kind, Code: p.Code, Detail: p.Detail, Fields: p.Errors,
		Suggestions: p.Suggestions, Allowed: p.Allowed, Binding: p.Binding}
	if p.Kind == models.Internal && p.RequestID != "" {
		e.Detail += " (request " + p.RequestID + ")"
	}
	return e
}

// pages are the entries of a list from path on, page after page as they are
// asked for.
func pages[T any](ctx context.Context, c *Client, path string, query url.Values) All[T] {
	return func(yield func(T, error) bool) {
		for path != "" {
			page, _, err := get[Page[T]](ctx, c, path, query)
			if err != nil {
				var none T
				yield(none, err)
				return
			}
			for _, item := range page.Items {
				if !yield(item, nil) {
					return
				}
			}
			path, query = following(page.Next, path), nil
		}
	}
}

// following is the path of the next page; empty at the end, and where a server
// would lead elsewhere or in a circle.
func following(next *string, current string) string {
	if next == nil || *next == current || !strings.HasPrefix(*next, "/") {
		return ""
	}
	return *next
}

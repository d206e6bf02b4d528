package cli

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptrace"
	"net/url"
	"strings"
	"sync/atomic"

	"withybed/api"
)

// carrier takes the requests of a command to a server. It remembers the entry it
// was given and whether that may have arrived, and does not go a second time to a
// server that it could not reach.
type carrier struct {
	next  http.RoundTripper
	base  string    // path that the server's own paths follow on
	down  error     // why there was no connection
	hold  bool      // entries stay here: others wait before them
	entry *api.Kept // the last that was to be sent
	met   bool      // it may have reached the server
}

// carry puts a carrier between a door and the network.
func carry(d *door) *carrier {
	way := &carrier{next: d.http.Transport}
	if base, err := url.Parse(strings.TrimRight(d.base, "/")); err == nil {
		way.base = base.EscapedPath()
	}
	d.http.Transport = way
	return way
}

var errHeld = errors.New("entries before it wait")

// RoundTrip takes one request to the server.
func (c *carrier) RoundTrip(r *http.Request) (*http.Response, error) {
	if r.Method == http.MethodPost {
		if err := c.note(r); err != nil {
			return nil, err
		}
		if c.hold {
			return nil, errors.Join(errHeld, r.Body.Close())
		}
	}
	if c.down != nil {
		return nil, errors.Join(c.down, closeBody(r))
	}
	var connected atomic.Bool
	trace := httptrace.ClientTrace{GotConn: func(httptrace.GotConnInfo) { connected.Store(true) }}
	answer, err := c.next.RoundTrip(r.WithContext(httptrace.WithClientTrace(r.Context(), &trace)))
	switch {
	case connected.Load():
		c.met = c.met || r.Method == http.MethodPost
	case err != nil:
		c.down = err
	}
	return answer, err
}

// note remembers an entry as it is to be sent.
func (c *carrier) note(r *http.Request) error {
	body, err := r.GetBody()
	if err != nil {
		return fmt.Errorf("read the entry: %w", err)
	}
	text, err := io.ReadAll(body)
	if err != nil {
		return fmt.Errorf("read the entry: %w", err)
	}
	entry := api.Kept{
		Key: r.Header.Get("Idempotency-Key"), Path: strings.TrimPrefix(r.URL.EscapedPath(), c.base),
		ContentType: r.Header.Get("Content-Type"), Body: text,
	}
	if c.entry == nil || c.entry.Key != entry.Key {
		c.entry, c.met = &entry, false
	}
	return body.Close()
}

func closeBody(r *http.Request) error {
	if r.Body == nil {
		return nil
	}
	return r.Body.Close()
}

package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptrace"
	"net/url"
	"strings"
	"sync/atomic"
	"time"

	"withybed/api"
)

// carrier takes the requests of a command to a server. It remembers the entry it
// was given and whether that may have arrived, and does not go a second time to a
// server that it could not reach, or that kept it waiting in vain.
type carrier struct {
	next  http.RoundTripper
	base  string    // path that the server's own paths follow on
	down  error     // why it goes there no more
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
	if connected.Load() && r.Method == http.MethodPost {
		c.met = true
	}
	if err == nil && r.Method == http.MethodPost && answer.StatusCode < http.StatusMultipleChoices {
		answer, err = recognize(answer)
	}
	if err != nil && (!connected.Load() || late(r.Context())) {
		c.down = err
	}
	return answer, err
}

// late says that the time for an answer is over. What the network says then is not
// always the same.
func late(ctx context.Context) bool {
	end, set := ctx.Deadline()
	return set && !time.Now().Before(end)
}

// errStranger is for an answer that is none to an entry.
var errStranger = errors.New("the answer names no batch")

// recognize lets an answer to an entry pass if it is one: something between here
// and the server that answers everything must not make an entry disappear.
func recognize(answer *http.Response) (*http.Response, error) {
	text, err := io.ReadAll(answer.Body)
	if err = errors.Join(err, answer.Body.Close()); err != nil {
		return nil, err
	}
	if _, err := readTaken(text); err != nil {
		return nil, errStranger
	}
	answer.Body = io.NopCloser(bytes.NewReader(text))
	return answer, nil
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

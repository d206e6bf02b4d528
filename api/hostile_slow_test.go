package api

import (
	"fmt"
	"io"
	"net"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// The waits of a server under siege: long enough for a busy machine, short enough
// for a test.
var (
	shortWaits = Waits{Headers: 700 * time.Millisecond, Request: 1500 * time.Millisecond, Answer: 4 * time.Second, Next: 700 * time.Millisecond}
	shortBody  = func(d *Deps) { d.BodyTime, d.BodyLimit = 700*time.Millisecond, 16<<10 }
)

// drip sends a head at once and then the same bytes again and again, listening a
// moment for an answer after each, until the server answers or closes.
func (f *fort) drip(what, head, drop string, moment time.Duration) []int {
	conn := f.dial()
	if conn == nil {
		return nil
	}
	defer conn.Close()
	_, err := io.WriteString(conn, head)
	first := make([]byte, 1)
	for began := time.Now(); err == nil; _, err = io.WriteString(conn, drop) {
		if time.Since(began) > patience {
			f.t.Errorf("%s: the server listens for ever", what)
			return nil
		}
		if conn.SetReadDeadline(time.Now().Add(moment)) != nil {
			break
		}
		if n, heard := conn.Read(first); n == 1 || !isTimeout(heard) {
			first = first[:n]
			break
		}
	}
	if conn.SetDeadline(time.Now().Add(patience)) != nil {
		return nil
	}
	method, _, _ := strings.Cut(head, " ")
	replies := f.hear(what, method, &unread{conn, first})
	for _, r := range replies {
		f.judge(what, r)
	}
	return statusesOf(replies)
}

// unread is a connection of which some bytes have been read already.
type unread struct {
	net.Conn
	first []byte
}

func (u *unread) Read(b []byte) (int, error) {
	if len(u.first) > 0 {
		n := copy(b, u.first)
		u.first = u.first[n:]
		return n, nil
	}
	return u.Conn.Read(b)
}

// Whoever is slow on purpose is answered or shut out by the server's own clock.
func TestHostileSlowness(t *testing.T) {
	besieged(t, outside, shortBody, shortWaits, func(f *fort) {
		head := "POST /v1/taxa HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n" + f.authorization()
		refused := strings.Replace(head, f.authorization(), "", 1)
		unasked := []int{map[bool]int{true: 401, false: 400}[f.token != ""]}
		const moment = 5 * time.Millisecond
		var all sync.WaitGroup
		for what, c := range map[string]struct {
			head, drop string
			want       []int
		}{
			"nothing":                            {"", "", []int{}},
			"half a line":                        {"GET /v1/ba", "", []int{400}},
			"headers, byte by byte":              {"GET /v1/batches HTTP/1.1\r\nX-A: ", "a", []int{}},
			"headers, line by line":              {"GET /v1/batches HTTP/1.1\r\n", "X-A: a\r\n", []int{}},
			"no body":                            {head + "Content-Length: 1000\r\n\r\n", "", []int{400}},
			"half a body":                        {head + "Content-Length: 1000\r\n\r\n{\"scientific_name\":", "", []int{400}},
			"a body, byte by byte":               {head + "Content-Length: 16000\r\n\r\n", " ", []int{400}},
			"a body in chunks, byte by byte":     {head + "Transfer-Encoding: chunked\r\n\r\n", "1\r\n \r\n", []int{400}},
			"chunks that never end":              {head + "Transfer-Encoding: chunked\r\n\r\n", "400\r\n" + strings.Repeat(" ", 1024) + "\r\n", []int{413}},
			"a chunk that never comes":           {head + "Transfer-Encoding: chunked\r\n\r\n4000\r\n", "", []int{400}},
			"a promise to go on":                 {head + "Expect: 100-continue\r\nContent-Length: 1000\r\n\r\n", "", []int{100, 400}},
			"a body that nobody asked for":       {strings.Replace(head, "POST /v1/taxa", "GET /v1/batches", 1) + "Content-Length: 1000\r\n\r\n", "", []int{200}},
			"a body for a page that is not":      {strings.Replace(head, "POST /v1/taxa", "POST /v1/none", 1) + "Content-Length: 1000\r\n\r\n", " ", []int{404}},
			"no body, and no token":              {refused + "Content-Length: 1000\r\n\r\n", "", unasked},
			"a body without a token, by bytes":   {refused + "Content-Length: 16000\r\n\r\n", " ", unasked},
			"chunks without a token, by bytes":   {refused + "Transfer-Encoding: chunked\r\n\r\n", "1\r\n \r\n", unasked},
			"a good request, then nothing":       {strings.Replace(f.request("GET", "/v1/batches", ""), "Connection: close\r\n", "", 1), "", []int{200}},
			"a good request, then half another":  {strings.Replace(f.request("GET", "/v1/batches", ""), "Connection: close\r\n", "", 1) + "GET /v1/", "", []int{200, 400}},
			"a good request, then byte by bytes": {strings.Replace(f.request("GET", "/v1/batches", ""), "Connection: close\r\n", "", 1) + "GET /v1/batches HTTP/1.1\r\nX: ", "x", []int{200}},
		} {
			all.Go(func() {
				if got := f.drip(what, c.head, c.drop, moment); !slices.Equal(got, c.want) {
					t.Errorf("%s: %v, want %v", what, got, c.want)
				}
			})
		}
		all.Wait()
	})
}

// Many connections that do nothing, and many that take nothing, are let go, and
// others are served meanwhile.
func TestHostileIdlers(t *testing.T) {
	besieged(t, outside, nil, shortWaits, func(f *fort) {
		var all sync.WaitGroup
		large := strings.Replace(f.request("GET", "/docs/swagger-ui-bundle.js", ""), "Connection: close\r\n", "", 1)
		for i := range 300 {
			all.Go(func() {
				conn := f.dial()
				if conn == nil {
					return
				}
				defer conn.Close()
				if i%10 == 0 { // asks for far more than fits on the way, and reads none of it
					_ = conn.SetReadBuffer(4 << 10)
					_, _ = fmt.Fprint(conn, strings.Repeat(large, 100))
					f.conns.wait()
					return
				}
				if n, err := conn.Read(make([]byte, 1)); n > 0 || isTimeout(err) {
					t.Errorf("a connection that does nothing: %d bytes, %v", n, err)
				}
			})
		}
		for range 20 {
			f.good()
		}
		all.Wait()
	})
}

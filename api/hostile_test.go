package api

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"runtime"
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

// fort is a server on the network as withy serve runs it, besieged by a client
// that keeps to no rule.
type fort struct {
	t      *testing.T
	house  house // for counting what stands in the database
	at     string
	log    *bytes.Buffer // read once the server has stopped
	token  string        // of a coordinator; empty while none is needed
	conns  *guests
	stop   context.CancelFunc
	ended  chan error
	before string // what stood in the database
	calm   int    // goroutines before the siege
}

// patience is how long the hostile client waits for the server to be done with it.
const patience = 30 * time.Second

func openFort(t *testing.T, s *store.Store, withToken bool, change func(*Deps), waits Waits) *fort {
	t.Helper()
	f := &fort{t: t, log: &bytes.Buffer{}, house: house{store: s}, conns: newGuests(), ended: make(chan error, 1)}
	deps := testDeps(f.log)
	deps.Clock, deps.Rate = models.FixedClock(storyTime), 1000
	if change != nil {
		change(&deps)
	}
	var ids atomic.Int64
	n := nursery.New(s, deps.Clock, func() string { return fmt.Sprintf("n%04d", ids.Add(1)) },
		func() string { return fmt.Sprintf("k%07dabcdefghijklmnopqrstuvwxyz234567abcdefghijkl", ids.Add(1)) })
	if _, err := n.Make(t.Context(), nursery.Seed{Name: "Wrenlow Valley", TimeZone: "America/Los_Angeles"}); err != nil {
		t.Fatal(err)
	}
	f.furnish(n)
	if withToken {
		view, err := n.AddToken(t.Context(), nursery.Once{}, models.NewToken{Name: "OP", Role: models.Coordinator})
		if err != nil {
			t.Fatal(err)
		}
		f.token = view.Secret
	}
	f.serve(New(deps, Mount(n)), waits)
	f.good()
	f.before, f.calm = f.house.holds(t), runtime.NumGoroutine()
	return f
}

// furnish puts one batch into the nursery, so that there is something to harm.
func (f *fort) furnish(n *nursery.Nursery) {
	f.t.Helper()
	ctx, none := f.t.Context(), nursery.Once{}
	_, taxon := n.AddTaxon(ctx, none, models.NewTaxon{ScientificName: "Cornus sericea"})
	_, stand := n.AddStand(ctx, none, models.NewStand{Code: "MB-03", Name: "Mallow Bend", Taxon: "Cornus sericea"})
	stems := 900
	_, survey := n.AddSurvey(ctx, none, "MB-03", models.NewSurvey{SurveyedOn: models.MustDate("2025-09-12"), Method: "census", Stems: &stems})
	_, batch := n.LogBatch(ctx, none, models.NewBatch{Stand: "MB-03", CollectedOn: models.MustDate("2026-01-02"), StemsCut: 20, Cuttings: 60, CollectedBy: "RQ",
		StuckOn: models.MustDate("2026-01-02")})
	if err := errors.Join(taxon, stand, survey, batch); err != nil {
		f.t.Fatal(err)
	}
}

func (f *fort) serve(h http.Handler, waits Waits) {
	f.t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		f.t.Fatal(err)
	}
	f.at = listener.Addr().String()
	ctx, stop := context.WithCancel(f.t.Context())
	f.stop = stop
	server := &Server{Handler: h, Log: testDeps(f.log).Log, Waits: waits}
	go func() { f.ended <- server.Serve(ctx, &counted{listener, f.conns}) }()
}

// counted counts the connections that a server holds open.
type counted struct {
	net.Listener
	conns *guests
}

// guests are those who are there, of whom new ones may come while it is waited
// until the last has left.
type guests struct {
	mu   sync.Mutex
	left *sync.Cond
	n    int
}

func newGuests() *guests {
	g := &guests{}
	g.left = sync.NewCond(&g.mu)
	return g
}

func (g *guests) add(n int) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.n += n
	g.left.Broadcast()
}

// wait returns when nobody is there.
func (g *guests) wait() {
	g.mu.Lock()
	defer g.mu.Unlock()
	for g.n > 0 {
		g.left.Wait()
	}
}

func (l *counted) Accept() (net.Conn, error) {
	conn, err := l.Listener.Accept()
	if err != nil {
		return nil, err
	}
	l.conns.add(1)
	return &countedConn{TCPConn: conn.(*net.TCPConn), left: sync.OnceFunc(func() { l.conns.add(-1) })}, nil
}

type countedConn struct {
	*net.TCPConn
	left func()
}

func (c *countedConn) Close() error {
	defer c.left()
	return c.TCPConn.Close()
}

// dial opens a connection that gives up after a while.
func (f *fort) dial() *net.TCPConn {
	conn, err := net.Dial("tcp", f.at)
	if err == nil {
		err = conn.SetDeadline(time.Now().Add(patience))
	}
	if err != nil {
		f.t.Error(err)
		return nil
	}
	return conn.(*net.TCPConn)
}

// reply is an answer with its body read.
type reply struct {
	*http.Response
	body []byte
}

// hear reads all answers to requests of a method until the server closes.
func (f *fort) hear(what, method string, conn net.Conn) []reply {
	var replies []reply
	reader := bufio.NewReader(conn)
	for {
		answer, err := http.ReadResponse(reader, &http.Request{Method: method})
		if err != nil {
			f.closed(what, err)
			return replies
		}
		body, err := io.ReadAll(answer.Body)
		replies = append(replies, reply{answer, body})
		if err != nil {
			f.closed(what, err)
			return replies
		}
	}
}

// closed holds that the server ended a connection, and that it was not the client
// who lost its patience.
func (f *fort) closed(what string, err error) {
	if errors.Is(err, context.DeadlineExceeded) || isTimeout(err) {
		f.t.Errorf("%s: the server neither answers nor closes", what)
	}
}

func isTimeout(err error) bool {
	var late net.Error
	return errors.As(err, &late) && late.Timeout()
}

// say sends bytes over a connection of their own and gives the answers.
func (f *fort) say(what, bytes string) []reply {
	conn := f.dial()
	if conn == nil {
		return nil
	}
	defer conn.Close()
	go func() { _, _ = io.WriteString(conn, bytes) }() // fails where the server has closed already
	method, _, _ := strings.Cut(bytes, " ")
	replies := f.hear(what, method, conn)
	for _, r := range replies {
		f.judge(what, r)
	}
	return replies
}

// judge holds that an answer is one of ours, or a connection refused by the HTTP
// library before it was a request.
func (f *fort) judge(what string, r reply) {
	switch {
	case r.StatusCode == http.StatusInternalServerError || r.StatusCode == http.StatusServiceUnavailable:
		f.t.Errorf("%s: %s %s", what, r.Status, r.body)
	case r.StatusCode < 400 || r.Request.Method == http.MethodHead:
	case r.Header.Get("Content-Type") != problemType:
		if !r.Close || len(r.body) > 100 {
			f.t.Errorf("%s: %s is no problem document, and the connection goes on: %s", what, r.Status, r.body)
		}
	default:
		var p Problem
		if err := json.Unmarshal(r.body, &p); err != nil || p.Status != r.StatusCode || Catalogue[p.Code].Title == "" || len(r.body) > 512<<10 {
			f.t.Errorf("%s: %d bytes, %v: %.400s", what, len(r.body), err, r.body)
		}
	}
}

// statuses are what was answered.
func statusesOf(replies []reply) []int {
	all := []int{}
	for _, r := range replies {
		all = append(all, r.StatusCode)
	}
	return all
}

// request writes a request as a client of ours would, and closes after it. Header
// lines that are given come last.
func (f *fort) request(method, target, body string, lines ...string) string {
	text := method + " " + target + " HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n" + f.authorization()
	if body != "" {
		text += fmt.Sprintf("Content-Type: application/json\r\nContent-Length: %d\r\n", len(body))
	}
	for _, line := range lines {
		text += line + "\r\n"
	}
	return text + "\r\n" + body
}

func (f *fort) authorization() string {
	if f.token == "" {
		return ""
	}
	return "Authorization: Bearer " + f.token + "\r\n"
}

// good asks for what any client may have.
func (f *fort) good() {
	f.t.Helper()
	if got := statusesOf(f.say("a good request", f.request("GET", "/v1/batches", ""))); len(got) != 1 || got[0] != http.StatusOK {
		f.t.Errorf("a good request is answered %v", got)
	}
}

// stands holds that the siege did no harm: a good request is answered, every
// connection and every goroutine has ended, nothing was recorded, and the log
// tells of no fault.
func (f *fort) stands() {
	f.t.Helper()
	f.good()
	f.conns.wait() // the go tool ends a test that waits for ever
	if after := f.house.holds(f.t); after != f.before {
		f.t.Errorf("the database held\n%s\nand holds\n%s", f.before, after)
	}
	for tries := 0; runtime.NumGoroutine() > f.calm+4; tries++ {
		if tries == 100 {
			f.t.Errorf("%d goroutines, and %d before", runtime.NumGoroutine(), f.calm)
			break
		}
		f.good()
	}
	f.stop()
	if err := <-f.ended; err != nil {
		f.t.Error(err)
	}
	for line := range strings.Lines(f.log.String()) {
		if strings.Contains(line, "level=ERROR") || strings.Contains(line, "panic") || strings.Contains(line, "goroutine ") || strings.Contains(line, "status=500") {
			f.t.Errorf("the log says %.2000s", line)
		}
	}
}

// ground is where a siege takes place: a database, and a server that asks for a
// token or does not yet.
type ground struct {
	dialect   string
	withToken bool
}

var (
	everywhere = []ground{{store.SQLite, false}, {store.SQLite, true}, {store.Postgres, false}, {store.Postgres, true}}
	outside    = everywhere[:2]                                          // what never comes as far as the database
	inside     = []ground{{store.SQLite, false}, {store.Postgres, true}} // what is let in anyhow
)

func besieged(t *testing.T, grounds []ground, change func(*Deps), waits Waits, siege func(f *fort)) {
	for _, g := range grounds {
		t.Run(fmt.Sprintf("%s/token=%t", g.dialect, g.withToken), func(t *testing.T) {
			f := openFort(t, storetest.Open(t, g.dialect), g.withToken, change, waits)
			siege(f)
			f.stands()
		})
	}
}

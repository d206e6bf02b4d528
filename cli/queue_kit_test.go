package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"withybed/api"
	"withybed/models"
	"withybed/models/nursery"
)

// way is what lies between a field computer and its server: a road that is open,
// closed, or lets a request pass and no answer back.
type way struct {
	http.Handler
	mu    sync.Mutex
	state string
	done  func() // called when a slow server has done what was asked
}

const (
	open   = "open"
	closed = "closed" // the connection breaks off before anything is read
	cut    = "cut"    // the server does what was asked, and its answer is lost
	half   = "half"   // and half of its answer
	proxy  = "proxy"  // something between says that the server is not there
	portal = "portal" // something between answers everything with a page
	moved  = "moved"  // something between leads elsewhere
	hollow = "hollow" // something between answers in JSON
	slow   = "slow"   // the server does what was asked, and does not answer
)

func (w *way) is(state string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.state = state
}

// ServeHTTP lets a request through, or not.
func (w *way) ServeHTTP(to http.ResponseWriter, r *http.Request) {
	w.mu.Lock()
	state := w.state
	w.mu.Unlock()
	switch {
	case state == closed:
		panic(http.ErrAbortHandler)
	case state == cut && r.Method == http.MethodPost:
		w.Handler.ServeHTTP(httptest.NewRecorder(), r)
		panic(http.ErrAbortHandler)
	case state == half && r.Method == http.MethodPost:
		answer := httptest.NewRecorder()
		w.Handler.ServeHTTP(answer, r)
		to.Header().Set("Content-Length", strconv.Itoa(answer.Body.Len()))
		to.WriteHeader(answer.Code)
		_, _ = to.Write(answer.Body.Bytes()[:answer.Body.Len()/2]) // the client may be gone
		panic(http.ErrAbortHandler)
	case state == slow && r.Method == http.MethodPost:
		w.Handler.ServeHTTP(httptest.NewRecorder(), r)
		w.done()
		<-r.Context().Done()
	case state == proxy:
		http.Error(to, "<html>no upstream</html>", http.StatusBadGateway)
	case state == portal:
		_, _ = io.WriteString(to, "<html>welcome to the guest network</html>") // the client may be gone
	case state == moved:
		http.Redirect(to, r, "/v1/batches", http.StatusFound)
	case state == hollow:
		to.Header().Set("Content-Type", "application/json")
		_, _ = io.WriteString(to, "{}")
	default:
		w.Handler.ServeHTTP(to, r)
	}
}

// fieldDay is a computer in the field with a server far away. The server knows a
// stand of 400 stems, which can spare 20.
type fieldDay struct {
	*bench
	way    *way
	road   *httptest.Server
	server *bench
	far    string // address of the server, around the road
	home   string
	stand  string

	refusedAtOnce []string // tags that the person was told of
}

func newFieldDay(t *testing.T) *fieldDay {
	t.Helper()
	server := newBench(t, here(t))
	address, stop := server.served()
	t.Cleanup(func() { stop() })
	target, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	onward := &httputil.ReverseProxy{Rewrite: func(r *httputil.ProxyRequest) { r.SetURL(target) }}
	w := &way{Handler: onward, state: open}
	road := httptest.NewServer(w)
	f := &fieldDay{bench: newBench(t, ""), way: w, road: road, server: server, far: address, stand: "MB-03"}
	t.Cleanup(func() { f.road.Close() })
	f.ids.Store(1_000_000)
	f.vars = map[string]string{"WITHY_SERVER": road.URL, "WITHY_TIME_ZONE": "America/Los_Angeles"}
	server.must("taxon", "add", "Cornus sericea")
	f.begin("MB-03")
	return f
}

// begin takes a computer that keeps nothing yet to a new stand, which the server
// knows.
func (f *fieldDay) begin(stand string) {
	f.stand, f.home, f.refusedAtOnce = stand, f.t.TempDir(), nil
	for _, name := range []string{"HOME", "XDG_DATA_HOME", "LOCALAPPDATA"} {
		f.vars[name] = f.home
	}
	f.server.must("stand", "add", stand, "--name", "Mallow Bend", "--taxon", "Cornus sericea")
	f.server.must("survey", "add", stand, "--on", "2025-09-12", "--method", "census", "--stems", "400")
}

// lose takes the road away, so that no connection is made; find brings it back.
func (f *fieldDay) lose() { f.road.Close() }

func (f *fieldDay) find() {
	f.t.Helper()
	listener, err := net.Listen("tcp", strings.TrimPrefix(f.road.URL, "http://"))
	if err != nil {
		f.t.Fatal(err)
	}
	f.road = httptest.NewUnstartedServer(f.way)
	f.road.Listener.Close()
	f.road.Listener = listener
	f.road.Start()
}

// log logs a bundle by its tag, and wants an exit code.
func (f *fieldDay) log(want, stems int, tag string, more ...string) (stdout, stderr string) {
	f.t.Helper()
	args := slices.Concat([]string{"batch", "log", "--stand", "MB-03", "--stems-cut", fmt.Sprint(stems), "--cuttings", "6", "--collected-by", "RQ", "--record-number", tag}, more)
	code, stdout, stderr := f.run(args...)
	if code != want {
		f.t.Fatalf("withy %s ended with %d, not %d: %s%s", strings.Join(args, " "), code, want, stdout, stderr)
	}
	return stdout, stderr
}

// list is what is kept in the field for the server, by state: the tags, in order.
func (f *fieldDay) list() map[queueState][]string {
	f.t.Helper()
	var page api.Page[queued]
	if err := json.Unmarshal([]byte(f.must("queue", "list", "--settled", "--json")), &page); err != nil {
		f.t.Fatal(err)
	}
	tags := map[queueState][]string{}
	for _, e := range page.Items {
		if e.Server != addressOf(f.vars["WITHY_SERVER"]) {
			continue
		}
		var req models.NewBatch
		if err := json.Unmarshal([]byte(e.Body), &req); err != nil && e.ContentType == jsonBody {
			f.t.Fatal(err)
		}
		tags[e.State] = append(tags[e.State], req.RecordNumber)
	}
	return tags
}

// arrived are the tags of the batches of the stand that are on the server, in the
// order they came.
func (f *fieldDay) arrived() []string {
	f.t.Helper()
	ctx := f.t.Context()
	c := api.NewClient(f.far, http.DefaultClient, newID).WithToken(f.server.vars["WITHY_TOKEN"])
	numbers := map[string]int{}
	var tags []string
	for b, err := range c.Batches(ctx, nursery.BatchQuery{Stand: f.stand}) {
		if err != nil {
			f.t.Fatal(err)
		}
		view, err := c.Batch(ctx, b.Code)
		if err != nil {
			f.t.Fatal(err)
		}
		number := 0
		if _, err := fmt.Sscanf(b.Code, f.stand+"-2026-%d", &number); err != nil {
			f.t.Fatal(err)
		}
		numbers[view.RecordNumber] = number
		tags = append(tags, view.RecordNumber)
	}
	slices.SortFunc(tags, func(a, b string) int { return numbers[a] - numbers[b] })
	return tags
}

// stands wants what waits, what was refused and what arrived, as lists of tags.
func (f *fieldDay) stands(waits, refusedOnes, there string) {
	f.t.Helper()
	kept := f.list()
	got := fmt.Sprintf("%s|%s|%s", strings.Join(kept[waiting], " "), strings.Join(kept[refused], " "), strings.Join(f.arrived(), " "))
	if want := waits + "|" + refusedOnes + "|" + there; got != want {
		f.t.Errorf("waits|refused|arrived is %s, not %s", got, want)
	}
}

func wantWords(t *testing.T, text string, words ...string) {
	t.Helper()
	for _, w := range words {
		if !strings.Contains(text, w) {
			t.Errorf("it does not say %q: %s", w, text)
		}
	}
}

// newToken makes a token on the server's own database.
func (f *fieldDay) newToken(name, role string) string {
	f.t.Helper()
	var made struct {
		Secret string `json:"secret"`
	}
	if err := json.Unmarshal([]byte(f.server.must("token", "add", name, "--role", role, "--local", "--json")), &made); err != nil || made.Secret == "" {
		f.t.Fatalf("%+v %v", made, err)
	}
	return made.Secret
}

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
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

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
}

const (
	open   = "open"
	closed = "closed" // the connection breaks off before anything is read
	cut    = "cut"    // the server does what was asked, and its answer is lost
	proxy  = "proxy"  // something between says that the server is not there
	portal = "portal" // something between answers everything with a page
	moved  = "moved"  // something between leads elsewhere
	hollow = "hollow" // something between answers in JSON
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

// list is what is kept in the field, by state: the tags, in order.
func (f *fieldDay) list() map[queueState][]string {
	f.t.Helper()
	var page api.Page[queued]
	if err := json.Unmarshal([]byte(f.must("queue", "list", "--settled", "--json")), &page); err != nil {
		f.t.Fatal(err)
	}
	tags := map[queueState][]string{}
	for _, e := range page.Items {
		var req models.NewBatch
		if err := json.Unmarshal([]byte(e.Body), &req); err != nil {
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

// A day in the field: what is entered is kept and said to be kept, other commands
// fail as ever, and the next entry that reaches the server brings it along.
func TestFieldDay(t *testing.T) {
	f := newFieldDay(t)
	f.way.is(closed)
	out, _ := f.log(exitKept, 2, "T-1", "--on", "yesterday")
	wantWords(t, out, f.vars["WITHY_SERVER"]+" cannot be reached", "is NOT on the server yet: no rule has looked at it",
		"1: 2 stems of MB-03 cut on 2026-01-18, 6 cuttings by RQ, tag T-1", "counted from the clock of this computer, which says that today is 2026-01-19", "1 entry waits")
	out, _ = f.log(exitKept, 3, "T-2", "--on", "2026-01-19", "--json")
	var printed map[string]keptEntry
	if err := json.Unmarshal([]byte(out), &printed); err != nil || printed["queued"].ID != 2 || printed["queued"].Waiting != 2 || printed["queued"].DayFromHere {
		t.Errorf("%+v %v", printed, err)
	}
	for _, args := range [][]string{{"stand", "list"}, {"taxon", "add", "Cornus alba"}, {"batch", "review", "MB-03-2026-1", "--accept", "--reason", "x"}} {
		if code, out, stderr := f.run(args...); code != exitOther || out != "" || !strings.Contains(stderr, "2 entries wait on this computer") {
			t.Errorf("%v: %d %s%s", args, code, out, stderr)
		}
	}
	f.stands("T-1 T-2", "", "")

	f.way.is(open)
	if code, out, stderr := f.run("stand", "list"); code != 0 || !strings.Contains(out, "Mallow Bend") || strings.Count(stderr, "\n") != 1 || !strings.Contains(stderr, "withy queue list") {
		t.Errorf("%d %s%s", code, out, stderr)
	}
	out, stderr := f.log(exitDone, 4, "T-3")
	wantWords(t, stderr, "1 is sent: 2 stems of MB-03 cut on 2026-01-18, 6 cuttings by RQ, tag T-1. On the server it is MB-03-2026-1.", "2 is sent: ")
	wantWords(t, out, "Batch MB-03-2026-3 is logged")
	f.stands("", "", "T-1 T-2 T-3")
	if code, _, stderr := f.run("stand", "list"); code != 0 || stderr != "" {
		t.Errorf("%d %s", code, stderr)
	}
	if out := f.must("queue", "send"); out != "Nothing waits to be sent.\n" {
		t.Error(out)
	}
}

// An entry that arrived while its answer was lost is one batch, and so is one of
// which the sending was cut.
func TestLostAnswers(t *testing.T) {
	f := newFieldDay(t)
	f.way.is(cut)
	out, _ := f.log(exitKept, 2, "T-1")
	wantWords(t, out, "may have reached the server all the same")
	f.stands("T-1", "", "T-1")
	if code, _, stderr := f.run("queue", "send"); code != exitOther || !strings.Contains(stderr, "1 entry still waits on this computer: the server at") {
		t.Errorf("%d %s", code, stderr)
	}
	f.way.is(closed)
	f.log(exitKept, 3, "T-2")
	f.way.is(cut)
	f.run("queue", "send")
	f.way.is(open)
	f.must("queue", "send")
	f.stands("", "", "T-1 T-2")
}

// What a server between says, or a page that answers everything, is no answer to
// an entry: it is kept, and never taken to be there.
func TestOthersAnswer(t *testing.T) {
	f := newFieldDay(t)
	var tags []string
	for i, state := range []string{hollow, proxy, portal, moved, hollow} {
		f.way.is(state)
		tags = append(tags, fmt.Sprintf("T-%d", i+1))
		out, _ := f.log(exitKept, 1, tags[i])
		if state != portal {
			wantWords(t, out, "is not this program's server")
		}
		f.stands(strings.Join(tags, " "), "", "")
	}
	if code, out, stderr := f.run("queue", "send"); code != exitOther || !strings.Contains(stderr, "5 entries still wait on this computer: what answers at ") {
		t.Errorf("%d %s%s", code, out, stderr)
	}
	f.way.is(open)
	f.must("queue", "send")
	f.stands("", "", strings.Join(tags, " "))
	if days := strings.Count(f.server.must("batch", "list"), " 2026-01-19 "); days != len(tags) {
		t.Errorf("%d of %d are of the day they were entered", days, len(tags))
	}
}

// What the server refuses is put aside with the reason, and those after it go on.
// Stems that are gone are recorded with a reason, as a new request.
func TestRefusedOnesAreKept(t *testing.T) {
	f := newFieldDay(t)
	f.way.is(closed)
	f.log(exitKept, 2, "T-1")
	f.log(exitKept, 40, "T-2")
	f.log(exitKept, 3, "T-3")
	f.way.is(open)
	code, out, stderr := f.run("queue", "send")
	if code != exitRefused || stderr != "" {
		t.Errorf("%d %s", code, stderr)
	}
	wantWords(t, out, "2 is refused, and stays on this computer: 40 stems", "withy queue settle NO")
	f.stands("", "T-2", "T-1 T-3")
	wantWords(t, f.must("queue", "list"), "refused: 40 stems")
	wantWords(t, f.must("queue", "show", "2"), "over-allowance", `"stems_cut":40`)

	if code, _, stderr := f.run("queue", "send", "2", "--already-cut"); code != exitUsage || !strings.Contains(stderr, "--reason") {
		t.Errorf("%d %s", code, stderr)
	}
	if code, _, _ := f.run("queue", "send", "2"); code != exitRefused {
		t.Errorf("sent as it was: %d", code)
	}
	f.stands("", "T-2", "T-1 T-3")
	wantWords(t, f.must("queue", "send", "2", "--already-cut", "--reason", "two crews"), "2 is sent: 40 stems of MB-03 cut on 2026-01-19, 6 cuttings by RQ, tag T-2, already cut. On the server it is MB-03-2026-3.")
	f.stands("", "", "T-1 T-3 T-2")
	wantWords(t, f.server.must("batch", "show", "MB-03-2026-3"), "two crews")
	if code, _, _ := f.run("queue", "show", "2"); code != exitMissing {
		t.Errorf("it is shown still: %d", code)
	}
}

// Whatever keeps the first from being sent keeps those behind it, in order.
func TestTheOrderHolds(t *testing.T) {
	f := newFieldDay(t)
	f.lose()
	f.log(exitKept, 1, "T-1")
	f.find()
	f.server.vars["WITHY_TOKEN"] = f.newToken("OP", "coordinator")
	out, _ := f.log(exitKept, 2, "T-2")
	wantWords(t, out, "Entries before it still wait: ")
	f.log(exitKept, 3, "T-3", "--on", "2026-01-18")
	f.stands("T-1 T-2 T-3", "", "")
	code, _, stderr := f.run("queue", "send")
	if code != exitOther || !strings.Contains(stderr, "3 entries still wait on this computer") {
		t.Errorf("%d %s", code, stderr)
	}
	f.vars["WITHY_TOKEN"] = f.newToken("Saturday crew", "volunteer")
	f.must("queue", "send") // the server had looked at none of them, so any token does
	f.stands("", "", "T-1 T-2 T-3")
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

// The secret of a token, and a password in an address, are in no file.
func TestNoSecretsAreKept(t *testing.T) {
	f := newFieldDay(t)
	f.way.is(cut)
	f.vars["WITHY_TOKEN"] = f.newToken("OP", "coordinator")
	f.vars["WITHY_SERVER"] = strings.Replace(f.vars["WITHY_SERVER"], "http://", "http://op:rosehip@", 1)
	f.log(exitKept, 1, "T-1")
	files := 0
	err := filepath.WalkDir(f.home, func(path string, entry os.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		files++
		text, err := os.ReadFile(path)
		if strings.Contains(path+string(text), f.vars["WITHY_TOKEN"]) || strings.Contains(path+string(text), "rosehip") {
			t.Errorf("%s: %s", path, text)
		}
		return err
	})
	if err != nil || files < 2 {
		t.Errorf("%d files, %v", files, err)
	}
}

// An entry that may be recorded under a key that the server no longer knows, or
// knows of another token, is not sent by itself.
func TestDoubtfulOnesWaitForALook(t *testing.T) {
	for name, later := range map[string]func(*fieldDay){
		"sent-long-ago": func(f *fieldDay) { f.now = f.now.Add(doubtAfter + time.Minute) },
		"sent-with-another-token": func(f *fieldDay) {
			f.vars["WITHY_TOKEN"] = f.newToken("OP", "coordinator")
			f.server.vars["WITHY_TOKEN"] = f.vars["WITHY_TOKEN"]
		},
	} {
		f := newFieldDay(t)
		f.way.is(cut)
		f.log(exitKept, 2, "T-1")
		f.way.is(open)
		later(f)
		code, out, _ := f.run("queue", "send")
		if code != exitRefused || !strings.Contains(out, "look whether it is there") {
			t.Errorf("%s: %d %s", name, code, out)
		}
		f.stands("", "T-1", "T-1")
		wantWords(t, f.must("queue", "show", "1"), name)
		wantWords(t, f.must("queue", "settle", "1", "--why", "it is there as MB-03-2026-1"), "is not sent any more")
		if kept := f.list(); len(kept[settled]) != 1 || len(kept[refused]) != 0 {
			t.Errorf("%s: %v", name, kept)
		}
		wantWords(t, f.must("queue", "show", "1"), "settled: it is there as MB-03-2026-1")
		if code, _, stderr := f.run("queue", "send", "1"); code != exitUsage || !strings.Contains(stderr, "was settled") {
			t.Errorf("%s: %d %s", name, code, stderr)
		}
	}
}

// One that certainly never left is sent however old it is, and by whoever.
func TestOldOnesThatNeverLeft(t *testing.T) {
	f := newFieldDay(t)
	f.lose()
	out, _ := f.log(exitKept, 2, "T-1")
	if strings.Contains(out, "all the same") {
		t.Error(out)
	}
	if code, _, _ := f.run("queue", "send"); code != exitOther {
		t.Errorf("%d", code)
	}
	f.now = f.now.AddDate(0, 3, 0)
	f.vars["WITHY_TOKEN"] = f.newToken("OP", "coordinator")
	f.server.vars["WITHY_TOKEN"] = f.vars["WITHY_TOKEN"]
	f.find()
	f.must("queue", "send")
	f.stands("", "", "T-1")
}

// The entries of one server are not those of another, and without a server all
// are listed.
func TestEachServerHasItsQueue(t *testing.T) {
	f := newFieldDay(t)
	f.way.is(closed)
	f.log(exitKept, 1, "T-1")
	f.log(exitKept, 1, "T-2", "--server", "http://127.0.0.1:1")
	f.way.is(open)
	f.must("queue", "send")
	f.stands("", "", "T-1")
	wantWords(t, f.must("queue", "show", "1", "--server", "http://127.0.0.1:1/"), "tag T-2")
	f.way.is(closed)
	f.log(exitKept, 1, "T-3")
	road := f.vars["WITHY_SERVER"]
	delete(f.vars, "WITHY_SERVER")
	wantWords(t, f.must("queue", "list"), "For http://127.0.0.1:1:", "For "+road+":")
	wantWords(t, f.must("queue", "show", "2"), "tag T-3")
	if code, _, stderr := f.run("queue", "send"); code != exitUsage || !strings.Contains(stderr, "--server") {
		t.Errorf("%d %s", code, stderr)
	}
	f.log(exitKept, 1, "T-4", "--server", "http://127.0.0.1:1")
	if code, _, stderr := f.run("queue", "show", "2"); code != exitUsage || !strings.Contains(stderr, "more than one server") {
		t.Errorf("%d %s", code, stderr)
	}
}

// Every kind of entry is kept and sent as it was meant.
func TestEveryKindOfEntry(t *testing.T) {
	f := newFieldDay(t)
	sheet := filepath.Join(t.TempDir(), "day.csv")
	if err := os.WriteFile(sheet, []byte("stand,collected_on,stems_cut,cuttings,collected_by\nMB-03,2026-01-16,2,30,RQ\nMB-03,2026-01-16,3,40,OP\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	f.way.is(closed)
	for _, args := range [][]string{
		{"batch", "log", "--file", sheet},
		{"batch", "move", "MB-03-2026-1", "--to", "soak", "--count", "30", "--on", "2026-01-16"},
		{"batch", "split", "MB-03-2026-1", "--arm", "count=10,medium=sand", "--on", "2026-01-17"},
		{"batch", "stick", "MB-03-2026-1", "--count", "20", "--on", "2026-01-17", "--by", "RQ"},
		{"check", "add", "MB-03-2026-1", "--rooted", "12", "--lost", "dried=1", "--on", "2026-01-19"},
		{"pot", "MB-03-2026-1", "--count", "10", "--on", "2026-01-19"},
		{"batch", "decide", "MB-03-2026-1", "--action", "keep", "--until", "2026-03-01", "--on", "2026-01-19"},
		{"batch", "close", "MB-03-2026-3", "--why", "sown over", "--on", "2026-01-19"},
	} {
		if code, out, stderr := f.run(args...); code != exitKept {
			t.Fatalf("%v: %d %s%s", args, code, out, stderr)
		}
	}
	f.way.is(open)
	out := f.must("queue", "send")
	wantWords(t, out, "1 is sent: day sheet of 2 rows: 5 stems, 70 cuttings. On the server it is MB-03-2026-1, MB-03-2026-2.",
		"3 is sent: MB-03-2026-1: split into 1 arm of 10 cuttings on 2026-01-17. On the server it is MB-03-2026-1, MB-03-2026-3.",
		"8 is sent: MB-03-2026-3: decision to close")
	wantWords(t, f.server.must("batch", "show", "MB-03-2026-1"), "30 put to soak", "20 stuck", "decided to keep it to 2026-03-01")

	f.way.is(closed)
	if err := os.WriteFile(sheet, []byte("stand,collected_on\xff"), 0o600); err != nil {
		t.Fatal(err)
	}
	if code, out, stderr := f.run("batch", "log", "--file", sheet); code != exitUsage || out != "" || !strings.Contains(stderr, "UTF-8") {
		t.Errorf("a sheet that nobody can read: %d %s%s", code, out, stderr)
	}
}

// Two processes that send at once send each entry once.
func TestTwoSendAtOnce(t *testing.T) {
	f := newFieldDay(t)
	f.way.is(closed)
	var tags []string
	for i := range 6 {
		tags = append(tags, fmt.Sprintf("T-%d", i))
		f.log(exitKept, 1, tags[i])
	}
	f.way.is(open)
	var both sync.WaitGroup
	for range 2 {
		both.Go(func() {
			if code, out, stderr := f.run("queue", "send"); code != exitDone {
				t.Errorf("%d %s%s", code, out, stderr)
			}
		})
	}
	both.Wait()
	f.stands("", "", strings.Join(tags, " "))
}

// Where the computer cannot keep it either, that is said, and it is not success.
func TestNowhereToKeep(t *testing.T) {
	for name, spoil := range map[string]func(*fieldDay) error{
		"a file where the folder has to be": func(f *fieldDay) error {
			return os.WriteFile(filepath.Join(f.home, "withybed"), nil, 0o600)
		},
		"a folder where a file has to be": func(f *fieldDay) error {
			q := queueIn(filepath.Join(f.home, "withybed", "queue"), addressOf(f.vars["WITHY_SERVER"]))
			return os.MkdirAll(filepath.Join(q.folder, "last"), 0o700)
		},
	} {
		f := newFieldDay(t)
		f.way.is(closed)
		if err := spoil(f); err != nil {
			t.Fatal(err)
		}
		code, out, stderr := f.run("batch", "log", "--stand", "MB-03", "--stems-cut", "1", "--cuttings", "3", "--collected-by", "RQ")
		if code != exitOther || out != "" || !strings.Contains(stderr, "nowhere: write it down") {
			t.Errorf("%s: %d %s%s", name, code, out, stderr)
		}
	}
}

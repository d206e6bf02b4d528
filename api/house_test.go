package api

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/pb33f/libopenapi"
	validator "github.com/pb33f/libopenapi-validator"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
)

// house is a running door on a nursery of its own. Whatever passes through it is
// held against the OpenAPI document.
type house struct {
	door
	client     *Client
	store      *store.Store
	operations []described
}

// A Saturday in the cutting season, in the morning of the nursery's place.
var storyTime = time.Date(2026, 1, 17, 17, 30, 0, 0, time.UTC)

// The secret of the one token that a house makes, and the chance in it.
const (
	storyChance = "bankside" + "abcdefghijklmnopqrstuvwxyz234567abcdefghijkl"
	storySecret = "withy-bankside-abcdefghijklmnopqrstuvwxyz234567abcdefghijkl"
)

func openHouse(t *testing.T, s *store.Store) house {
	t.Helper()
	log := &bytes.Buffer{}
	deps := testDeps(log)
	deps.Clock = models.FixedClock(storyTime)
	deps.BodyLimit = 16 << 10
	var ids, keys atomic.Int64
	n := nursery.New(s, deps.Clock, func() string { return fmt.Sprintf("n%04d", ids.Add(1)) },
		func() string { return storyChance })
	if _, err := n.Make(t.Context(), nursery.Seed{Name: "Wrenlow Valley", TimeZone: "America/Los_Angeles"}); err != nil {
		t.Fatal(err)
	}
	deps.Ready = n.Ready
	hc, closer := InProcess(New(deps, Mount(n)))
	t.Cleanup(func() {
		if err := closer.Close(); err != nil {
			t.Error(err)
		}
	})
	witness := newWitness(t, document(t, door{http: hc}), hc.Transport)
	hc.Transport = witness
	client := NewClient(InProcessBase, hc, func() string { return fmt.Sprint("key-", keys.Add(1)) })
	return house{door: door{http: hc, log: log}, client: client, store: s, operations: witness.operations}
}

// witness is a way to a server that holds every request it accepts, and every
// answer, against its OpenAPI document.
type witness struct {
	t          *testing.T
	next       http.RoundTripper
	document   validator.Validator
	operations []described
}

func newWitness(t *testing.T, text []byte, next http.RoundTripper) *witness {
	t.Helper()
	return &witness{t: t, next: next, document: validatorOf(t, string(text)), operations: operationsOf(t, text)}
}

// validators are those made, by their document: making one takes longer than most tests.
var validators = struct {
	sync.Mutex
	made map[string]validator.Validator
}{made: map[string]validator.Validator{}}

func validatorOf(t *testing.T, text string) validator.Validator {
	t.Helper()
	validators.Lock()
	defer validators.Unlock()
	if v, ok := validators.made[text]; ok {
		return v
	}
	doc, err := libopenapi.NewDocument([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	v, errs := validator.NewValidator(doc)
	if len(errs) > 0 {
		t.Fatal(errs)
	}
	validators.made[text] = v
	return v
}

func (w *witness) RoundTrip(r *http.Request) (*http.Response, error) {
	sent, err := drain(&r.Body)
	if err != nil {
		return nil, err
	}
	answer, err := w.next.RoundTrip(r)
	if err != nil {
		return nil, err
	}
	body, err := drain(&answer.Body)
	if err != nil {
		return nil, err
	}
	if slices.ContainsFunc(w.operations, func(op described) bool { return op.is(r.Method, r.URL.EscapedPath()) }) {
		w.hold(r, sent, answer, body)
	}
	return answer, nil
}

// drain reads a body whole, and puts it back to be read again.
func drain(body *io.ReadCloser) ([]byte, error) {
	if *body == nil {
		return nil, nil
	}
	text, err := io.ReadAll(*body)
	*body = io.NopCloser(bytes.NewReader(text))
	return text, err
}

func (w *witness) hold(r *http.Request, sent []byte, answer *http.Response, body []byte) {
	said, heard := r.Clone(r.Context()), *answer
	said.Body, heard.Body = io.NopCloser(bytes.NewReader(sent)), io.NopCloser(bytes.NewReader(body))
	if ok, faults := w.document.ValidateHttpResponse(said, &heard); !ok {
		w.t.Errorf("%s %s: the answer is not as the document says: %v\n%s", r.Method, r.URL, faults, body)
	}
	if answer.StatusCode >= 300 {
		return
	}
	said.Body = io.NopCloser(bytes.NewReader(sent))
	if ok, faults := w.document.ValidateHttpRequestSync(said); !ok {
		w.t.Errorf("%s %s was accepted, and is not as the document says: %v\n%s", r.Method, r.URL, faults, sent)
	}
}

// tables are all that a request can write to.
var tables = []string{"nursery", "taxa", "stands", "harvest_rules", "closure_versions", "surveys", "disturbances", "batches", "ledger",
	"stickings", "moves", "splits", "checks", "pottings", "decisions", "reviews", "flag_spans", "reminders", "job_runs", "idempotency_keys",
	"tokens", "people", "changes", "outbox", "others_cuts", "rests", "salvages", "nest_checks", "place_closures", "tool_cleanings", "crew_shares", "corrections", "determinations"}

// holds is how many rows stand in each table and how often records were edited,
// so that a test can see that nothing was changed.
func (h house) holds(t *testing.T) string {
	t.Helper()
	var text strings.Builder
	for _, table := range tables {
		sum := "0"
		switch table {
		case "nursery", "taxa", "stands", "batches":
			sum = "COALESCE(SUM(version), 0)"
		}
		var rows, versions int
		if err := h.store.SQL().QueryRowContext(t.Context(), "SELECT COUNT(*), "+sum+" FROM "+table).Scan(&rows, &versions); err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&text, "%s: %d rows, %d versions\n", table, rows, versions)
	}
	return text.String()
}

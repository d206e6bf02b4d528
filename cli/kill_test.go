package cli_test

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"withybed/api"
	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store/storetest"
)

// server is a withy serve in a process of its own.
type server struct {
	cmd    *exec.Cmd
	client *api.Client
	pool   *http.Transport
}

// buildWithy builds the program as it is installed.
func buildWithy(t *testing.T) string {
	t.Helper()
	program := filepath.Join(t.TempDir(), "withy")
	if out, err := exec.Command("go", "build", "-o", program, "./withy").CombinedOutput(); err != nil {
		t.Fatalf("build withy: %v\n%s", err, out)
	}
	return program
}

// start runs a server on a database, with settings of its own besides, and waits
// until it says where it is.
func start(t *testing.T, program, database string, settings ...string) *server {
	t.Helper()
	cmd := exec.Command(program, "serve", "--listen", "127.0.0.1:0", "--migrate")
	cmd.Env = append(os.Environ(), "WITHY_DATABASE_URL="+database, "WITHY_SERVER=", "WITHY_TOKEN=", "WITHY_LOG=error")
	cmd.Env = append(cmd.Env, settings...)
	var stderr strings.Builder
	cmd.Stderr = &stderr
	out, err := cmd.StdoutPipe()
	if err == nil {
		err = cmd.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = cmd.Process.Kill() }) // dead already, unless the test failed
	line, err := bufio.NewReader(out).ReadString('\n')
	_, rest, found := strings.Cut(line, "http://")
	if err != nil || !found {
		_ = cmd.Process.Kill()
		t.Fatalf("withy serve said %q (%v, %v): %s", line, err, cmd.Wait(), stderr.String())
	}
	address, _, _ := strings.Cut(rest, ". ")
	pool := &http.Transport{}
	return &server{cmd, api.NewClient("http://"+address, &http.Client{Transport: pool, Timeout: time.Minute}, newKey), pool}
}

var keys struct {
	sync.Mutex
	made int
}

func newKey() string {
	keys.Lock()
	defer keys.Unlock()
	keys.made++
	return fmt.Sprintf("set-up-%06d", keys.made)
}

// kill ends the server as a power cut would: it is told nothing.
func (s *server) kill(t *testing.T) {
	t.Helper()
	if err := s.cmd.Process.Kill(); err != nil {
		t.Error(err)
	}
	_ = s.cmd.Wait() // killed, as was asked for
	s.pool.CloseIdleConnections()
}

// stop asks the server to end, and waits until it has.
func (s *server) stop(t *testing.T) {
	t.Helper()
	s.pool.CloseIdleConnections()
	if err := s.cmd.Process.Signal(os.Interrupt); err != nil {
		t.Error(err)
	}
	if err := s.cmd.Wait(); err != nil {
		t.Error(err)
	}
}

// sent is a request under its key, and the batch it was told of, if it was.
type sent struct {
	key  string
	req  models.NewBatch
	code string
}

const (
	killRounds = 4
	cutters    = 6
	killStands = 3
)

// A server that is killed in the middle of its work has each batch whole or not
// at all: what it answered is there, what is sent again under its key is one
// batch, and the ledger agrees with the batches.
func TestAKilledServerKeepsItsWord(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program and kills it several times")
	}
	program := buildWithy(t)
	for _, dialect := range storetest.Dialects {
		t.Run(dialect, func(t *testing.T) {
			database := storetest.New(t, dialect)
			first := start(t, program, database)
			today := prepare(t, first.client)
			first.kill(t)

			var all []*sent
			for round := range killRounds {
				all = append(all, streamAndKill(t, start(t, program, database), round, today)...)
				again := start(t, program, database)
				replay(t, again.client, all)
				agree(t, again.client, all)
				again.kill(t)
			}
			t.Logf("%d requests in %d rounds, of which %d were cut off", len(all), killRounds, killRounds*cutters)
		})
	}
}

// prepare makes the stands, each counted ten days ago.
func prepare(t *testing.T, c *api.Client) models.Date {
	t.Helper()
	ctx := t.Context()
	seen, err := c.Nursery(ctx)
	if err == nil {
		_, err = c.AddTaxon(ctx, models.NewTaxon{ScientificName: "Cornus sericea"})
	}
	for i := range killStands {
		if err == nil {
			_, err = c.AddStand(ctx, models.NewStand{Code: standCode(i), Name: "Wrenlow Bend", Taxon: "Cornus sericea"})
		}
		if err == nil {
			stems := 1_000_000
			_, err = c.AddSurvey(ctx, standCode(i), models.NewSurvey{SurveyedOn: seen.Today.Add(-10), Method: models.Census, Stems: &stems})
		}
	}
	if err != nil {
		t.Fatal(err)
	}
	return seen.Today
}

func standCode(i int) string { return fmt.Sprintf("TB-%02d", i+1) }

// streamAndKill lets several cutters log batches until the server is killed under
// them, after some number of answers. The last request of each cutter is cut off.
func streamAndKill(t *testing.T, s *server, round int, today models.Date) []*sent {
	t.Helper()
	answers := make(chan struct{})
	lists := make([][]*sent, cutters)
	var working sync.WaitGroup
	for i := range cutters {
		working.Go(func() { lists[i] = cutUntilKilled(s.client, round, i, today, answers) })
	}
	ended := make(chan struct{})
	go func() {
		working.Wait()
		close(ended)
	}()
	for range 15 + rand.IntN(30) {
		select {
		case <-answers:
		case <-ended:
			t.Fatal("every cutter gave up before the server was killed")
		}
	}
	s.kill(t)
	for {
		select {
		case <-answers:
		case <-ended:
			var all []*sent
			for _, list := range lists {
				all = append(all, list...)
			}
			return all
		}
	}
}

func cutUntilKilled(c *api.Client, round, cutter int, today models.Date, answers chan<- struct{}) []*sent {
	var list []*sent
	for n := 0; ; n++ {
		key := fmt.Sprintf("r%d-c%d-n%d", round, cutter, n)
		stems := 1 + rand.IntN(5)
		s := &sent{key: key, req: models.NewBatch{
			Stand: standCode(rand.IntN(killStands)), CollectedOn: today.Add(-rand.IntN(3)), StemsCut: stems, Cuttings: 3 * stems,
			CollectedBy: fmt.Sprintf("cutter %d", cutter), Details: models.Details{RecordNumber: key},
		}}
		list = append(list, s)
		view, err := c.WithKey(key).LogBatch(context.Background(), s.req)
		if err != nil {
			return list
		}
		s.code = view.Code
		answers <- struct{}{}
	}
}

// replay sends every request again under its key. Those that were answered must
// be answered with the same batch.
func replay(t *testing.T, c *api.Client, all []*sent) {
	t.Helper()
	for _, s := range all {
		view, err := c.WithKey(s.key).LogBatch(t.Context(), s.req)
		if err != nil {
			t.Errorf("%s sent again: %v", s.key, err)
			continue
		}
		if s.code != "" && view.Code != s.code || view.StemsCut != s.req.StemsCut || view.RecordNumber != s.key {
			t.Errorf("%s was batch %s with %d stems, and sent again it is %s with %d", s.key, s.code, s.req.StemsCut, view.Code, view.StemsCut)
		}
		s.code = view.Code
	}
}

// agree wants one batch for each request, and the ledgers to sum to their stems.
func agree(t *testing.T, c *api.Client, all []*sent) {
	t.Helper()
	want, stems := map[string]*sent{}, map[string]int{}
	for _, s := range all {
		want[s.code] = s
		stems[s.req.Stand] += s.req.StemsCut
	}
	found := 0
	for b, err := range c.Batches(t.Context(), nursery.BatchQuery{Page: models.Page{Limit: models.MaxPage}}) {
		if err != nil {
			t.Fatal(err)
		}
		found++
		if s := want[b.Code]; s == nil || s.req.StemsCut != b.StemsCut || s.req.Stand != b.Stand {
			t.Errorf("batch %s with %d stems of %s was never asked for", b.Code, b.StemsCut, b.Stand)
		}
	}
	if found != len(all) || len(want) != len(all) {
		t.Errorf("%d requests have %d codes, and there are %d batches", len(all), len(want), found)
	}
	for stand, n := range stems {
		sum := 0
		for line, err := range c.Ledger(t.Context(), stand, models.Date{}) {
			if err != nil {
				t.Fatal(err)
			}
			sum += line.Stems
		}
		if sum != n {
			t.Errorf("%d stems of %s are on the ledger, and the batches have %d", sum, stand, n)
		}
	}
}

package cli_test

import (
	"bufio"
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

const (
	killRounds = 4
	cutters    = 6
	killStands = 3
)

// A server that is killed in the middle of its work has each record whole or not at
// all: what it answered is there, what is sent again under its key is one record with
// the same answer, and the ledgers agree with what is on them.
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

			var books []*book
			writes := 0
			for round := range killRounds {
				books = append(books, streamAndKill(t, start(t, program, database), round, today)...)
				again := start(t, program, database)
				writes = replay(t, again.client, books)
				agree(t, again.client, books)
				again.kill(t)
			}
			t.Logf("%d writes in %d rounds, of which %d were cut off", writes, killRounds, killRounds*cutters)
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
	if err == nil {
		_, err = c.AddPermit(ctx, everyStandPermit(seen.Today))
	}
	if err != nil {
		t.Fatal(err)
	}
	return seen.Today
}

func standCode(i int) string { return fmt.Sprintf("TB-%02d", i+1) }

// streamAndKill lets several cutters write until the server is killed under them,
// after some number of answers. The last request of each cutter is cut off.
func streamAndKill(t *testing.T, s *server, round int, today models.Date) []*book {
	t.Helper()
	answers := make(chan struct{})
	books := make([]*book, cutters)
	var working sync.WaitGroup
	for i := range books {
		books[i] = newBook(fmt.Sprintf("r%d-c%d", round, i), today)
		working.Go(func() { books[i].writeUntilKilled(s.client, answers) })
	}
	ended := make(chan struct{})
	go func() {
		working.Wait()
		close(ended)
	}()
	for range 60 + rand.IntN(60) {
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
			return books
		}
	}
}

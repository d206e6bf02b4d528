package cli

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// bench is a command line with a database and a fixed morning of its own.
type bench struct {
	t    *testing.T
	vars map[string]string
	now  time.Time
	ids  atomic.Int64
}

func newBench(t *testing.T, url string) *bench {
	return &bench{
		t: t, now: time.Date(2026, 1, 19, 17, 0, 0, 0, time.UTC),
		vars: map[string]string{"WITHY_DATABASE_URL": url, "WITHY_TIME_ZONE": "America/Los_Angeles", "WITHY_LOG": "error"},
	}
}

func (b *bench) env(stdin io.Reader, stdout, stderr io.Writer, args ...string) Env {
	return Env{
		Args: args, Stdin: stdin, Stdout: stdout, Stderr: stderr, Vars: b.vars,
		Clock:     models.FixedClock(b.now),
		NewID:     func() string { return fmt.Sprintf("00000000-0000-7000-8000-%012d", b.ids.Add(1)) },
		NewSecret: func() string { return fmt.Sprintf("%08d%044d", b.ids.Add(1), b.ids.Add(1)) },
	}
}

// run runs a command and gives what it said.
func (b *bench) run(args ...string) (code int, stdout, stderr string) {
	b.t.Helper()
	var out, errs bytes.Buffer
	code = Run(b.t.Context(), b.env(strings.NewReader(""), &out, &errs, args...))
	return code, out.String(), errs.String()
}

// must runs a command that has to do its work.
func (b *bench) must(args ...string) string {
	b.t.Helper()
	code, stdout, stderr := b.run(args...)
	if code != 0 {
		b.t.Fatalf("withy %s ended with %d: %s", strings.Join(args, " "), code, stderr)
	}
	return stdout
}

func here(t *testing.T) string { return "sqlite:" + filepath.Join(t.TempDir(), "withy.db") }

// A database that others may share is migrated only by someone who says so.
func TestSharedDatabaseWaitsForItsMigration(t *testing.T) {
	b := newBench(t, storetest.Empty(t, store.Postgres))
	code, _, stderr := b.run("stand", "list")
	if code != exitOther || !strings.Contains(stderr, "withy migrate up") {
		t.Fatalf("%d %s", code, stderr)
	}
	if out := b.must("migrate", "status"); !strings.Contains(out, "pending") {
		t.Error(out)
	}
	b.must("migrate", "up")
	if out := b.must("migrate", "up"); !strings.Contains(out, "nothing was pending") {
		t.Error(out)
	}
	if out := b.must("stand", "list"); !strings.Contains(out, "no stands") {
		t.Error(out)
	}
}

// What is printed is the same on both databases.
func TestSameWordsOnBothDatabases(t *testing.T) {
	commands := [][]string{
		{"taxon", "add", "Cornus sericea"},
		{"stand", "add", "MB-03", "--name", "Mallow Bend", "--taxon", "Cornus sericea"},
		{"survey", "add", "MB-03", "--on", "2025-09-12", "--method", "census", "--stems", "900"},
		{"batch", "log", "--stand", "MB-03", "--on", "2026-01-02", "--stems", "20", "--cuttings", "60", "--by", "RQ", "--stuck-on", "2026-01-02", "--bench", "B2"},
		{"check", "add", "MB-03-2026-1", "--rooted", "12", "--lost", "mould=2"},
		{"batch", "show", "MB-03-2026-1"},
		{"batch", "list", "--json"},
		{"stand", "allowance", "MB-03", "--stems", "40"},
		{"due", "--on", "2026-03-01"},
		{"rooting"},
		{"remind", "run"},
	}
	said := map[string]string{}
	for _, dialect := range storetest.Dialects {
		t.Run(dialect, func(t *testing.T) {
			b := newBench(t, storetest.New(t, dialect))
			for _, command := range commands {
				said[dialect] += b.must(command...)
			}
		})
	}
	if said[store.Postgres] != "" && said[store.Postgres] != said[store.SQLite] {
		t.Errorf("PostgreSQL:\n%s\nSQLite:\n%s", said[store.Postgres], said[store.SQLite])
	}
}

// A batch that another process keeps the file from taking is told as such.
func TestLockedDatabase(t *testing.T) {
	if testing.Short() {
		t.Skip("waits as long as a person would")
	}
	t.Parallel()
	url := here(t)
	b := newBench(t, url)
	b.must("taxon", "add", "Cornus sericea")
	db, err := sql.Open("sqlite", strings.TrimPrefix(url, "sqlite:"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	if _, err := db.Exec("BEGIN IMMEDIATE"); err != nil {
		t.Fatal(err)
	}
	code, _, stderr := b.run("taxon", "add", "Populus trichocarpa")
	if code != exitOther || !strings.Contains(stderr, "busy with other writes: try again") {
		t.Errorf("%d %s", code, stderr)
	}
	if _, err := db.Exec("ROLLBACK"); err != nil {
		t.Fatal(err)
	}
	if out := b.must("taxon", "list"); strings.Contains(out, "Populus") {
		t.Error(out)
	}
}

// broken is an output that takes nothing.
type broken struct{ err error }

func (b broken) Write([]byte) (int, error) { return 0, b.err }

func TestOutputThatIsGone(t *testing.T) {
	b := newBench(t, here(t))
	for _, c := range []struct {
		err  error
		code int
		said string
	}{
		{syscall.EPIPE, exitDone, ""},
		{io.ErrClosedPipe, exitDone, ""},
		{syscall.ENOSPC, exitOther, "withy: no space left on device\n"},
	} {
		b.must("nursery", "show")
		var stderr bytes.Buffer
		code := Run(t.Context(), b.env(nil, broken{c.err}, &stderr, "nursery", "show"))
		if code != c.code || stderr.String() != c.said {
			t.Errorf("%v: %d %q", c.err, code, stderr.String())
		}
	}
}

// A person who gives up while standard input is waited for is not kept.
func TestGivingUp(t *testing.T) {
	b := newBench(t, here(t))
	b.must("nursery", "show")
	ctx, cancel := context.WithCancel(t.Context())
	stdin, typing := io.Pipe()
	defer typing.Close()
	go func() {
		_, _ = typing.Write([]byte("stand,")) // returns once it is read
		cancel()
	}()
	var stderr bytes.Buffer
	code := Run(ctx, b.env(stdin, io.Discard, &stderr, "batch", "log", "-"))
	if code != exitInterrupted || stderr.Len() > 0 {
		t.Errorf("%d %q", code, stderr.String())
	}
}

// panics is an input that fails in a way nobody thought of.
type panics struct{}

func (panics) Now() time.Time { panic("no clock") }

func TestNeverAStack(t *testing.T) {
	b := newBench(t, here(t))
	var stderr bytes.Buffer
	e := b.env(nil, io.Discard, &stderr, "nursery", "show")
	e.Clock = panics{}.Now
	if code := Run(t.Context(), e); code != exitOther {
		t.Error(code)
	}
	if said := stderr.String(); said != "withy: "+ourFault+"\n" {
		t.Errorf("%q", said)
	}
	stderr.Reset()
	b.vars["WITHY_LOG"] = "debug"
	if code := Run(t.Context(), e); code != exitOther {
		t.Error(code)
	}
	if said := stderr.String(); !strings.Contains(said, ourFault+"\n") || !strings.Contains(said, "no clock") || !strings.Contains(said, ".go:") {
		t.Errorf("with the log on it says %q", said)
	}
}

func TestExitCodes(t *testing.T) {
	kinds := map[models.Kind]int{
		models.Malformed: 2, models.Invalid: 2, models.NotFound: 3, models.Unknown: 3, models.Refused: 4,
		models.Conflict: 5, models.Stale: 5, models.Unguarded: 5, models.Forbidden: 1, models.Unavailable: 1, models.Internal: 1,
	}
	for kind, want := range kinds {
		err := fmt.Errorf("log the batch: %w", models.Errorf(kind, "any", "no"))
		if got := exitCode(err); got != want {
			t.Errorf("%s gives %d, not %d", kind, got, want)
		}
	}
	if exitCode(errors.New("any")) != 1 || exitCode(usagef("any")) != 2 {
		t.Error("errors of no kind")
	}
}

func TestSentences(t *testing.T) {
	one := models.InvalidField("in-the-future", "on", nil, "is 2027-01-01, and today is 2026-01-19")
	two := &models.Error{Kind: models.Invalid, Detail: "that cannot be recorded", Fields: []models.Field{
		{Name: "stems_cut", Detail: "is 0, and must be\n1 or more"}, {Name: "stand", Detail: "is missing"},
	}}
	setting := &models.Error{Detail: "no such setting", Fields: []models.Field{{Name: "a", Detail: "is none"}, {Name: "b", Detail: "is none"}}, Suggestions: []string{"aa"}}
	for _, c := range []struct {
		err  error
		want string
	}{
		{errors.New("plain"), "plain"},
		{one, "that cannot be recorded: on is 2027-01-01, and today is 2026-01-19"},
		{two, "that cannot be recorded:\n  stems_cut is 0, and must be 1 or more\n  stand is missing"},
		{&models.Error{Detail: "there is no stand", Suggestions: []string{"MB-03", "MB-04"}}, "there is no stand: did you mean MB-03 or MB-04?"},
		{setting, "no such setting:\n  a is none\n  b is none\n  did you mean aa?"},
	} {
		if got := sentence(c.err); got != c.want {
			t.Errorf("%q, not %q", got, c.want)
		}
	}
}

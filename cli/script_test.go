package cli_test

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"withybed/cli"
	"withybed/models"
)

// The test binary stands in for withy, with a clock and a terminal that scripts
// can set.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"withy": func() { os.Exit(cli.Run(context.Background(), testEnv())) }})
}

func testEnv() cli.Env {
	e := cli.System()
	if now, err := time.Parse(time.RFC3339, e.Vars["TEST_NOW"]); err == nil {
		e.Clock = models.FixedClock(now)
	}
	e.Width, _ = strconv.Atoi(e.Vars["TEST_COLUMNS"]) // no terminal where it is not set
	return e
}

func TestScripts(t *testing.T) {
	path := os.Getenv("PATH")
	if watched {
		path = unwatched(t) + string(filepath.ListSeparator) + path
	}
	testscript.Run(t, testscript.Params{
		Dir:   filepath.Join("..", "testdata", "script"),
		Setup: func(e *testscript.Env) error { return setUp(e, path) },
		Cmds:  map[string]func(*testscript.TestScript, bool, []string){"exits": exits, "token": showToken},
	})
}

// unwatched is a folder with the test binary as withy, not watched for races: a script
// runs one command after another, each a process that takes four times as long watched.
func unwatched(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	if out, err := exec.Command("go", "test", "-c", "-o", filepath.Join(dir, "withy"), ".").CombinedOutput(); err != nil {
		t.Fatalf("build the test binary: %v\n%s", err, out)
	}
	return dir
}

// setUp gives a script a home of its own, a Monday morning in the cutting season
// and a valley to be in.
func setUp(e *testscript.Env, path string) error {
	e.Setenv("PATH", path)
	home := filepath.Join(e.WorkDir, "home")
	e.Setenv("HOME", home)
	e.Setenv("LOCALAPPDATA", home)
	e.Setenv("TEST_NOW", "2026-01-19T17:00:00Z")
	e.Setenv("WITHY_TIME_ZONE", "America/Los_Angeles")
	return os.MkdirAll(home, 0o700)
}

// exits runs a command that must end with a code: exits 4 withy batch log …
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits code command…")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	var ended *exec.ExitError
	if err := ts.Exec(args[1], args[2:]...); errors.As(err, &ended) {
		got = ended.ExitCode()
	} else {
		ts.Check(err)
	}
	if got != want {
		ts.Fatalf("ended with %d, not %d", got, want)
	}
}

// showToken lets the commands that follow show the token in a file.
func showToken(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: token file")
	}
	ts.Setenv("WITHY_TOKEN", strings.TrimSpace(ts.ReadFile(args[0])))
}

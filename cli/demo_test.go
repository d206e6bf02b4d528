package cli

import (
	"bufio"
	"bytes"
	"context"
	"flag"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"charm.land/lipgloss/v2"
	"github.com/google/go-cmp/cmp"

	"withybed/models"
)

var update = flag.Bool("update", false, "write the golden files anew")

// anyEnv is an Env of some other day, place and terminal, with settings that the
// demo is to leave alone.
func anyEnv(stdout, stderr io.Writer, args ...string) Env {
	return Env{
		Args: args, Stdin: strings.NewReader(""), Stdout: stdout, Stderr: stderr,
		Vars: map[string]string{
			"WITHY_DATABASE_URL": "postgres://nobody@192.0.2.1/nothing", "WITHY_SERVER": "http://192.0.2.1:1", "WITHY_TIME_ZONE": "Asia/Tokyo",
		},
		Clock: models.FixedClock(time.Date(2031, 7, 3, 22, 15, 0, 0, time.UTC)),
		NewID: func() string { panic("the demo counts its own identifiers") },
	}
}

// tempFolder is where temporary files go during a test; at its end there are none.
func tempFolder(t *testing.T) {
	t.Helper()
	folder := t.TempDir()
	t.Setenv("TMPDIR", folder)
	t.Setenv("TMP", folder)
	t.Cleanup(func() {
		left, err := os.ReadDir(folder)
		if err != nil || len(left) > 0 {
			t.Errorf("left behind: %v %v", left, err)
		}
	})
}

func TestDemo(t *testing.T) {
	tempFolder(t)
	var told, said bytes.Buffer
	if code := Run(t.Context(), anyEnv(&told, &said, "demo")); code != exitDone || said.Len() > 0 {
		t.Fatalf("exit code %d, and on stderr %q", code, &said)
	}
	golden := filepath.Join("..", "testdata", "demo.golden")
	if *update {
		if err := os.WriteFile(golden, told.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), told.String()); diff != "" {
		t.Errorf("the demo tells another story (-want +got):\n%s", diff)
	}
	tellsNoPlace(t, told.String())
	for _, line := range strings.Split(told.String(), "\n") {
		if lipgloss.Width(line) > demoWidth {
			t.Errorf("wider than %d: %q", demoWidth, line)
		}
	}
}

// On a terminal a line of progress is shown and taken away; the story is the same.
func TestDemoOnATerminal(t *testing.T) {
	tempFolder(t)
	var told, said bytes.Buffer
	e := anyEnv(&told, &said, "demo")
	e.Width = 132
	if code := Run(t.Context(), e); code != exitDone {
		t.Fatalf("exit code %d: %s", code, &said)
	}
	want, err := os.ReadFile(filepath.Join("..", "testdata", "demo.golden"))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), told.String()); diff != "" {
		t.Errorf("the story differs (-want +got):\n%s", diff)
	}
	if text := said.String(); !strings.Contains(text, "\rLoading") || !strings.HasSuffix(text, "\r\x1b[K") {
		t.Errorf("progress %q", text)
	}
}

// whenWritten does something at every write.
type whenWritten func()

func (w whenWritten) Write(text []byte) (int, error) {
	w()
	return len(text), nil
}

func TestDemoInterruptedLeavesNothing(t *testing.T) {
	for name, args := range map[string][]string{"loading": {"demo"}, "loading for a server": {"demo", "--serve"}} {
		t.Run(name, func(t *testing.T) {
			tempFolder(t)
			ctx, interrupt := context.WithCancel(t.Context())
			var told bytes.Buffer
			e := anyEnv(&told, whenWritten(interrupt), args...)
			e.Width = 80
			if code := Run(ctx, e); code != exitInterrupted || told.Len() > 0 {
				t.Errorf("exit code %d, told %q", code, &told)
			}
		})
	}
	t.Run("telling", func(t *testing.T) {
		tempFolder(t)
		ctx, interrupt := context.WithCancel(t.Context())
		if code := Run(ctx, anyEnv(whenWritten(interrupt), io.Discard, "demo")); code != exitInterrupted {
			t.Errorf("exit code %d", code)
		}
	})
}

func TestDemoServes(t *testing.T) {
	tempFolder(t)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	read, write := io.Pipe()
	ended := make(chan int, 1)
	go func() {
		ended <- Run(ctx, anyEnv(write, io.Discard, "demo", "--serve", "--listen", "127.0.0.1:0"))
		_ = write.Close()
	}()
	address, words := "", ""
	for lines := bufio.NewScanner(read); address == "" && lines.Scan(); {
		words += lines.Text() + "\n"
		if _, after, found := strings.Cut(lines.Text(), "Withybed is at "); found {
			address, _, _ = strings.Cut(after, ". ")
		}
	}
	go func() { _, _ = io.Copy(io.Discard, read) }()
	answer, err := http.Get(address + "/v1/due")
	if err != nil {
		t.Fatalf("%v, after\n%s", err, words)
	}
	body, err := io.ReadAll(answer.Body)
	_ = answer.Body.Close()
	if err != nil || !strings.Contains(string(body), `"on":"`+demoDay+`"`) {
		t.Errorf("%s %v", body, err)
	}
	if !strings.Contains(words, demoDay) {
		t.Errorf("the day is not stated in\n%s", words)
	}
	stop()
	if code := <-ended; code != exitDone {
		t.Errorf("exit code %d", code)
	}
}

func TestDemoRefusesWhatDoesNotGoWithIt(t *testing.T) {
	tempFolder(t)
	for _, args := range [][]string{
		{"demo", "--json"}, {"demo", "--server", "http://127.0.0.1:1"}, {"demo", "--listen", "127.0.0.1:0"}, {"demo", "twice"},
		{"demo", "--serve", "--listen", "nowhere"},
	} {
		var said bytes.Buffer
		if code := Run(t.Context(), anyEnv(io.Discard, &said, args...)); code != exitUsage || said.Len() == 0 {
			t.Errorf("%v: exit code %d, %q", args, code, &said)
		}
	}
}

func TestTyped(t *testing.T) {
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"due"}, "$ withy due"},
		{[]string{"check", "add", "--lost", "rotted base=1", "--note", "it's wet"}, `$ withy check add --lost 'rotted base=1' --note 'it'\''s wet'`},
		{[]string{strings.Repeat("a", 40), strings.Repeat("b", 40)}, "$ withy " + strings.Repeat("a", 40) + " \\\n    " + strings.Repeat("b", 40)},
	} {
		if got := typed(c.args); got != c.want {
			t.Errorf("%v is typed\n%s\nnot\n%s", c.args, got, c.want)
		}
	}
}

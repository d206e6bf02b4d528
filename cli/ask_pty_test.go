//go:build !windows

package cli

import (
	"bytes"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/ansi"
	"github.com/creack/pty"
)

// screen is a pseudo terminal on which a command runs, as a person sees it.
type screen struct {
	t     *testing.T
	ours  *os.File
	shown chan []byte
	text  string // all that was shown and not yet looked for
	code  chan int
	errs  *bytes.Buffer
}

// seated runs a command at a terminal of its own.
func (b *bench) seated(args ...string) *screen {
	b.t.Helper()
	ours, theirs, err := pty.Open()
	if err != nil {
		b.t.Skipf("there is no pseudo terminal here: %v", err)
	}
	if err := pty.Setsize(ours, &pty.Winsize{Rows: 40, Cols: 100}); err != nil {
		b.t.Fatal(err)
	}
	s := &screen{t: b.t, ours: ours, shown: make(chan []byte, 1024), code: make(chan int, 1), errs: &bytes.Buffer{}}
	go s.watch()
	e := b.env(theirs, theirs, s.errs, args...)
	e.Terminal, e.Width = true, 100
	go func() {
		s.code <- Run(b.t.Context(), e)
	}()
	b.t.Cleanup(func() { _, _ = theirs.Close(), ours.Close() })
	return s
}

func (s *screen) watch() {
	for {
		part := make([]byte, 4096)
		n, err := s.ours.Read(part)
		if err != nil {
			close(s.shown)
			return
		}
		s.shown <- part[:n]
	}
}

// see waits until a text is shown.
func (s *screen) see(text string) *screen {
	s.t.Helper()
	late := time.After(20 * time.Second)
	for !strings.Contains(ansi.Strip(s.text), text) {
		select {
		case part, open := <-s.shown:
			if !open {
				s.t.Fatalf("the terminal closed without showing %q: %q", text, ansi.Strip(s.text))
			}
			s.text += string(part)
		case <-late:
			s.t.Fatalf("%q is not shown: %q", text, ansi.Strip(s.text))
		}
	}
	_, after, _ := strings.Cut(ansi.Strip(s.text), text)
	s.text = after
	return s
}

func (s *screen) press(keys string) *screen {
	s.t.Helper()
	if _, err := s.ours.WriteString(keys); err != nil {
		s.t.Fatal(err)
	}
	return s
}

func (s *screen) ends(want int) {
	s.t.Helper()
	select {
	case code := <-s.code:
		if code != want {
			s.t.Errorf("ended with %d, not %d: %s", code, want, s.errs)
		}
	case <-time.After(20 * time.Second):
		s.t.Fatal("it does not end")
	}
}

const enter, ctrlC = "\r", "\x03"

func TestBatchLogAsksOnAScreen(t *testing.T) {
	b := atTerminal(t)
	delete(b.vars, "WITHY_ACCESSIBLE")
	s := b.seated("batch", "log")
	s.see("Stands: MB-03").see("Stand").press("MB-03" + enter)
	s.see("Day of the cut").press("2026-01-17" + enter)
	s.see("Stems cut").see("Collected by").press("12" + enter)
	s.see("┃ Cuttings").press("36" + enter)
	s.see("┃ Parent plants").press("6" + enter)
	s.see("┃ Collected by").press("RQ" + enter)
	s.see("┃ Tag on the bundle").press(enter)
	s.see("To be logged: 12 stems cut at MB-03 on 2026-01-17 by RQ from 6 plants").see("Log it?").press("y")
	s.see("Batch MB-03-2026-1 is logged").ends(exitDone)
}

func TestCtrlCOnAScreen(t *testing.T) {
	b := atTerminal(t)
	delete(b.vars, "WITHY_ACCESSIBLE")
	s := b.seated("batch", "log", "--stand", "MB-03", "--stems-cut", "24")
	s.see("Day of the cut").press(enter)
	s.see("Collected by").press("72" + ctrlC).ends(exitInterrupted)
	if s.errs.String() != "note: nothing was recorded\n" {
		t.Errorf("%q", s.errs)
	}
	if out := b.must("batch", "list"); strings.Contains(out, "MB-03-2026") {
		t.Error(out)
	}
}

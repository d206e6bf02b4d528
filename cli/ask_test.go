package cli

import (
	"bytes"
	"context"
	"io"
	"strings"
	"testing"

	"withybed/models"
)

// atTerminal is a bench with two stands, of which MB-03 has its plants counted,
// whose person is asked line by line.
func atTerminal(t *testing.T) *bench {
	b := newBench(t, here(t))
	b.vars["WITHY_ACCESSIBLE"] = "1"
	b.must("taxon", "add", "Cornus sericea")
	for code, count := range map[string][]string{"MB-03": {"--plants", "40"}, "OX-07": nil} {
		b.must("stand", "add", code, "--name", "Mallow Bend", "--taxon", "Cornus sericea")
		b.must(append([]string{"survey", "add", code, "--on", "2025-09-12", "--method", "census", "--stems", "900"}, count...)...)
	}
	return b
}

// answering runs a command at a terminal where a person types.
func (b *bench) answering(typed string, args ...string) (code int, stdout, stderr string) {
	b.t.Helper()
	var out, errs bytes.Buffer
	e := b.env(strings.NewReader(typed), &out, &errs, args...)
	e.Terminal = true
	return Run(b.t.Context(), e), out.String(), errs.String()
}

func TestBatchLogAsksForWhatIsMissing(t *testing.T) {
	b := atTerminal(t)
	code, stdout, stderr := b.answering("MB-03\nyesterday\n12\n36\n6\nRQ\nT-017\ny\n", "batch", "log", "--kind", "hardwood")
	if code != exitDone {
		t.Fatalf("%d %s %s", code, stdout, stderr)
	}
	for _, said := range []string{
		"Stands: MB-03 (Mallow Bend), OX-07 (Mallow Bend).", "Day of the cut (as 2026-01-17, or yesterday; Enter for today):", "Stems cut (taken off the stand):",
		"Cuttings", "Parent plants (plants or clumps cut from; the survey counted them, so it is needed):", "Collected by", "Tag on the bundle (the number written on it; Enter leaves it out):",
		"To be logged: 12 stems cut at MB-03 on 2026-01-18 by RQ from 6 plants, 36 cuttings made. With --kind hardwood, --record-number T-017.",
		"Log it?", "Batch MB-03-2026-1 is logged: 12 stems",
	} {
		if !strings.Contains(stdout, said) {
			t.Errorf("it does not say %q:\n%s", said, stdout)
		}
	}
	if strings.Contains(stdout, "\x1b") {
		t.Errorf("line by line it is coloured: %q", stdout)
	}
	if shown := b.must("batch", "show", "MB-03-2026-1", "--json"); !strings.Contains(shown, `"parent_plants": 6`) || !strings.Contains(shown, `"record_number": "T-017"`) {
		t.Error(shown)
	}
}

// What was given is not asked again, and Enter leaves out what is not needed: today,
// plants where none were counted, and the tag.
func TestBatchLogAsksForNothingElse(t *testing.T) {
	b := atTerminal(t)
	code, stdout, stderr := b.answering("\n30\n\n\n\n", "batch", "log", "--stand", "OX-07", "--stems-cut", "10", "--collected-by", "OP")
	if code != exitDone || strings.Contains(stdout, "Stems cut (") || strings.Contains(stdout, "Stands:") ||
		!strings.Contains(stdout, "To be logged: 10 stems cut at OX-07 on 2026-01-19 by OP, 30 cuttings made.\n") {
		t.Errorf("%d %s %s", code, stdout, stderr)
	}
	code, stdout, stderr = b.answering("3\ny\n", "batch", "log", "--stand", "OX-07", "--on", "yesterday", "--stems-cut", "1", "--parent-plants", "1", "--collected-by", "OP", "--record-number", "T-9")
	if code != exitDone || strings.Contains(stdout, "Day of") || strings.Contains(stdout, "Tag on") || !strings.Contains(stdout, "on 2026-01-18 by OP from 1 plant, 3 cuttings") {
		t.Errorf("with all but one given: %d %s %s", code, stdout, stderr)
	}
	code, stdout, stderr = b.answering("", "batch", "log", "--stand", "OX-07", "--stems-cut", "10", "--cuttings", "30", "--collected-by", "OP")
	if code != exitDone || strings.Contains(stdout, "Log it?") {
		t.Errorf("with all of it given: %d %s %s", code, stdout, stderr)
	}
}

func TestBatchLogAsksAgain(t *testing.T) {
	b := atTerminal(t)
	code, stdout, stderr := b.answering("MB-30\nmb-03\nlast Friday\n2026-01-40\n\n0\nmany\n24\n\n0\n72\n-1\n\n6\n\nRQ\n\nperhaps\nyes\n", "batch", "log", "--already-cut", "--reason", "two crews met")
	if code != exitDone {
		t.Errorf("%d %s", code, stderr)
	}
	for _, said := range []string{
		`Stand "MB-30" is not there: did you mean MB-03?`, "Stems cut is 0, and must be 1 or more", `Stems cut is "many", and must be a whole number`,
		"Day of the cut", `"last Friday"`, `"2026-01-40"`, "Cuttings cannot be left empty", "Cuttings is 0, and must be 1 or more",
		"Parent plants is -1, and must be 1 or more", "Parent plants cannot be left empty", "Collected by cannot be left empty", "on 2026-01-19 by RQ from 6 plants, 72 cuttings",
	} {
		if !strings.Contains(stdout, said) {
			t.Errorf("it does not say %q:\n%s", said, stdout)
		}
	}
}

func TestLeavingTheQuestionsRecordsNothing(t *testing.T) {
	b := atTerminal(t)
	for name, typed := range map[string]string{
		"at once": "", "in the middle": "MB-03\n\n12\n", "in a line": "MB-03\n\n2", "at the end": "MB-03\n\n12\n36\n6\nRQ\n\n", "by no": "MB-03\n\n12\n36\n6\nRQ\n\nn\n",
	} {
		code, stdout, stderr := b.answering(typed, "batch", "log")
		if code != exitInterrupted || !strings.Contains(stderr, "note: nothing was recorded") || strings.Contains(stdout, "is logged") {
			t.Errorf("%s: %d %s %s", name, code, stdout, stderr)
		}
	}
	if out := b.must("batch", "list"); strings.Contains(out, "MB-03-2026") {
		t.Error(out)
	}
}

// Ctrl-C leaves while a question waits for its line.
func TestCtrlCLeavesTheQuestions(t *testing.T) {
	b := atTerminal(t)
	ctx, interrupt := context.WithCancel(t.Context())
	stdin, typing := io.Pipe()
	defer typing.Close()
	go func() {
		_, _ = io.WriteString(typing, "MB-03\n2") // returns once it is read
		interrupt()
	}()
	var stderr bytes.Buffer
	e := b.env(stdin, io.Discard, &stderr, "batch", "log")
	e.Terminal = true
	if code := Run(ctx, e); code != exitInterrupted || stderr.String() != "note: nothing was recorded\n" {
		t.Errorf("%d %q", code, stderr.String())
	}
}

// unread is an input that nobody may touch.
type unread struct{ t *testing.T }

func (u unread) Read([]byte) (int, error) {
	u.t.Error("the input was read")
	return 0, io.EOF
}

func TestWhatIsPipedIsNeverAsked(t *testing.T) {
	b := atTerminal(t)
	for _, c := range []struct {
		terminal bool
		args     []string
	}{
		{false, []string{"batch", "log"}},
		{false, []string{"batch", "log", "--stand", "MB-03"}},
		{true, []string{"batch", "log", "--json"}},
		{true, []string{"batch", "log", "--json", "--stand", "MB-03", "--cuttings", "3"}},
		{true, []string{"batch", "log", "--file", "no-such.csv"}},
	} {
		var stdout, stderr bytes.Buffer
		e := b.env(unread{t}, &stdout, &stderr, c.args...)
		e.Terminal = c.terminal
		if code := Run(t.Context(), e); code != exitUsage || stdout.Len() > 0 {
			t.Errorf("%v: %d %s %s", c.args, code, stdout.String(), stderr.String())
		}
	}
}

func TestThereIsNothingToCutFrom(t *testing.T) {
	b := newBench(t, here(t))
	b.must("taxon", "add", "Cornus sericea")
	code, _, stderr := b.answering("", "batch", "log")
	if code != exitOther || !strings.Contains(stderr, "withy stand add") {
		t.Errorf("%d %s", code, stderr)
	}
}

// A stand of which too much was taken is marked where one is chosen.
func TestAStandOverItsLimitIsMarked(t *testing.T) {
	b := atTerminal(t)
	b.must("batch", "log", "--stand", "MB-03", "--stems-cut", "80", "--cuttings", "90", "--parent-plants", "40", "--collected-by", "RQ", "--already-cut", "--reason", "two crews met")
	code, stdout, _ := b.answering("", "batch", "log")
	if code != exitInterrupted || !strings.Contains(stdout, "Stands: MB-03 (Mallow Bend; over its limit), OX-07 (Mallow Bend).") {
		t.Errorf("%d %s", code, stdout)
	}
}

// A refusal says what to do where the stems are gone, whoever was asked for what.
func TestARefusalAfterTheQuestionsHints(t *testing.T) {
	b := atTerminal(t)
	code, _, stderr := b.answering("\n80\n90\n40\nRQ\n\ny\n", "batch", "log", "--stand", "MB-03")
	if code != exitRefused || !strings.Contains(stderr, ifCut) {
		t.Errorf("%d %s", code, stderr)
	}
}

func TestWhoDidIt(t *testing.T) {
	for who, want := range map[string]string{"": "", "RQ": " by RQ", models.NotListed: " by someone not on the list"} {
		if got := by(who); got != want {
			t.Errorf("%q did it%s, want %q", who, got, want)
		}
	}
}

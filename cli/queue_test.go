package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// A day in the field: what is entered is kept and said to be kept, other commands
// fail as ever, and the next entry that reaches the server brings it along.
func TestFieldDay(t *testing.T) {
	f := newFieldDay(t)
	f.way.is(closed)
	out, _ := f.log(exitKept, 2, "T-1", "--on", "yesterday")
	wantWords(t, out, f.vars["WITHY_SERVER"]+" cannot be reached", "is NOT on the server yet: no rule has looked at it",
		"1: 2 stems of MB-03 cut on 2026-01-18, 6 cuttings by RQ, tag T-1", "counted from the clock and the time zone of this computer, which say that today is 2026-01-19", "1 entry waits")
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
	f.way.is(half)
	f.run("queue", "send")
	f.log(exitKept, 3, "T-3")
	f.stands("T-1 T-2 T-3", "", "T-1")
	f.way.is(open)
	f.must("queue", "send")
	f.stands("", "", "T-1 T-2 T-3")
}

// Who breaks off while the server is answering has an entry that may be there: it
// is kept, since typed again it would be another one.
func TestAnEntryThatWasBrokenOff(t *testing.T) {
	f := newFieldDay(t)
	ctx, breakOff := context.WithCancel(t.Context())
	defer breakOff()
	f.way.done = breakOff
	f.way.is(slow)
	var out, errs bytes.Buffer
	code := Run(ctx, f.env(strings.NewReader(""), &out, &errs, "batch", "log", "--stand", "MB-03", "--stems-cut", "2", "--cuttings", "6", "--collected-by", "RQ", "--record-number", "T-1"))
	if code != exitKept {
		t.Fatalf("%d %s %s", code, &out, &errs)
	}
	wantWords(t, out.String(), "It was broken off while the server was answering", "may have reached the server all the same")
	f.stands("T-1", "", "T-1")
	f.way.is(open)
	f.must("queue", "send")
	f.stands("", "", "T-1")
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
	wantWords(t, out, "Kept too, as entry 2: 2 stems of MB-03", "It is NOT on the server yet: ")
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
		if code != exitConflict || !strings.Contains(out, "look whether it is there") {
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

// The entries of one server are not those of another, and all are listed whichever
// is named.
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

package cli

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"withybed/models"
)

// The day that is mended is the field of the day in each kind of request.
func TestDayFields(t *testing.T) {
	on, err := models.ParseDate("2026-01-16")
	if err != nil {
		t.Fatal(err)
	}
	requests := map[string]any{
		"batches": models.NewBatch{CollectedOn: on}, "stickings": models.NewSticking{StuckOn: on}, "moves": models.NewMove{On: on},
		"splits": models.NewSplit{On: on}, "checks": models.NewCheck{CheckedOn: on}, "pottings": models.NewPotting{PottedOn: on},
		"decisions": models.NewDecision{On: on}, "nest-checks": models.NewNestCheck{On: on}, "tool-cleanings": models.NewToolCleaning{On: on},
	}
	for kind, req := range requests {
		text, _ := json.Marshal(req)
		fields := map[string]any{}
		if err := json.Unmarshal(text, &fields); err != nil || fields[dayField[kind]] != "2026-01-16" {
			t.Errorf("%s: %v in %s", kind, err, text)
		}
	}
	if len(dayField) != len(requests) {
		t.Errorf("%d kinds have a day, and %d are tried", len(dayField), len(requests))
	}
}

// A mended entry is a new request with all else as it was, and is known by its new
// words.
func TestRenewedEntries(t *testing.T) {
	e := fieldEntry()
	e.Body = `{"stand":"MB-30","collected_on":"2026-01-27","stems_cut":24,"cuttings":12345678,"length_cm":20.10}`
	e.Problem, e.SentAs, e.SentAt = &problem{Code: "unknown-stand"}, "a1", &e.EnteredAt
	on, _ := models.ParseDate("2026-01-17")
	again := resend{stand: "MB-03", alreadyCut: true, reason: "two crews"}
	if err := e.renew("018f-new", again.edits(&e, on)); err != nil {
		t.Fatal(err)
	}
	want := `{"already_cut":true,"collected_on":"2026-01-17","cuttings":12345678,"length_cm":20.10,"reason":"two crews","stand":"MB-03","stems_cut":24}`
	if e.Body != want || e.Key != "018f-new" || e.Problem != nil || e.SentAs != "" || e.SentAt != nil {
		t.Errorf("%+v", e)
	}
	if e.Words != "24 stems of MB-03 cut on 2026-01-17, 12345678 cuttings, already cut" {
		t.Error(e.Words)
	}
	e.Body = "null"
	if err := e.renew("018f-next", again.edits(&e, on)); err == nil {
		t.Error("an entry that says nothing was mended")
	}
}

func TestFlagsThatDoNotFit(t *testing.T) {
	on := day{fromHere: true}
	for name, c := range map[string]struct {
		path  string
		state queueState
		again resend
	}{
		"is no batch that is logged": {"/v1/batches/MB-03-2026-1/checks", refused, resend{stand: "MB-03"}},
		"and --on is for all":        {"/v1/batches/MB-03-2026-1/moves", refused, resend{on: on, alreadyCut: true, reason: "gone"}},
		"is a day sheet":             {"/v1/days", refused, resend{on: on}},
		"was not refused":            {"/v1/batches", waiting, resend{on: on}},
		"was settled":                {"/v1/batches", settled, resend{}},
	} {
		e := queued{ID: 3, Path: c.path, State: c.state}
		if err := c.again.fits(&e); err == nil || exitCode(err) != exitUsage || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, path := range []string{"/v1/stands/S/nest-checks", "/v1/places/P/nest-checks", "/v1/stands/S/tool-cleanings", "/v1/batches/B/stickings", "/v1/batches/B/moves", "/v1/batches/B/splits", "/v1/batches/B/checks", "/v1/batches/B/pottings", "/v1/batches/B/decisions", "/v1/batches"} {
		again := resend{on: on}
		if err := again.fits(&queued{Path: path, State: refused}); err != nil {
			t.Errorf("%s: %v", path, err)
		}
	}
}

// What was refused for a slip is mended and sent, and the exit code is that of the
// first refusal.
func TestRefusedOnesAreMended(t *testing.T) {
	f := newFieldDay(t)
	sheet := filepath.Join(t.TempDir(), "day.csv")
	if err := os.WriteFile(sheet, []byte("stand,collected_on,stems_cut,cuttings,collected_by\nMB-03,2026-01-18,90,30,RQ\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	f.way.is(closed)
	for _, args := range [][]string{
		{"batch", "log", "--stand", "MB-30", "--stems-cut", "2", "--cuttings", "6", "--collected-by", "RQ", "--on", "2026-01-18", "--record-number", "T-1"},
		{"batch", "log", "--stand", "MB-03", "--stems-cut", "3", "--cuttings", "6", "--collected-by", "RQ", "--on", "2027-01-18", "--record-number", "T-2"},
		{"batch", "log", "--file", sheet},
	} {
		if code, out, stderr := f.run(args...); code != exitKept {
			t.Fatalf("%v: %d %s%s", args, code, out, stderr)
		}
	}
	f.way.is(open)
	if code, out, stderr := f.run("queue", "send"); code != exitMissing || stderr != "" {
		t.Errorf("%d %s%s", code, out, stderr)
	}
	for _, c := range []struct {
		code int
		args []string
	}{
		{exitUsage, []string{"2"}}, {exitRefused, []string{"3"}},
		{exitUsage, []string{"3", "--on", "2026-01-17"}}, {exitUsage, []string{"3", "--stand", "MB-03"}},
		{exitUsage, []string{"1", "--stand", "MB-03", "--on", "2027-01-18"}},
	} {
		if code, out, stderr := f.run(append([]string{"queue", "send"}, c.args...)...); code != c.code {
			t.Errorf("%v: %d %s%s", c.args, code, out, stderr)
		}
	}
	f.mustWords("2 is sent: 3 stems of MB-03 cut on 2026-01-18", "queue", "send", "2", "--on", "yesterday")
	out := f.mustWords("1 is sent: 2 stems of MB-03 cut on 2026-01-17", "queue", "send", "1", "--on", "2026-01-17")
	wantWords(t, out, "1 entry was refused before", "withy queue list")
	if out := f.must("queue", "send"); out != "Nothing waits to be sent.\n1 entry was refused before, and stays until it is sent again or settled: see withy queue list.\n" {
		t.Error(out)
	}
	f.stands("", "", "T-2 T-1")
}

// mustWords runs a command that has to do its work and say so.
func (f *fieldDay) mustWords(words string, args ...string) string {
	f.t.Helper()
	out := f.must(args...)
	wantWords(f.t, out, words)
	return out
}

// What is seen and done at a stand is kept away from the server too, and sent like the
// batches before and after it.
func TestLooksAndCleaningsAreKeptAndSent(t *testing.T) {
	f := newFieldDay(t)
	f.way.is(closed)
	for _, args := range [][]string{
		{"stand", "clean", "MB-03", "--by", "RQ", "--how", "brushed", "--on", "2026-01-18"},
		{"stand", "nest-check", "MB-03", "--by", "RQ", "--nests-found", "no", "--on", "2027-01-18"},
	} {
		if code, out, stderr := f.run(args...); code != exitKept {
			t.Fatalf("%v: %d %s%s", args, code, out, stderr)
		}
	}
	wantWords(t, f.must("queue", "list", "--json"), "MB-03: tools and boots cleaned on 2026-01-18 by RQ", "MB-03: look for nests on 2027-01-18 by RQ, none")
	f.way.is(open)
	if code, out, stderr := f.run("queue", "send"); code != exitUsage {
		t.Fatalf("%d %s%s", code, out, stderr)
	}
	f.mustWords("2 is sent: MB-03: look for nests on 2026-01-19 by RQ, none.", "queue", "send", "2", "--on", "today")
	wantWords(t, f.server.must("stand", "show", "MB-03"), "Last look for nests: none on 2026-01-19", "Tools and boots last cleaned: on 2026-01-18 by RQ (brushed).")
}

// A check whose day was wrong is mended by its day.
func TestOtherEntriesAreMended(t *testing.T) {
	f := newFieldDay(t)
	f.log(exitDone, 2, "T-1", "--on", "2026-01-10", "--stuck-on", "2026-01-10")
	f.way.is(closed)
	if code, out, stderr := f.run("check", "add", "MB-03-2026-1", "--rooted", "1", "--on", "2026-01-09"); code != exitKept {
		t.Fatalf("%d %s%s", code, out, stderr)
	}
	f.way.is(open)
	if code, out, _ := f.run("queue", "send"); code != exitUsage {
		t.Fatalf("%d %s", code, out)
	}
	f.mustWords("1 is sent: MB-03-2026-1: look on 2026-01-19, 1 rooted", "queue", "send", "1", "--on", "today")
}

package cli

import (
	"strings"
	"testing"
)

// What was refused is told by the command that sent it and by every later one, in
// one line, until it is seen to.
func TestRefusedOnesAreNotForgotten(t *testing.T) {
	f := newFieldDay(t)
	f.way.is(closed)
	f.log(exitKept, 40, "T-1")
	f.way.is(open)
	_, stderr := f.log(exitDone, 2, "T-2")
	reminder := "note: 1 entry that the server refused is kept on this computer: withy queue list\n"
	wantWords(t, stderr, "note: 1 is refused, and stays on this computer: 40 stems of MB-03", reminder)
	if code, _, stderr := f.run("stand", "list"); code != exitDone || stderr != reminder {
		t.Errorf("%d %s", code, stderr)
	}
	f.way.is(closed)
	if _, stderr := f.log(exitKept, 2, "T-3"); stderr != reminder {
		t.Error(stderr)
	}
	if code, _, stderr := f.run("stand", "list"); code != exitOther || !strings.HasPrefix(stderr,
		"note: 1 entry waits on this computer to be sent to the server, 1 entry that the server refused is kept on this computer: withy queue list\n") {
		t.Errorf("%d %s", code, stderr)
	}
	f.way.is(open)
	f.must("queue", "settle", "1", "--why", "counted twice")
	if _, stderr := f.log(exitDone, 2, "T-4"); strings.Contains(stderr, "refused") {
		t.Error(stderr)
	}
}

// What was kept for one spelling of an address is seen under another, and is sent
// from there, in order and once.
func TestOtherSpellings(t *testing.T) {
	f := newFieldDay(t)
	f.server.vars["WITHY_TOKEN"] = f.newToken("OP", "coordinator")
	f.vars["WITHY_TOKEN"] = f.newToken("Saturday crew", "volunteer")
	f.way.is(cut) // the first of them arrives, and its answer is lost
	f.log(exitKept, 1, "T-1")
	f.way.is(closed)
	f.log(exitKept, 40, "T-2")
	f.log(exitKept, 2, "T-3")
	f.way.is(open)
	road := f.vars["WITHY_SERVER"]
	f.vars["WITHY_SERVER"] = strings.Replace(road, "127.0.0.1", "localhost", 1)
	out := f.must("queue", "list")
	wantWords(t, out, "For "+road+":", "tag T-1", "withy queue send --from ADDRESS")
	_, stderr := f.log(exitDone, 3, "T-4")
	wantWords(t, stderr, "note: 3 entries are kept for another address: withy queue list")

	code, out, _ := f.run("queue", "send", "--from", road)
	if code != exitRefused {
		t.Errorf("%d %s", code, out)
	}
	wantWords(t, out, "1 is sent: ", "2 is refused", "3 is sent: ", "withy queue send NO --from "+road)
	f.stands("", "", "T-1 T-4 T-3")
	f.mustWords("2 is sent: 40 stems of MB-03", "queue", "send", "2", "--from", road, "--already-cut", "--reason", "two crews")
	f.stands("", "", "T-1 T-4 T-3 T-2")
	wantWords(t, f.must("queue", "list"), "Nothing is kept on this computer")
}

// The entries of the server that was named come first in the list.
func TestPresentServerFirst(t *testing.T) {
	f := newFieldDay(t)
	addresses := []string{f.vars["WITHY_SERVER"], "http://127.0.0.1:1", "http://localhost:1"}
	f.way.is(closed)
	for _, address := range addresses {
		f.log(exitKept, 1, "T-1", "--server", address)
	}
	for _, address := range addresses {
		if out := f.must("queue", "list", "--server", address); !strings.HasPrefix(out, "For "+address+":\n") || strings.Count(out, "tag T-1") != len(addresses) {
			t.Errorf("with %s it is %s", address, out)
		}
	}
}

// A token that ended, was revoked, is unknown or missing costs no entry.
func TestTokensThatOpenNothingCostNoEntry(t *testing.T) {
	f := newFieldDay(t)
	f.server.vars["WITHY_TOKEN"] = f.newToken("OP", "coordinator")
	good := f.newToken("Saturday crew", "volunteer")
	revoked := f.newToken("Sunday crew", "volunteer")
	f.server.must("token", "revoke", "Sunday crew")
	for name, c := range map[string]struct{ token, says string }{
		"T-1": {"", "this server asks who is calling"},
		"T-2": {good[:len(good)-4] + "aaaa", "this token is not known"},
		"T-3": {revoked, "was revoked"},
	} {
		f.begin(strings.Replace(name, "T", "TB", 1))
		f.stand = "MB-03" // where the bundles are from
		f.vars["WITHY_TOKEN"] = c.token
		out, _ := f.log(exitKept, 1, name)
		wantWords(t, strings.ToLower(out), strings.ToLower(c.says), "the entry is kept on this computer, and is not on the server yet")
		if strings.Contains(out, "all the same") {
			t.Errorf("%s: it is said to be there, perhaps: %s", name, out)
		}
		f.vars["WITHY_TOKEN"] = good
		f.mustWords("1 is sent: 1 stem of MB-03 cut on 2026-01-19", "queue", "send")
	}
	if there := f.arrived(); len(there) != 3 {
		t.Errorf("%v arrived", there)
	}
}

// A computer that enters for a nursery elsewhere is not led to make one of its own.
func TestNoSecondNursery(t *testing.T) {
	f := newFieldDay(t)
	f.lose()
	if code, _, stderr := f.run("stand", "list"); code != exitOther || !strings.Contains(stderr, "unset WITHY_SERVER") {
		t.Errorf("%d %s", code, stderr)
	}
	f.find()
	f.log(exitDone, 1, "T-1")
	f.lose()
	if code, _, stderr := f.run("stand", "list"); code != exitOther || strings.Contains(stderr, "WITHY_SERVER") || !strings.Contains(stderr, "see whether it runs") {
		t.Errorf("%d %s", code, stderr)
	}
}

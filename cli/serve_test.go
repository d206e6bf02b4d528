package cli

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"net/http"
	"strings"
	"testing"
)

// served runs withy serve and gives its address. stop ends it and gives the
// exit code.
func (b *bench) served() (address string, stop func() int) {
	b.t.Helper()
	ctx, cancel := context.WithCancel(b.t.Context())
	reading, writing := io.Pipe()
	var stderr bytes.Buffer
	ended := make(chan int, 1)
	go func() {
		code := Run(ctx, b.env(nil, writing, &stderr, "serve", "--listen", "127.0.0.1:0"))
		_ = writing.Close()
		ended <- code
	}()
	line, err := bufio.NewReader(reading).ReadString('\n')
	if err != nil {
		b.t.Fatalf("%v: ended with %d, %s", err, <-ended, stderr.String())
	}
	_, rest, _ := strings.Cut(line, "http://")
	address, _, _ = strings.Cut(rest, ". ")
	return "http://" + address, func() int {
		cancel()
		return <-ended
	}
}

func TestServe(t *testing.T) {
	server := newBench(t, here(t))
	address, stop := server.served()

	far := newBench(t, "")
	far.vars = map[string]string{"WITHY_SERVER": address}
	far.must("taxon", "add", "Cornus sericea")
	far.must("stand", "add", "MB-03", "--name", "Mallow Bend", "--taxon", "Cornus sericea")
	if out := far.must("stand", "list"); !strings.Contains(out, "Mallow Bend") {
		t.Error(out)
	}
	if out := far.must("health"); !strings.Contains(out, "at "+address) || !strings.HasPrefix(out, "ready: ") {
		t.Error(out)
	}
	if code, _, stderr := far.run("stand", "show", "MB-04"); code != exitMissing || stderr != "withy: there is no stand \"MB-04\": did you mean MB-03?\n" {
		t.Errorf("%d %s", code, stderr)
	}
	if out := server.must("stand", "list"); !strings.Contains(out, "Mallow Bend") {
		t.Errorf("beside the server: %s", out)
	}

	port := strings.TrimPrefix(address, "http://")
	code, _, stderr := server.run("serve", "--listen", port)
	if code != exitOther || !strings.HasPrefix(stderr, "withy: something else listens on "+port+" already") {
		t.Errorf("a second server: %d %s", code, stderr)
	}
	if code := stop(); code != exitDone {
		t.Errorf("stopped with %d", code)
	}
	if _, err := http.Get(address + "/healthz"); err == nil {
		t.Error("it answers still")
	}
}

// The server makes the reminder of the week by itself, as soon as it starts.
func TestServeRunsItsJobs(t *testing.T) {
	b := newBench(t, here(t))
	monday := b.now
	b.now = monday.AddDate(0, 0, -10)
	b.must("nursery", "show") // makes it
	b.now = monday
	if code, _, stderr := b.run("remind", "show"); code != exitMissing || !strings.Contains(stderr, "no reminder was made yet") {
		t.Errorf("before it: %d %s", code, stderr)
	}
	_, stop := b.served()
	made := false
	for range 200 {
		if code, out, _ := b.run("remind", "show"); code == exitDone {
			made = strings.HasPrefix(out, "The nursery\nReminder for the week from Monday 2026-01-19\n")
			break
		}
	}
	if code := stop(); code != exitDone || !made {
		t.Errorf("made: %t, stopped with %d", made, code)
	}
}

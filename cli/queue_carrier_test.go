package cli

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"withybed/api"
	"withybed/models"
)

// A server that does not answer is waited for once in a command, not at every
// question, and an entry that was not sent for that is known not to be there.
func TestWaitedForOnce(t *testing.T) {
	var asked atomic.Int64
	silent := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		asked.Add(1)
		<-r.Context().Done()
	}))
	defer silent.Close()
	hc := &http.Client{Transport: http.DefaultTransport, Timeout: 50 * time.Millisecond}
	way := carry(&door{base: silent.URL, http: hc})
	c := api.NewClient(silent.URL, hc, newID)
	if _, err := c.Nursery(t.Context()); !unanswered(err) {
		t.Error(err)
	}
	_, err := c.Check(t.Context(), "MB 03", models.NewCheck{})
	if !unanswered(err) || way.met || asked.Load() != 1 {
		t.Errorf("asked %d times, met: %t, %v", asked.Load(), way.met, err)
	}
	if way.entry == nil || way.entry.Path != "/v1/batches/MB%2003/checks" || way.entry.ContentType != jsonBody || !strings.HasPrefix(string(way.entry.Body), "{") {
		t.Errorf("%+v", way.entry)
	}
}

// The path of an entry is the server's own, whatever it stands behind.
func TestPathBehindAnother(t *testing.T) {
	behind := httptest.NewServer(http.NotFoundHandler())
	defer behind.Close()
	base := strings.Replace(behind.URL, "http://", "http://op:rosehip@", 1) + "/withy/"
	hc := &http.Client{Transport: http.DefaultTransport}
	way := carry(&door{base: base, http: hc})
	_, err := api.NewClient(base, hc, newID).LogDay(t.Context(), []byte("stand\n"))
	if !unanswered(err) || !way.met || way.entry.Path != "/v1/days" || way.entry.ContentType != sheetBody || string(way.entry.Body) != "stand\n" || !plainKey(way.entry.Key) {
		t.Errorf("%+v %v", way.entry, err)
	}
}

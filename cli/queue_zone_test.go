package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func (f *fieldDay) zoneText() string {
	q := queueIn(filepath.Join(f.home, "withybed", "queue"), addressOf(f.vars["WITHY_SERVER"]))
	text, err := os.ReadFile(filepath.Join(q.folder, zoneFile))
	if err != nil && !os.IsNotExist(err) {
		f.t.Fatal(err)
	}
	return strings.TrimSpace(string(text))
}

// Away from the server the days of entries are the nursery's, once it was heard of,
// whatever the computer is set to.
func TestDaysAwayAreTheNurserys(t *testing.T) {
	f := newFieldDay(t)
	f.vars["WITHY_TIME_ZONE"] = "Asia/Tokyo" // where it is the 20th already
	f.way.is(closed)
	out, _ := f.log(exitKept, 1, "T-1")
	wantWords(t, out, "cut on 2026-01-20", "the nursery's time zone is not known here yet")
	f.must("queue", "settle", "1", "--why", "the day is wrong")
	f.way.is(open)
	f.log(exitDone, 1, "T-2", "--on", "2026-01-18")
	if got := f.zoneText(); got != "America/Los_Angeles" {
		t.Errorf("remembered is %q", got)
	}
	f.way.is(closed)
	out, _ = f.log(exitKept, 1, "T-3")
	wantWords(t, out, "cut on 2026-01-19", "in the nursery's time zone, America/Los_Angeles, where today is 2026-01-19")
	out, _ = f.log(exitKept, 1, "T-4", "--on", "yesterday", "--json")
	wantWords(t, out, `"time_zone": "America/Los_Angeles"`, "cut on 2026-01-18")

	f.server.must("nursery", "edit", "--time-zone", "Pacific/Auckland")
	f.way.is(open)
	f.must("queue", "send")
	if got := f.zoneText(); got != "Pacific/Auckland" {
		t.Errorf("after sending it is %q", got)
	}
}

// A zone that cannot be, or would mean another one on each computer, is none.
func TestZonesThatAreNone(t *testing.T) {
	for _, name := range []string{"", "Local", "Wrenlow/Valley", "../zone", "/etc/localtime", "America/Los_Angeles\n\x00"} {
		if zone := zoneNamed(name); zone != nil {
			t.Errorf("%q is %s", name, zone)
		}
	}
	f := newFieldDay(t)
	s := &session{env: f.env(nil, nil, nil), settings: settings{Server: f.vars["WITHY_SERVER"]}}
	for _, name := range []string{"Europe/Oslo", "Local", "no/where", ""} {
		s.rememberZone(name)
		if zone := s.knownZone(); zone == nil || zone.String() != "Europe/Oslo" {
			t.Errorf("after %q it is %v", name, zone)
		}
	}
	torn := filepath.Join(f.home, "withybed", "queue")
	q := queueIn(torn, addressOf(f.vars["WITHY_SERVER"]))
	if err := os.WriteFile(filepath.Join(q.folder, zoneFile), []byte("Europe/Os"), 0o600); err != nil {
		t.Fatal(err)
	}
	if zone := s.knownZone(); zone != nil || s.place() != time.UTC {
		t.Errorf("%v %v", zone, s.place())
	}
}

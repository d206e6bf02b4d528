package cli

import (
	"cmp"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"withybed/api"
	"withybed/models"
)

// dayOf is a day of an entry. Where the server cannot be asked for today, it is
// counted from the clock of this computer.
func (s *session) dayOf(ctx context.Context, c *api.Client, d day) (models.Date, error) {
	if !d.fromHere {
		return d.date, nil
	}
	view, err := c.Nursery(ctx)
	if err == nil {
		s.rememberZone(view.TimeZone)
		d.date, err = d.at(view)
	}
	if err == nil || s.settings.Server == "" || !s.behind && !putOff(err) {
		return d.date, err
	}
	s.dayFromHere = true
	return s.todayHere().Add(-d.back), nil
}

// todayHere is today by the clock of this computer, in the time zone of the nursery
// where that is known.
func (s *session) todayHere() models.Date {
	return models.DateIn(s.env.Clock(), cmp.Or(s.knownZone(), s.place()))
}

// todayWords are what a day was counted from.
func (s *session) todayWords() string {
	if zone := s.knownZone(); zone != nil {
		return fmt.Sprintf("the clock of this computer in the nursery's time zone, %s, where today is %s", zone, s.todayHere())
	}
	return fmt.Sprintf("the clock and the time zone of this computer, which say that today is %s: the nursery's time zone is not known here yet", s.todayHere())
}

// place is the time zone that was set, or else that of this computer.
func (s *session) place() *time.Location {
	if place := zoneNamed(s.settings.TimeZone); place != nil {
		return place
	}
	return s.env.Clock().Location()
}

// learnZone asks the server for the time zone of its nursery, for days away. It is
// no matter where that fails.
func (s *session) learnZone(ctx context.Context, c *api.Client) {
	if view, err := c.Nursery(ctx); err == nil {
		s.rememberZone(view.TimeZone)
	}
}

// zoneFile holds the time zone of the nursery, beside the entries for its server.
const zoneFile = "zone"

// rememberZone keeps the time zone that a server named. Where it cannot be kept,
// days away are counted as if it had never been named.
func (s *session) rememberZone(name string) {
	known := s.knownZone()
	if s.settings.Server == "" || zoneNamed(name) == nil || known != nil && known.String() == name {
		return
	}
	q, err := s.queue()
	if err == nil && os.MkdirAll(q.folder, 0o700) == nil {
		_ = writeWhole(filepath.Join(q.folder, zoneFile), []byte(name+"\n")) // nothing is lost with it
	}
}

// knownZone is the time zone of the nursery as its server last named it; nil where
// it never did.
func (s *session) knownZone() *time.Location {
	q, err := s.queue()
	if err != nil {
		return nil // without a folder for data nothing was ever kept
	}
	text, err := os.ReadFile(filepath.Join(q.folder, zoneFile))
	if err != nil {
		return nil
	}
	return zoneNamed(strings.TrimSpace(string(text)))
}

// zoneNamed is the time zone of a name; nil where there is none, and for Local,
// which means another one on every computer.
func zoneNamed(name string) *time.Location {
	zone, err := time.LoadLocation(name)
	if err != nil || name == "" || name == "Local" {
		return nil
	}
	return zone
}

package cli

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"withybed/models"
)

// entering is through for what people enter in the field and at the bench. Where
// a server was named and cannot be reached the entry is kept on this computer,
// and what was kept before is sent before anything new.
func (s *session) entering(do run) func(*cobra.Command, []string) error {
	near := s.through(do)
	return func(cmd *cobra.Command, args []string) error {
		if s.settings.Server == "" {
			return near(cmd, args)
		}
		d, err := s.openDoor(cmd.Context())
		if err != nil {
			return err
		}
		return errors.Join(s.enterFar(cmd.Context(), d, do, args), d.close())
	}
}

func (s *session) enterFar(ctx context.Context, d *door, do run, args []string) error {
	s.field = true
	way := carry(d)
	held, err := s.sendFirst(ctx, d, way)
	if err != nil {
		return fmt.Errorf("%w. So the entry is recorded nowhere: write it down", err)
	}
	s.behind, way.hold, way.entry = held != nil, held != nil, nil
	err = do(ctx, d.Client, args)
	if err != nil && ctx.Err() != nil && way.entry != nil && way.met {
		err = errBrokenOff // the person gave up, and nobody knows whether the server did
	}
	if way.entry == nil || !putOff(err) {
		if way.entry != nil && s.knownZone() == nil {
			s.learnZone(ctx, d.Client)
		}
		s.remindOfWaiting()
		return err
	}
	err = s.keep(way, held, err)
	s.remind(false)
	return err
}

// errBrokenOff is an entry that was under way when the person broke off: typed
// again it would be another one, so that it is kept under its key.
var errBrokenOff = models.Errorf(models.Unavailable, "server-unreachable", "it was broken off while the server was answering")

// sendFirst sends what waits. It gives the reason where that still waits after it.
func (s *session) sendFirst(ctx context.Context, d *door, way *carrier) (held, err error) {
	q, err := s.queue()
	if err != nil {
		return nil, nil // without a folder for data nothing was ever kept
	}
	list, _, err := q.entries(waiting)
	if err != nil {
		return nil, fmt.Errorf("read what is kept on this computer: %w", err)
	}
	if len(list) == 0 {
		return nil, nil
	}
	done, err := s.sendWaiting(ctx, q, d, way)
	for _, line := range done.lines() {
		s.note("%s", line)
	}
	if errors.Is(done.stop, context.Canceled) {
		return nil, done.stop
	}
	return done.stop, err
}

// keptEntry is what is printed of an entry that was kept.
type keptEntry struct {
	ID          int       `json:"id"`
	Server      string    `json:"server"`
	EnteredAt   time.Time `json:"entered_at"`
	Words       string    `json:"entry"`
	Waiting     int       `json:"waiting"`             // with this one
	DayFromHere bool      `json:"day_from_here"`       // a day was counted from the clock of this computer
	TimeZone    string    `json:"time_zone,omitempty"` // the nursery's, if its day was counted in it
	MayBeThere  bool      `json:"may_be_there"`        // it may have reached the server
}

// keep keeps an entry that was not answered, and says so plainly.
func (s *session) keep(way *carrier, held, lost error) error {
	text, err := entryWords(*way.entry)
	if err != nil {
		return err
	}
	e := queued{
		Key: way.entry.Key, Server: addressOf(s.settings.Server), EnteredAt: s.env.Clock.Now(), Words: text,
		Path: way.entry.Path, ContentType: way.entry.ContentType, Body: string(way.entry.Body),
	}
	met := way.met && !turnedAway(lost)
	if met {
		e.SentAt, e.SentAs = &e.EnteredAt, s.tokenMark()
	}
	why := s.awayWords(cmp.Or(held, lost))
	q, err := s.queue()
	if err == nil {
		err = q.add(&e)
	}
	if err != nil {
		return fmt.Errorf("%s, and the entry could not be kept on this computer either, so that it is nowhere: write it down. The reason: %w", why, err)
	}
	list, _, err := q.entries(waiting)
	if err != nil {
		return err
	}
	answer := keptEntry{ID: e.ID, Server: e.Server, EnteredAt: e.EnteredAt, Words: e.Words, Waiting: len(list), DayFromHere: s.dayFromHere, MayBeThere: met}
	if zone := s.knownZone(); s.dayFromHere && zone != nil {
		answer.TimeZone = zone.String()
	}
	if s.json {
		err = s.printJSON(map[string]keptEntry{"queued": answer})
	} else {
		s.keptWords(answer, why)
	}
	if err != nil {
		return err
	}
	return ended(exitKept)
}

func (s *session) keptWords(e keptEntry, why string) {
	if s.behind {
		s.say("Kept too, as entry %d: %s. It is NOT on the server yet: %s.", e.ID, e.Words, why)
	} else {
		s.say("%s. The entry is kept on this computer, and is NOT on the server yet: no rule has looked at it.", upper(why))
		s.say("%d: %s.", e.ID, e.Words)
	}
	if e.DayFromHere {
		s.say("Its day is counted from %s.", s.todayWords())
	}
	if e.MayBeThere {
		s.say("It may have reached the server all the same: sent again it has the same key, and is recorded once.")
	}
	text := many(e.Waiting, "entry waits", "entries wait") + " for the server."
	if !s.behind {
		text += " The next entry that reaches it sends what waits first, and so does withy queue send."
	}
	s.say("%s", text)
}

// awayWords is why an entry is not on the server, in a sentence without its end.
func (s *session) awayWords(err error) string {
	switch known := models.AsError(err); {
	case errors.Is(err, errStranger):
		return "what answers at " + addressOf(s.settings.Server) + " is not this program's server"
	case known == nil:
		return err.Error()
	case known == errBrokenOff:
		return known.Detail
	case known.Code == "server-unreachable":
		return "the server at " + addressOf(s.settings.Server) + " cannot be reached"
	default:
		return known.Detail
	}
}

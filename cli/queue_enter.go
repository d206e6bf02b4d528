package cli

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"withybed/api"
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
	way := carry(d)
	held, err := s.sendFirst(ctx, d, way)
	if err != nil {
		return fmt.Errorf("%w. So the entry is recorded nowhere: write it down", err)
	}
	s.behind, way.hold, way.entry = held != nil, held != nil, nil
	err = do(ctx, d.Client, args)
	if way.entry == nil || !unanswered(err) || ctx.Err() != nil {
		return err
	}
	return s.keep(way, held, err)
}

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
	Waiting     int       `json:"waiting"`       // with this one
	DayFromHere bool      `json:"day_from_here"` // a day was counted from the clock of this computer
	MayBeThere  bool      `json:"may_be_there"`  // it may have reached the server
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
	if way.met {
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
	answer := keptEntry{e.ID, e.Server, e.EnteredAt, e.Words, len(list), s.dayFromHere, way.met}
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
		why = "Entries before it still wait: " + why
	}
	s.say("%s. The entry is kept on this computer, and is NOT on the server yet: no rule has looked at it.", upper(why))
	s.say("%d: %s.", e.ID, e.Words)
	if e.DayFromHere {
		s.say("Its day is counted from the clock of this computer, which says that today is %s.", s.todayHere())
	}
	if e.MayBeThere {
		s.say("It may have reached the server all the same: sent again it has the same key, and is recorded once.")
	}
	s.say("%s for the server. The next entry that reaches it sends what waits first, and so does withy queue send.",
		many(e.Waiting, "entry waits", "entries wait"))
}

// awayWords is why an entry is not on the server, in a sentence without its end.
func (s *session) awayWords(err error) string {
	switch known := models.AsError(err); {
	case errors.Is(err, errStranger):
		return "what answers at " + addressOf(s.settings.Server) + " is not this program's server"
	case known == nil:
		return err.Error()
	case known.Code == "server-unreachable":
		return "the server at " + addressOf(s.settings.Server) + " cannot be reached"
	default:
		return known.Detail
	}
}

// dayOf is a day of an entry. Where the server cannot be asked for today, it is
// counted from the clock of this computer.
func (s *session) dayOf(ctx context.Context, c *api.Client, d day) (models.Date, error) {
	on, err := d.in(ctx, c)
	if err == nil || s.settings.Server == "" || !s.behind && !unanswered(err) {
		return on, err
	}
	s.dayFromHere = true
	return s.todayHere().Add(-d.back), nil
}

// todayHere is today by the clock of this computer.
func (s *session) todayHere() models.Date { return models.DateIn(s.env.Clock(), s.place()) }

// place is the time zone that was set, or else that of this computer.
func (s *session) place() *time.Location {
	if place, err := time.LoadLocation(s.settings.TimeZone); err == nil && s.settings.TimeZone != "" {
		return place
	}
	return s.env.Clock().Location()
}

// remindOfWaiting says on stderr that entries for the server are still here.
func (s *session) remindOfWaiting() {
	if s.settings.Server == "" {
		return
	}
	q, err := s.queue()
	if err != nil {
		return // without a folder for data nothing was ever kept
	}
	list, bad, err := q.entries(waiting)
	if err == nil && len(list)+len(bad) > 0 {
		s.note("%s on this computer to be sent to the server: withy queue list", many(len(list)+len(bad), "entry waits", "entries wait"))
	}
}

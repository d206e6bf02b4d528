package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"path"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

// resend is what is sent again, and how an entry that was refused is mended.
type resend struct {
	from       string // another address that it was kept for
	on         day
	stand      string
	alreadyCut bool
	reason     string
}

func (r *resend) flags(cmd *cobra.Command) {
	addValue(cmd, "from", "address", "send what was kept for another address of the same nursery", func(text string) error {
		if r.from = addressOf(text); r.from == "" {
			return errors.New("must be an address as withy queue list shows it, as in http://127.0.0.1:8347")
		}
		return nil
	})
	dayFlag(cmd, &r.on, "on", "the day it should have said")
	addValue(cmd, "stand", "code", "the stand it should have said; of a batch that is logged", func(text string) error {
		if r.stand = models.Clean(text); r.stand == "" {
			return errors.New("is empty, and must be the code of a stand")
		}
		return nil
	})
	cmd.Flags().BoolVar(&r.alreadyCut, "already-cut", false, "the stems are gone: record them even against a rule, to be reviewed")
	cmd.Flags().StringVar(&r.reason, "reason", "", "why they were cut; with --already-cut")
}

// mends says that an entry is changed before it is sent again.
func (r *resend) mends() bool { return r.alreadyCut || r.stand != "" || r.on != (day{}) }

func (r *resend) check(args []string) error {
	switch {
	case r.alreadyCut != (r.reason != ""):
		return usagef("--already-cut and --reason go together: the reason is what the coordinator reads")
	case r.mends() && len(args) == 0:
		return usagef("--on, --stand and --already-cut are said of one entry: withy queue send NO --on DAY")
	}
	return nil
}

// waitAgain lets an entry that was refused wait again, as a new request. One that
// waits already stays as it is.
func (s *session) waitAgain(ctx context.Context, c *api.Client, address, number string, again resend) error {
	q, e, err := s.find(address, number)
	if err != nil {
		return err
	}
	if err := again.fits(&e); err != nil {
		return err
	}
	on, err := s.dayOf(ctx, c, again.on)
	if err != nil {
		return err
	}
	if s.dayFromHere {
		s.note("the day is counted from %s", s.todayWords())
	}
	return q.locked(func() error {
		_, e, err := s.find(address, number) // as it is now that nobody else moves it
		if err == nil {
			err = again.fits(&e)
		}
		if err != nil || e.State == waiting {
			return err
		}
		if err := e.renew(s.env.NewID(), again.edits(&e, on)); err != nil {
			return err
		}
		return q.move(e, refused, waiting)
	})
}

// dayField is the field of the day in each kind of entry. A day sheet has days of
// its own.
var dayField = map[string]string{
	"batches": "collected_on", "stickings": "stuck_on", "moves": "on", "splits": "on",
	"checks": "checked_on", "pottings": "potted_on", "decisions": "on",
	"nest-checks": "on", "tool-cleanings": "on",
}

// kind is the last word of the path of an entry.
func (e *queued) kind() string { return path.Base(e.Path) }

// fits says why an entry cannot be sent again in this way.
func (r *resend) fits(e *queued) error {
	switch {
	case e.State == settled:
		return usagef("entry %d was settled: %s. Enter it anew if it has to be sent", e.ID, e.Why)
	case !r.mends():
		return nil
	case e.State == waiting:
		return usagef("entry %d was not refused: send it first, with withy queue send", e.ID)
	case dayField[e.kind()] == "":
		return usagef("entry %d is a day sheet, which is not mended here: mend the sheet, log it again, then settle this one", e.ID)
	case e.kind() != "batches" && (r.stand != "" || r.alreadyCut):
		return usagef("entry %d is no batch that is logged: --stand, --already-cut and --reason are for those, and --on is for all", e.ID)
	}
	return nil
}

// edits are the fields of an entry that are sent otherwise than before.
func (r *resend) edits(e *queued, on models.Date) map[string]any {
	edits := map[string]any{}
	if !on.IsZero() {
		edits[dayField[e.kind()]] = on
	}
	if r.stand != "" {
		edits["stand"] = r.stand
	}
	if r.alreadyCut {
		edits["already_cut"], edits["reason"] = true, r.reason
	}
	return edits
}

// renew makes a new request of an entry, with some fields changed.
func (e *queued) renew(key string, edits map[string]any) error {
	e.Key, e.Problem, e.SentAt, e.SentAs = key, nil, nil, ""
	if len(edits) == 0 {
		return nil
	}
	fields := map[string]any{}
	reader := json.NewDecoder(strings.NewReader(e.Body))
	reader.UseNumber() // as they were written
	if err := reader.Decode(&fields); err != nil {
		return fmt.Errorf("read entry %d: %w", e.ID, err)
	}
	if fields == nil {
		return usagef("entry %d says nothing that could be mended: enter it anew, then settle this one", e.ID)
	}
	maps.Copy(fields, edits)
	body, err := json.Marshal(fields)
	if err != nil {
		return fmt.Errorf("write entry %d: %w", e.ID, err)
	}
	e.Body = string(body)
	e.Words, err = entryWords(e.kept())
	return err
}

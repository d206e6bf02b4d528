package cli

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"withybed/models"
	"withybed/models/nursery"
)

// sending is what became of the entries that waited.
type sending struct {
	Sent    []sentEntry  `json:"sent"`
	Refused []queued     `json:"refused"`
	Before  int          `json:"refused_before"` // how many more that were refused are still here
	Waiting int          `json:"waiting"`
	Stopped string       `json:"stopped,omitempty"` // why those that wait were not sent
	Left    []unreadable `json:"unreadable"`

	stop error
}

// sentEntry is an entry that its server has.
type sentEntry struct {
	ID       int      `json:"id"`
	Words    string   `json:"entry"`
	Batches  []string `json:"batches"` // codes
	Warnings []string `json:"warnings"`
}

// sendWaiting sends what waits in the order of entry, each under its key. What
// the server refuses is put aside; where nothing can be sent it stops.
func (s *session) sendWaiting(ctx context.Context, q queue, d *door, way *carrier) (sending, error) {
	done := sending{Sent: []sentEntry{}, Refused: []queued{}, Left: []unreadable{}}
	err := q.locked(func() error {
		list, bad, err := q.entries(waiting)
		if err != nil {
			return err
		}
		before, err := q.names(refused)
		if err != nil {
			return err
		}
		done.Left, done.Before = append(done.Left, bad...), len(before)
		for i, e := range list {
			if err := s.sendOne(ctx, q, d, way, e, &done); err != nil || done.stop != nil {
				done.Waiting = len(list) - i
				return err
			}
		}
		return nil
	})
	if done.stop != nil {
		done.Stopped = s.awayWords(done.stop)
	}
	if err != nil {
		err = fmt.Errorf("send what is kept on this computer: %w", err)
	}
	return done, err
}

func (s *session) sendOne(ctx context.Context, q queue, d *door, way *carrier, e queued, done *sending) error {
	if doubt := s.doubt(&e); doubt != nil {
		return s.refuse(q, e, doubt, done)
	}
	first := e.SentAt == nil
	if first { // noted before, in case this program does not live to see the answer
		now := s.env.Clock.Now()
		e.SentAt, e.SentAs = &now, s.tokenMark()
		if err := q.write(waiting, e); err != nil {
			return err
		}
	}
	answer, err := d.Repeat(ctx, e.kept())
	var taken sentEntry
	if err == nil {
		taken, err = readTaken(answer)
	}
	switch {
	case err == nil:
		taken.ID, taken.Words = e.ID, e.Words
		done.Sent = append(done.Sent, taken)
		return q.sent(e)
	case refusal(err) != nil:
		known := refusal(err)
		return s.refuse(q, e, &problem{Kind: known.Kind, Code: known.Code, Detail: sentence(known)}, done)
	}
	done.stop = err
	if first && (!way.met || turnedAway(err)) {
		e.SentAt, e.SentAs = nil, ""
		return q.write(waiting, e)
	}
	return nil
}

func (s *session) refuse(q queue, e queued, why *problem, done *sending) error {
	why.At = s.env.Clock.Now()
	e.Problem = why
	done.Refused = append(done.Refused, e)
	return q.move(e, waiting, refused)
}

// doubtAfter is how long an entry that may have reached its server is sent again
// by itself: a day less than the server remembers its key.
const doubtAfter = nursery.KeysKept - 24*time.Hour

// doubt is why an entry may be recorded already under a key that the server would
// not know again; nil where it would. A person has to look first.
func (s *session) doubt(e *queued) *problem {
	look := fmt.Sprintf("look whether it is there, then settle it with withy queue settle %d, or send it again with withy queue send %d", e.ID, e.ID)
	switch {
	case e.SentAt == nil:
		return nil
	case s.env.Clock.Now().Sub(*e.SentAt) > doubtAfter:
		return &problem{Kind: models.Conflict, Code: "sent-long-ago", Detail: "it was sent on " + e.SentAt.In(s.place()).Format(time.DateOnly) +
			" without an answer, so that it may be recorded, and its key is past its time: " + look}
	case e.SentAs != s.tokenMark():
		return &problem{Kind: models.Conflict, Code: "sent-with-another-token",
			Detail: "it was sent before with another token and had no answer, so that it may be recorded, and keys belong to their token: " + look}
	}
	return nil
}

// tokenMark tells two tokens apart, and tells nothing of them: keys belong to the
// token that they were sent with.
func (s *session) tokenMark() string {
	if s.settings.Token == "" {
		return ""
	}
	sum := sha256.Sum256([]byte("withybed queue\n" + s.settings.Token))
	return hex.EncodeToString(sum[:6])
}

// readTaken reads the answer to an entry. One that names neither a batch nor what is
// kept of a stand or place comes from none of this program's servers, and the entry is
// not taken to be there.
func readTaken(answer json.RawMessage) (sentEntry, error) {
	type batch struct {
		Code     string   `json:"code"`
		Warnings []string `json:"warnings"`
	}
	var seen struct {
		batch
		Batches []batch `json:"batches"` // of a day sheet
		Batch   batch   `json:"batch"`   // of a split
		Sisters []batch `json:"sisters"`

		ID    string `json:"id"` // of what is kept of a stand or place
		Stand string `json:"stand"`
		Place string `json:"place"`
	}
	taken := sentEntry{Batches: []string{}, Warnings: []string{}}
	err := json.Unmarshal(answer, &seen)
	all := append([]batch{seen.batch, seen.Batch}, seen.Batches...)
	if seen.Batch.Code != "" { // the sisters of a split; a batch has sisters of its own
		all = append(all, seen.Sisters...)
	}
	for _, b := range all {
		if b.Code != "" {
			taken.Batches = append(taken.Batches, b.Code)
			taken.Warnings = append(taken.Warnings, b.Warnings...)
		}
	}
	kept := seen.ID != "" && seen.Stand+seen.Place != ""
	if kept {
		taken.Warnings = append(taken.Warnings, seen.Warnings...)
	}
	if err != nil || !kept && len(taken.Batches) == 0 {
		return taken, errStranger
	}
	return taken, nil
}

// lines are what became of the entries, one line each.
func (d *sending) lines() []string {
	var lines []string
	for _, e := range d.Sent {
		line := fmt.Sprintf("%d is sent: %s.", e.ID, e.Words)
		if len(e.Batches) > 0 {
			line += " On the server it is " + strings.Join(e.Batches, ", ") + "."
		}
		lines = append(lines, line)
		for _, w := range e.Warnings {
			lines = append(lines, fmt.Sprintf("%d: %s", e.ID, w))
		}
	}
	for _, e := range d.Refused {
		lines = append(lines, fmt.Sprintf("%d is refused, and stays on this computer: %s: %s", e.ID, e.Words, e.Problem.Detail))
	}
	for _, file := range d.Left {
		lines = append(lines, fmt.Sprintf("%s cannot be read, and is left there: %s", file.Path, file.Why))
	}
	return lines
}

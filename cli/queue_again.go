package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"withybed/models"
)

func newQueueSend(s *session) *cobra.Command {
	var again resend
	cmd := &cobra.Command{
		Use: "send [NO]", Short: "Send what waits, or send again what was refused",
		Long: `Sends what waits to the server, in the order of entry. With the number of an entry
that was refused, that one waits again, at its old place, and is sent as a new
request. Stems that are gone are recorded even against a rule with --already-cut and
--reason; they count, and are reviewed.`,
		Example: examples("withy queue send", "withy queue send 3", "withy queue send 3 --already-cut --reason \"cut before we heard of the closure\""),
		RunE: func(cmd *cobra.Command, args []string) error {
			if s.settings.Server == "" {
				return usagef("withy queue send needs the server: name it with --server or WITHY_SERVER")
			}
			if err := again.check(args); err != nil {
				return err
			}
			if len(args) == 1 {
				if err := s.waitAgain(args[0], again); err != nil {
					return err
				}
			}
			return s.sendQueue(cmd.Context())
		},
	}
	cmd.Args = func(_ *cobra.Command, args []string) error {
		if len(args) > 1 {
			return usagef("withy queue send takes one number: withy queue send %s", args[0])
		}
		return nil
	}
	cmd.Flags().BoolVar(&again.alreadyCut, "already-cut", false, "the stems are gone: record them even against a rule, to be reviewed")
	cmd.Flags().StringVar(&again.reason, "reason", "", "why they were cut; with --already-cut")
	return cmd
}

// sendQueue sends what waits and says what became of it.
func (s *session) sendQueue(ctx context.Context) (err error) {
	d, err := s.openDoor(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, d.close()) }()
	q, err := s.queue()
	if err != nil {
		return err
	}
	done, err := s.sendWaiting(ctx, q, d, carry(d))
	shown := show(s, done, s.sendingWords)
	switch {
	case err != nil || shown != nil:
		return errors.Join(err, shown)
	case errors.Is(done.stop, context.Canceled):
		return done.stop
	case done.stop != nil:
		return fmt.Errorf("%s: %w", many(done.Waiting, "entry still waits on this computer", "entries still wait on this computer"), errors.New(done.Stopped))
	case len(done.Refused) > 0:
		return ended(exitRefused)
	}
	return nil
}

func (s *session) sendingWords(done sending) {
	for _, line := range done.lines() {
		s.say("%s", line)
	}
	if len(done.Sent)+len(done.Refused)+done.Waiting == 0 {
		s.say("Nothing waits to be sent.")
	}
	if len(done.Refused) > 0 {
		s.say("What was refused stays on this computer: send it again with withy queue send NO, with --already-cut and --reason if the stems are gone, or settle it with withy queue settle NO --why TEXT.")
	}
}

// resend is how an entry that was refused is sent again.
type resend struct {
	alreadyCut bool
	reason     string
}

func (r *resend) check(args []string) error {
	switch {
	case r.alreadyCut != (r.reason != ""):
		return usagef("--already-cut and --reason go together: the reason is what the coordinator reads")
	case r.alreadyCut && len(args) == 0:
		return usagef("--already-cut is said of one entry: withy queue send NO --already-cut --reason TEXT")
	}
	return nil
}

// waitAgain lets an entry that was refused wait again, as a new request. One that
// waits already stays as it is.
func (s *session) waitAgain(number string, again resend) error {
	q, _, err := s.find(number)
	if err != nil {
		return err
	}
	return q.locked(func() error {
		_, e, err := s.find(number) // as it is now that nobody else moves it
		switch {
		case err != nil:
			return err
		case e.State == settled:
			return usagef("entry %d was settled: %s. Enter it anew if it has to be sent", e.ID, e.Why)
		case e.State == waiting && again.alreadyCut:
			return usagef("entry %d was not refused: send it first, with withy queue send", e.ID)
		case e.State == waiting:
			return nil
		}
		if err := e.renew(s.env.NewID(), again); err != nil {
			return err
		}
		return q.move(e, refused, waiting)
	})
}

// renew makes a new request of an entry.
func (e *queued) renew(key string, again resend) error {
	e.Key, e.Problem, e.SentAt, e.SentAs = key, nil, nil, ""
	if !again.alreadyCut {
		return nil
	}
	if e.Path != "/v1/batches" {
		return usagef("entry %d is no single batch: --already-cut is for those. Mend the day sheet, log it again, then settle this one", e.ID)
	}
	var req models.NewBatch
	if err := json.Unmarshal([]byte(e.Body), &req); err != nil {
		return fmt.Errorf("read entry %d: %w", e.ID, err)
	}
	req.AlreadyCut, req.Reason = true, again.reason
	body, err := json.Marshal(req)
	e.Body, e.Words = string(body), newBatchWords(&req)
	return err
}

func newQueueSettle(s *session) *cobra.Command {
	var why string
	cmd := &cobra.Command{
		Use: "settle NO", Short: "Put an entry aside for good, with the reason",
		Long:    "Puts an entry that waits or was refused aside: it is not sent any more, and is kept with the reason. Nothing changes on the server.",
		Example: examples("withy queue settle 3 --why \"entered twice, see MB-03-2026-7\""),
		Args:    takes("NO"),
		RunE:    func(_ *cobra.Command, args []string) error { return s.settle(args[0], why) },
	}
	cmd.Flags().StringVar(&why, "why", "", "why it is not sent")
	needs(cmd, "why")
	return cmd
}

func (s *session) settle(number, why string) error {
	if models.Clean(why) == "" {
		return usagef("--why is empty: say why the entry is not sent")
	}
	q, e, err := s.find(number)
	if err != nil {
		return err
	}
	err = q.locked(func() error {
		if _, e, err = s.find(number); err != nil {
			return err
		}
		if e.State == settled {
			return usagef("entry %d is settled already: %s", e.ID, e.Why)
		}
		now, from := s.env.Clock.Now(), e.State
		e.Why, e.SettledAt = models.Clean(why), &now
		return q.move(e, from, settled)
	})
	if err != nil {
		return err
	}
	e.State = settled
	return show(s, e, func(e queued) {
		s.say("%d is settled, and is not sent any more: %s. It stays on this computer: withy queue show %d.", e.ID, e.Words, e.ID)
	})
}

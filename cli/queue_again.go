package cli

import (
	"context"
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
request: with another day (--on), for a batch that is logged also with another stand
(--stand), or, where its stems are gone, recorded even against a rule with
--already-cut and --reason; they count, and are reviewed.

What was kept for another address of the same nursery, as withy queue list shows it,
is sent to the present one with --from. Each entry keeps its key, so that one that
arrived there before is recorded once.

The exit code is that of the first refusal: 2 for a value that cannot be, 3 for a name
that does not exist, 4 for a harvest rule, 5 where it, or something in its place, may
be recorded already.`,
		Example: examples("withy queue send", "withy queue send 3 --on 2026-01-16", "withy queue send 3 --stand MB-03",
			"withy queue send 3 --already-cut --reason \"cut before we heard of the closure\"",
			"withy queue send --from http://127.0.0.1:8347"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if s.settings.Server == "" {
				return usagef("withy queue send needs the server: name it with --server or WITHY_SERVER")
			}
			if err := again.check(args); err != nil {
				return err
			}
			return s.sendQueue(cmd.Context(), args, again)
		},
	}
	cmd.Args = func(_ *cobra.Command, args []string) error {
		if len(args) > 1 {
			return usagef("withy queue send takes one number: withy queue send %s", args[0])
		}
		return nil
	}
	again.flags(cmd)
	return cmd
}

// sendQueue sends what waits and says what became of it.
func (s *session) sendQueue(ctx context.Context, args []string, again resend) (err error) {
	d, err := s.openDoor(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, d.close()) }()
	address, q, err := s.sendingFrom(again.from)
	if err != nil {
		return err
	}
	way := carry(d)
	if len(args) == 1 {
		if err := s.waitAgain(ctx, d.Client, address, args[0], again); err != nil {
			return err
		}
	}
	done, err := s.sendWaiting(ctx, q, d, way)
	if len(done.Sent)+len(done.Refused) > 0 && done.stop == nil {
		s.learnZone(ctx, d.Client)
	}
	shown := show(s, done, func(done sending) { s.sendingWords(done, again.from) })
	if err != nil || shown != nil {
		return errors.Join(err, shown)
	}
	return done.ending()
}

// sendingFrom is the address whose entries are sent, with its queue: the server's,
// or another one that entries were kept for.
func (s *session) sendingFrom(other string) (address string, q queue, err error) {
	if other == "" {
		q, err = s.queue()
		return addressOf(s.settings.Server), q, err
	}
	queues, err := s.queuesFor(other)
	if err != nil {
		return other, q, err
	}
	if !queues[0].there() {
		return other, q, missing{"nothing was ever kept on this computer for " + other + ": see withy queue list"}
	}
	return other, queues[0], nil
}

// ending is how the sending ended: with what keeps entries from being sent, or with
// the exit code of the first refusal.
func (d *sending) ending() error {
	switch {
	case errors.Is(d.stop, context.Canceled):
		return d.stop
	case d.stop != nil:
		return fmt.Errorf("%s: %w", many(d.Waiting, "entry still waits on this computer", "entries still wait on this computer"), errors.New(d.Stopped))
	case len(d.Refused) > 0:
		return ended(exitCode(&models.Error{Kind: d.Refused[0].Problem.Kind}))
	}
	return nil
}

func (s *session) sendingWords(done sending, from string) {
	for _, line := range done.lines() {
		s.say("%s", line)
	}
	if len(done.Sent)+len(done.Refused)+done.Waiting == 0 {
		s.say("Nothing waits to be sent.")
	}
	option := ""
	if from != "" {
		option = " --from " + from
	}
	if len(done.Refused) > 0 {
		s.say("What was refused stays on this computer: send it again with withy queue send NO%s, mended with --on, --stand, or --already-cut and --reason if the stems are gone, or settle it with withy queue settle NO --why TEXT.", option)
	}
	if done.Before > 0 {
		s.say("%s, and stays until it is sent again or settled: see withy queue list.",
			many(done.Before, "entry was refused before", "entries were refused before"))
	}
}

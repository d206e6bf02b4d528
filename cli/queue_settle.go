package cli

import (
	"github.com/spf13/cobra"

	"withybed/models"
)

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
	q, e, err := s.find(addressOf(s.settings.Server), number)
	if err != nil {
		return err
	}
	err = q.locked(func() error {
		if _, e, err = s.find(addressOf(s.settings.Server), number); err != nil {
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

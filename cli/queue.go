package cli

import (
	"fmt"
	"slices"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"withybed/models/documents"
)

func newQueue(s *session) *cobra.Command {
	cmd := s.group("queue", "What was entered away from the server and is not on it yet", examples("withy queue list", "withy queue send"))
	cmd.Long = `In the field there is often no way to the server. What is entered then with batch
log, stick, move, split, decide and close, check add, pot, nest-check and clean is
kept on this computer, and that is said. It is sent in the order of entry by the next entry that
reaches the server, or by withy queue send. Each has a key, so that an entry that
reached the server before its answer was lost is recorded once.

What the server refuses is put aside with the reason. It stays until you send it
again or settle it: nothing is ever thrown away.`
	cmd.AddCommand(newQueueList(s), newQueueShow(s), newQueueSend(s), newQueueSettle(s))
	return cmd
}

func newQueueList(s *session) *cobra.Command {
	var all bool
	cmd := &cobra.Command{
		Use: "list", Short: "List what waits to be sent, and what was refused",
		Long: `Lists what is kept on this computer, by the address of the server it was entered for.
What is kept for the server that was named comes first.`,
		Example: examples("withy queue list", "withy queue list --settled"),
		Args:    takes(),
		RunE: func(*cobra.Command, []string) error {
			states := []queueState{waiting, refused}
			if all {
				states = queueStates
			}
			list, err := s.queued(states)
			if err != nil {
				return err
			}
			return showItems(s, list, s.queueTable)
		},
	}
	cmd.Flags().BoolVar(&all, "settled", false, "also what was settled by hand")
	return cmd
}

// queued are the entries in some states, whatever address they are kept for: the
// same server may be spelt in several ways. It warns of files that cannot be read.
func (s *session) queued(states []queueState) ([]queued, error) {
	queues, err := s.queues()
	if err != nil {
		return nil, err
	}
	list := []queued{}
	for _, q := range queues {
		for _, state := range states {
			some, bad, err := q.entries(state)
			if err != nil {
				return nil, fmt.Errorf("read what is kept on this computer: %w", err)
			}
			for _, file := range bad {
				s.warn("%s cannot be read, and is left there: %s", file.Path, file.Why)
			}
			list = append(list, some...)
		}
	}
	return list, nil
}

func (s *session) queueTable(list []queued) {
	if len(list) == 0 {
		s.say("Nothing is kept on this computer that has to be sent, for any server.")
		return
	}
	present := addressOf(s.settings.Server)
	elsewhere := slices.ContainsFunc(list, func(e queued) bool { return e.Server != present })
	for len(list) > 0 {
		n := 1
		for n < len(list) && list[n].Server == list[0].Server {
			n++
		}
		var rows [][]string
		for _, e := range list[:n] {
			rows = append(rows, []string{strconv.Itoa(e.ID), s.minute(e.EnteredAt), e.Words, e.standing()})
		}
		s.say("For %s:", list[0].Server)
		s.table([]column{numCol("NO"), col("ENTERED"), textCol("ENTRY"), textCol("STANDING")}, rows, "")
		list = list[n:]
	}
	if elsewhere && present != "" {
		s.say("What is kept for another address of the same nursery is sent to %s with withy queue send --from ADDRESS.", present)
	}
}

// standing is where an entry stands, with the reason.
func (e *queued) standing() string {
	switch {
	case e.State == refused && e.Problem != nil:
		return "refused: " + e.Problem.Detail
	case e.State == settled:
		return "settled: " + e.Why
	case e.SentAt != nil:
		return string(e.State) + "; may be on the server"
	}
	return string(e.State)
}

// minute is an instant by the clock on the wall.
func (s *session) minute(at time.Time) string { return minuteAt(at, s.place()) }

func newQueueShow(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "show NO", Short: "Show an entry that is kept on this computer, whole", Example: examples("withy queue show 3"),
		Args: takes("NO"),
		RunE: func(_ *cobra.Command, args []string) error {
			_, e, err := s.find(addressOf(s.settings.Server), args[0])
			if err != nil {
				return err
			}
			return show(s, e, s.queuedWords)
		},
	}
}

func (s *session) queuedWords(e queued) {
	s.say("%d: %s", e.ID, e.Words)
	s.say("Entered on %s for %s: %s.", s.minute(e.EnteredAt), e.Server, e.standing())
	if e.Problem != nil {
		s.say("The server answered on %s (%s).", s.minute(e.Problem.At), e.Problem.Code)
	}
	s.say("As it is sent to %s under the key %s:", e.Path, e.Key)
	_, _ = s.out.WriteString(documents.Printable(e.Body) + "\n") // the writer keeps its error
}

// find is the entry of a number among those for an address, or among all where
// that is empty, with its queue.
func (s *session) find(address, number string) (q queue, e queued, err error) {
	id, err := parseCount(number)
	if err != nil {
		return q, e, usagef("the number of an entry %s: see withy queue list", err)
	}
	queues, err := s.queuesFor(address)
	if err != nil {
		return q, e, err
	}
	found := 0
	for _, one := range queues {
		for _, state := range queueStates {
			kept, err := one.read(one.file(state, id))
			if err == nil {
				kept.State, found = state, found+1
				q, e = one, kept
			}
		}
	}
	switch found {
	case 0:
		return q, e, missing{fmt.Sprintf("no entry %d is kept on this computer%s: see withy queue list", id, forAddress(address))}
	case 1:
		return q, e, nil
	}
	return q, e, usagef("entry %d is kept for more than one server: say which with --server", id)
}

func forAddress(address string) string {
	if address == "" {
		return ""
	}
	return " for " + address
}

package cli

import "strings"

// remindOfWaiting says on stderr that entries are still on this computer.
func (s *session) remindOfWaiting() { s.remind(true) }

// remind says on stderr, in one line, what is still on this computer. That entries
// wait for the server may have been said already.
func (s *session) remind(waits bool) {
	if s.settings.Server == "" {
		return
	}
	here, refusals, elsewhere := s.keptCounts()
	var parts []string
	if waits && here > 0 {
		parts = append(parts, many(here, "entry waits", "entries wait")+" on this computer to be sent to the server")
	}
	if refusals > 0 {
		parts = append(parts, many(refusals, "entry that the server refused is", "entries that the server refused are")+" kept on this computer")
	}
	if elsewhere > 0 {
		parts = append(parts, many(elsewhere, "entry is", "entries are")+" kept for another address")
	}
	if len(parts) > 0 {
		s.note("%s: withy queue list", strings.Join(parts, ", "))
	}
}

// keptCounts are how many entries wait for the server, how many it refused, and how
// many of both are kept for other addresses. Files that cannot be read count too.
func (s *session) keptCounts() (here, refusals, elsewhere int) {
	own, err := s.queue()
	if err != nil {
		return 0, 0, 0 // without a folder for data nothing was ever kept
	}
	queues, err := s.queues()
	if err != nil {
		return 0, 0, 0 // a reminder is no reason for a command to fail
	}
	for _, q := range queues {
		waits, _ := q.names(waiting) // likewise
		turned, _ := q.names(refused)
		if q == own {
			here, refusals = len(waits), len(turned)
		} else {
			elsewhere += len(waits) + len(turned)
		}
	}
	return here, refusals, elsewhere
}

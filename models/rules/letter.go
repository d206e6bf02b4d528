package rules

import (
	"time"

	"withybed/models"
)

// The times between tries of a letter, and how long it is tried at all. Mail
// servers that are down or put a stranger off for a while are asked again soon at
// first, and for some days (RFC 5321, section 4.5.4.1).
const (
	letterWaitFirst = time.Minute
	letterWaitMost  = 6 * time.Hour
	letterTriedFor  = 5 * 24 * time.Hour
)

// NextTry is when a letter is tried again after a number of tries that failed,
// the last of them now: after a minute, then twice as long each time, up to six
// hours.
func NextTry(tries int, now time.Time) time.Time {
	wait := letterWaitFirst
	for ; tries > 1 && wait < letterWaitMost; tries-- {
		wait *= 2
	}
	return now.Add(min(wait, letterWaitMost))
}

// GivesUp says that a letter whose try failed now is not tried again: it was
// refused for good, or it was made five days ago or earlier.
func GivesUp(l *models.Letter, refusedForGood bool, now time.Time) bool {
	return refusedForGood || now.Sub(l.MadeAt) >= letterTriedFor
}

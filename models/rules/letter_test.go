package rules_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

func TestNextTry(t *testing.T) {
	now := time.Date(2026, 1, 19, 17, 0, 0, 0, time.UTC)
	for tries, want := range map[int]time.Duration{
		0: time.Minute, 1: time.Minute, 2: 2 * time.Minute, 3: 4 * time.Minute, 9: 256 * time.Minute,
		10: 6 * time.Hour, 11: 6 * time.Hour, 1 << 40: 6 * time.Hour,
	} {
		if got := rules.NextTry(tries, now).Sub(now); got != want {
			t.Errorf("after %d tries it waits %s, want %s", tries, got, want)
		}
	}
}

// However often it fails, a letter is tried again later than now, never sooner
// than after the try before, and within six hours.
func TestNextTryNeverShrinks(t *testing.T) {
	now := time.Date(2026, 1, 19, 17, 0, 0, 0, time.UTC)
	rapid.Check(t, func(t *rapid.T) {
		tries := rapid.IntRange(1, 1000).Draw(t, "tries")
		before, after := rules.NextTry(tries, now).Sub(now), rules.NextTry(tries+1, now).Sub(now)
		if before < time.Minute || after < before || after > 6*time.Hour {
			t.Fatalf("after %d tries it waits %s, then %s", tries, before, after)
		}
	})
}

func TestGivesUp(t *testing.T) {
	made := time.Date(2026, 1, 19, 17, 0, 0, 0, time.UTC)
	letter := &models.Letter{MadeAt: made}
	for _, c := range []struct {
		after time.Duration
		good  bool
		want  bool
	}{
		{0, false, false}, {0, true, true},
		{5*24*time.Hour - time.Millisecond, false, false}, {5 * 24 * time.Hour, false, true},
	} {
		if got := rules.GivesUp(letter, c.good, made.Add(c.after)); got != c.want {
			t.Errorf("%s after it was made, refused for good %t: given up %t", c.after, c.good, got)
		}
	}
}

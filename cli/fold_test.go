package cli

import (
	"strings"
	"testing"

	"charm.land/lipgloss/v2"
	"pgregory.net/rapid"
)

func TestFold(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", ""},
		{"short", "short"},
		{"cut at MB-03 on 2026-01-17", "cut at MB-03\non 2026-01-17"},
		{"  cut at MB-03 on it", "  cut at MB-03\n  on it"},
		{"a-word-longer-than-the-line then", "a-word-longer-than-the-line\nthen"},
		{"it is about 4.4 % of it", "it is about\n4.4 % of it"},
		{"one\n\ntwo three four five", "one\n\ntwo three four\nfive"},
	} {
		if got := fold(c.text, 14); got != c.want {
			t.Errorf("%q is folded to %q, not %q", c.text, got, c.want)
		}
	}
}

func TestFoldLosesNoWordAndKeepsTheWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`( {0,4}[a-zé0-9-]{1,12}( [a-zé0-9-]{1,12}){0,20}\n){0,4}`).Draw(t, "text")
		width := rapid.IntRange(20, 90).Draw(t, "width")
		folded := fold(text, width)
		if got, want := strings.Fields(folded), strings.Fields(text); strings.Join(got, " ") != strings.Join(want, " ") {
			t.Fatalf("words %q became %q", want, got)
		}
		for _, line := range strings.Split(folded, "\n") {
			if lipgloss.Width(line) > width {
				t.Fatalf("%q is wider than %d", line, width)
			}
		}
	})
}

package models

import "testing"

func TestCounted(t *testing.T) {
	for n, want := range map[int]string{0: "0 stems are, were", 1: "1 stem is, was", 2: "2 stems are, were", 24: "24 stems are, were"} {
		if got := Counted(n, "stem") + " " + Are(n) + ", " + Were(n); got != want {
			t.Errorf("%s, want %s", got, want)
		}
	}
}

func TestOneOf(t *testing.T) {
	for want, words := range map[string][]string{"": nil, "a": {"a"}, "a or b": {"a", "b"}, "a, b or c": {"a", "b", "c"}} {
		if got := OneOf(words); got != want {
			t.Errorf("%q is %q, want %q", words, got, want)
		}
	}
}

func TestLater(t *testing.T) {
	first, second := MustDate("2026-01-17"), MustDate("2026-01-18")
	if Later(first, second) != second || Later(second, first) != second || Later(Date{}, first) != first {
		t.Error("the later day is not the later one")
	}
}

package models

import (
	"fmt"
	"slices"
	"strings"
)

// MaxCount is the largest count of anything a record takes.
const MaxCount = 10_000_000

// MaxTag is the longest text, in characters, of a tag, a code or a number.
const MaxTag = 40

// MaxName is the longest text, in characters, of a name, a person or a bench.
const MaxName = 80

// MaxNote is the longest text, in characters, of a note, a reason or a why.
const MaxNote = 2000

// NameKey is a name without its case and extra spaces, for comparing: two
// scientific names with one key are one taxon.
func NameKey(name string) string {
	return strings.ToLower(strings.Join(strings.Fields(name), " "))
}

// Clean is a text with its spaces put in order.
func Clean(text string) string { return strings.Join(strings.Fields(text), " ") }

func oneOf[T ~string](word T, words []T) bool { return slices.Contains(words, word) }

// OneOf joins words for a sentence: a, b or c.
func OneOf[T ~string](words []T) string {
	texts := make([]string, len(words))
	for i, w := range words {
		texts[i] = string(w)
	}
	if len(texts) < 2 {
		return strings.Join(texts, "")
	}
	last := len(texts) - 1
	return strings.Join(texts[:last], ", ") + " or " + texts[last]
}

// Counted is a count with its noun: 1 stem, 24 stems.
func Counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// Are is the verb that goes with a count: 1 is, 24 are.
func Are(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

// Were is the verb that goes with a count of what is over: 1 was, 24 were.
func Were(n int) string {
	if n == 1 {
		return "was"
	}
	return "were"
}

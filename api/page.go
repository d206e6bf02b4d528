package api

import "iter"

// Page is one page of a list.
type Page[T any] struct {
	Items []T     `json:"items" doc:"The entries of this page"`
	Next  *string `json:"next" doc:"Path and query of the next page, to be followed as it stands; null on the last" example:"/v1/batches?after=WyJiYXRjaGVzIiwiMjAyNi0wMS0xNyIsIjAxOTgwYTJmIl0"`
}

// NewPage is a page of items; next is empty on the last one.
func NewPage[T any](items []T, next string) Page[T] {
	if items == nil {
		items = []T{}
	}
	if next == "" {
		return Page[T]{Items: items}
	}
	return Page[T]{Items: items, Next: &next}
}

// All are the entries of a list over all its pages. It ends with the first
// error.
type All[T any] = iter.Seq2[T, error]

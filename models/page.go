package models

// DefaultPage and MaxPage bound how many items a list answers at once.
const (
	DefaultPage = 50
	MaxPage     = 200
)

// Page asks for a part of a list: up to Limit items after the one that After
// names. After is taken from the list before and is empty for the first.
type Page struct {
	Limit int
	After string
}

// Size is the limit within its bounds; zero is the default.
func (p Page) Size() int {
	if p.Limit <= 0 {
		return DefaultPage
	}
	return min(p.Limit, MaxPage)
}

// List is a part of a list. Next names the page after it and is empty at the end.
type List[T any] struct {
	Items []T
	Next  string
}

package api

import (
	"net/url"
	"strconv"

	"withybed/models"
)

// asking are the parameters of a query, by pairs of name and value; those
// without a value are left out.
func asking(pairs ...string) url.Values {
	query := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			query.Set(pairs[i], pairs[i+1])
		}
	}
	return query
}

// inPages adds to a query where a list begins, and how much of it comes at once.
func inPages(query url.Values, page models.Page) url.Values {
	size := page.Limit
	if size <= 0 || size > models.MaxPage {
		size = models.MaxPage
	}
	query.Set("limit", strconv.Itoa(size))
	if page.After != "" {
		query.Set("after", page.After)
	}
	return query
}

func largePages() url.Values { return inPages(url.Values{}, models.Page{}) }

// upTo is a list that ends after some entries, or goes on to its end if most is 0.
func upTo[T any](most int, all All[T]) All[T] {
	if most <= 0 {
		return all
	}
	return func(yield func(T, error) bool) {
		n := 0
		for item, err := range all {
			n++
			if !yield(item, err) || n == most {
				return
			}
		}
	}
}

// yes is true as a parameter, and nothing for false, which is the default.
func yes(b bool) string {
	if b {
		return "true"
	}
	return ""
}

// count is a number as a parameter, and nothing for 0, which stands for none.
func count(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

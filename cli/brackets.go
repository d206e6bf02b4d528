package cli

import (
	"fmt"
	"strings"

	"withybed/models"
)

// bracketWords is when a tenth, half and nine tenths had rooted, as far as they
// have: roots came at some time between two looks.
func bracketWords(l models.Levels) string {
	var list []string
	for _, level := range []struct {
		share   string
		bracket models.Bracket
	}{{"a tenth", l.T10}, {"half", l.T50}, {"nine tenths", l.T90}} {
		text, more := levelWords(level.share, level.bracket)
		list = append(list, text)
		if !more {
			break
		}
	}
	return strings.Join(list, ", ")
}

// levelWords is when one share had rooted. More is false where the shares above
// it have nothing to add.
func levelWords(share string, b models.Bracket) (text string, more bool) {
	switch {
	case b.Status == models.Undefined:
		return "none was found rooted", false
	case b.Status != models.Reached || b.To == nil:
		return share + " not reached by the last look", false
	case b.From == nil || *b.From == 0:
		return fmt.Sprintf("%s had rooted by day %d", share, *b.To), true
	}
	return fmt.Sprintf("%s had rooted between day %d and day %d", share, *b.From, *b.To), true
}

// halfWords is when a level was reached, in the few letters a table has room for.
func halfWords(b models.Bracket) string {
	switch {
	case b.Status == models.Undefined:
		return "undefined"
	case b.Status != models.Reached || b.To == nil:
		return "not reached"
	case b.From == nil || *b.From == 0:
		return fmt.Sprintf("by day %d", *b.To)
	}
	return fmt.Sprintf("day %d to %d", *b.From, *b.To)
}

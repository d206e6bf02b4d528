package rules

import (
	"math"
	"strings"
	"unicode"
	"unicode/utf8"

	"withybed/models"
)

// The shape of a value is looked at here too, since a day sheet and other ways
// in never pass the checks of the API.

func checkText(f *models.Faults, field, text string, longest int) {
	if n := utf8.RuneCountInString(text); n > longest {
		f.Add("invalid", field, nil, "is %d characters long, and at most %d are kept", n, longest)
	}
	if strings.ContainsFunc(text, unprintable) || !utf8.ValidString(text) {
		f.Add("invalid", field, nil, "holds a control character: write it as plain text")
	}
}

// unprintable says that a character is none a person writes, or one that turns
// the order of those after it. Ends of line and tabs are let through, since they
// are read as spaces.
func unprintable(r rune) bool {
	turns := '\u202a' <= r && r <= '\u202e' || '\u2066' <= r && r <= '\u2069'
	return turns || unicode.IsControl(r) && !unicode.IsSpace(r)
}

func needText(f *models.Faults, field, text string, longest int) {
	if models.Clean(text) == "" {
		f.Add("invalid", field, nil, "is missing")
		return
	}
	checkText(f, field, text, longest)
}

func checkCount(f *models.Faults, field string, n, least int) {
	if n < least || n > models.MaxCount {
		f.Add("invalid", field, n, "is %d, and must be from %d to %d", n, least, models.MaxCount)
	}
}

func checkOptionalCount(f *models.Faults, field string, n *int, least int) {
	if n != nil {
		checkCount(f, field, *n, least)
	}
}

// checkMeasure looks at an optional measure that must be over least, up to most.
func checkMeasure(f *models.Faults, field string, x *float64, least, most float64) {
	if x != nil && (math.IsNaN(*x) || *x < least || *x > most) {
		f.Add("invalid", field, *x, "is %g, and must be from %g to %g", *x, least, most)
	}
}

func checkPast(f *models.Faults, field string, day, today models.Date) {
	switch {
	case day.IsZero():
		f.Add("invalid", field, nil, "is missing")
	case day.After(today):
		f.Add("in-the-future", field, day, "is %s, and today is %s", day, today)
	}
}

func checkKnown[T interface {
	~string
	Known() bool
}](f *models.Faults, field string, word T, words []T) {
	if word != "" && !word.Known() {
		f.Add("invalid", field, word, "is %q, and must be %s", word, models.OneOf(words))
	}
}

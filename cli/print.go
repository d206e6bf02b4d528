package cli

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"

	"withybed/api"
	"withybed/models"
	"withybed/models/documents"
)

// say prints a sentence, broken between words where a terminal is too narrow.
func (s *session) say(format string, args ...any) {
	text := documents.Printable(fmt.Sprintf(format, args...))
	if s.env.Width > 0 {
		text = fold(text, s.env.Width)
	}
	_, _ = s.out.WriteString(text + "\n") // the writer keeps its error for the flush at the end
}

// note tells on stderr what was done unasked.
func (s *session) note(format string, args ...any) { s.aside("note: ", format, args...) }

// warn tells on stderr what to look at again.
func (s *session) warn(format string, args ...any) { s.aside("warning: ", format, args...) }

// aside writes to stderr, after what was said before it.
func (s *session) aside(kind, format string, args ...any) {
	_ = s.out.Flush() // the writer keeps its error
	_, _ = fmt.Fprintln(s.env.Stderr, kind+documents.Printable(fmt.Sprintf(format, args...)))
}

func (s *session) warnAll(warnings []string) {
	for _, w := range warnings {
		s.warn("%s", w)
	}
}

// show prints a value as JSON where that was asked for, and in words otherwise.
func show[T any](s *session, value T, words func(T)) error {
	if s.json {
		return s.printJSON(value)
	}
	words(value)
	return nil
}

// showAll gathers a list over all its pages and shows it.
func showAll[T any](s *session, list api.All[T], words func([]T)) error {
	items := []T{}
	for item, err := range list {
		if err != nil {
			return err
		}
		items = append(items, item)
	}
	return showItems(s, items, words)
}

// showItems shows a list that is there whole.
func showItems[T any](s *session, items []T, words func([]T)) error {
	return show(s, api.NewPage(items, ""), func(page api.Page[T]) { words(page.Items) })
}

func (s *session) printJSON(value any) error {
	enc := json.NewEncoder(s.out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(value)
}

// minuteAt is an instant by the clock of a place, to the minute.
func minuteAt(at time.Time, place *time.Location) string {
	return at.In(place).Format("2006-01-02 15:04")
}

// number is a number as it is printed: at most so many decimal places, and no
// noughts at the end.
func number(x float64, places int) string {
	text := strconv.FormatFloat(x, 'f', places, 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return text
}

// percent is a percent of one decimal place.
func percent(x float64) string { return strconv.FormatFloat(x, 'f', 1, 64) + " %" }

// maybe is what a value is printed as, or a dash where there is none.
func maybe[T any](value *T, print func(T) string) string {
	if value == nil {
		return "-"
	}
	return print(*value)
}

// dash is a text, or a dash where it is empty.
func dash(text string) string {
	if text == "" {
		return "-"
	}
	return text
}

// many is a count with its word.
func many(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + more
}

// by is who did something, or nothing where nobody was named.
func by(who string) string {
	switch who {
	case "":
		return ""
	case models.NotListed:
		return " by someone " + who
	}
	return " by " + who
}

// words is a word of the API as it stands in a sentence.
func words[T ~string](w T) string { return strings.ReplaceAll(string(w), "_", " ") }

// taxonWords is a scientific name with the one in everyday use.
func taxonWords(scientific, common string) string {
	if common == "" {
		return scientific
	}
	return scientific + " (" + common + ")"
}

// surveyWords is a survey in short.
func surveyWords(b *models.SurveyBrief) string {
	return fmt.Sprintf("the %s of %s (lower bound %s)", methodWords(b.Method), b.SurveyedOn, stemsWords(b.LowerBound.Float(), 1))
}

// stemsWords is an estimate of stems, of which there may be parts.
func stemsWords(n float64, places int) string {
	text := number(n, places)
	if text == "1" {
		return "1 stem"
	}
	return text + " stems"
}

// methodWords is a count by its method, as it stands in a sentence.
func methodWords(m models.Method) string {
	switch m {
	case models.PlotCount:
		return "plot count"
	case models.ClumpCount:
		return "clump count"
	case models.ClumpsFromPlots:
		return "count of clumps on plots"
	case models.Ocular:
		return "estimate by eye"
	}
	return words(m)
}

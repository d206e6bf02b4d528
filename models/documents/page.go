package documents

import (
	"strings"
	"unicode/utf8"
)

const (
	usualWidth = 72 // characters; a mail is quoted once within 80
	leastWidth = 40
	indentStep = 2
)

// page is plain text while it is written, with its lines broken at a width.
type page struct {
	text  strings.Builder
	width int
}

func newPage(width int) *page {
	if width <= 0 {
		width = usualWidth
	}
	return &page{width: max(width, leastWidth)}
}

// String is the text, with one line end at its end.
func (p *page) String() string { return strings.TrimRight(p.text.String(), "\n") + "\n" }

func (p *page) gap() { p.text.WriteByte('\n') }

// write breaks a text into lines at spaces and indents them by some steps. A
// word that is longer than a line stands on one of its own.
func (p *page) write(steps int, text string) {
	indent := strings.Repeat(" ", steps*indentStep)
	used := 0
	for _, word := range strings.Fields(text) {
		length := utf8.RuneCountInString(word)
		switch {
		case used == 0:
			p.text.WriteString(indent)
			used = len(indent)
		case used+1+length > p.width:
			p.text.WriteString("\n" + indent)
			used = len(indent)
		default:
			p.text.WriteByte(' ')
			used++
		}
		p.text.WriteString(word)
		used += length
	}
	p.gap()
}

// hanging sets a text behind a mark, its further lines below its beginning.
func (p *page) hanging(mark, text string) {
	lines := &page{width: p.width - len(mark)}
	lines.write(0, text)
	for line := range strings.Lines(lines.text.String()) {
		p.row(mark + strings.TrimRight(line, "\n"))
		mark = strings.Repeat(" ", len(mark))
	}
}

package documents

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"withybed/models"
)

// The parts of a field sheet that are written on, as text.

func (p *page) row(text string) { p.text.WriteString(strings.TrimRight(text, " ") + "\n") }

func (p *page) rule() { p.row(strings.Repeat("=", p.width)) }

// bullet is one point of a list, its lines hanging.
func (p *page) bullet(text string) { p.hanging(bulletMark, text) }

const bulletMark = "- "

func (p *page) tally(s *models.Sheet) {
	p.gap()
	p.write(0, "TALLY")
	p.write(0, tallyWords(s))
	for _, boxes := range boxLines(s) {
		var b strings.Builder
		for i := range boxes {
			if i > 0 && i%boxesInGroup == 0 {
				b.WriteByte(' ')
			}
			b.WriteString("[ ]")
		}
		p.row(b.String())
	}
}

// plants are lines for the plants cut from.
func (p *page) plants(s *models.Sheet) {
	columns := plantColumns(s)
	p.gap()
	p.row(fmt.Sprintf("%-16s %-20s %-20s %s", "PLANT", columns[0], columns[1], columns[2]))
	for i := range plantLines(s) {
		p.row(fmt.Sprintf("%2d %s %s %s %s", i+1, blank(13), blank(20), blank(20), blank(20)))
	}
}

func blank(width int) string { return strings.Repeat("_", max(0, width)) }

// tags are the numbers for the bundles, with room for their stems.
func (p *page) tags(s *models.Sheet) {
	p.gap()
	p.write(0, "TAGS")
	p.write(0, fmt.Sprintf("One number for each bundle, on two tags. A bundle has at most %d stems; write how many.", models.BundleStems))
	widest := 0
	for _, tag := range s.Tags {
		widest = max(widest, utf8.RuneCountInString(tag))
	}
	room := widest + len(" ______  ")
	for some := range slices.Chunk(s.Tags, max(1, (p.width+2)/room)) {
		var b strings.Builder
		for _, tag := range some {
			b.WriteString(tag + strings.Repeat(" ", widest-utf8.RuneCountInString(tag)) + " ______  ")
		}
		p.row(b.String())
	}
}

// hand are the fields to be filled in, and what is done with the sheet.
func (p *page) hand(s *models.Sheet) {
	p.gap()
	p.write(0, "TO FILL IN")
	for _, pair := range handFields(s) {
		if pair[1] == "" {
			p.row(toWrite(pair[0], p.width))
			continue
		}
		half := p.width/2 - 1
		p.row(toWrite(pair[0], half) + "  " + toWrite(pair[1], p.width-half-2))
	}
	p.gap()
	p.write(0, "AFTERWARDS")
	for _, text := range afterwards(s) {
		p.bullet(text)
	}
}

// toWrite is a label and a line to write on, as wide as there is room.
func toWrite(label string, width int) string {
	if label == "" {
		return blank(width)
	}
	return label + ": " + blank(width-utf8.RuneCountInString(label)-2)
}

package documents

import (
	"fmt"

	"withybed/models"
)

// The parts of a field sheet that are written on, as a PDF.

const (
	boxSide  = 6.0 // millimetres, for a pencil in a glove
	rowSpace = 8.2
	handRow  = 10.0 // height of a line that is written on
	plantRow = 8.0  // and of one in the table of plants
)

func (p *paperPage) tally(s *models.Sheet) {
	p.heading("Tally", 2*bodySize*lineFactor+rowSpace)
	p.write("", bodySize, 0, "", tallyWords(s))
	p.gap(1.5)
	groups := boxesOnLine / boxesInGroup
	const between = 3.0
	pitch := (p.inner() - boxSide - between*float64(groups-1)) / float64(boxesOnLine-1)
	for _, boxes := range boxLines(s) {
		p.room(rowSpace)
		p.pdf.SetLineWidth(0.4)
		for i := range boxes {
			x := margin + float64(i)*pitch + between*float64(i/boxesInGroup)
			p.pdf.Rect(x, p.y, boxSide, boxSide, "D")
		}
		p.y += rowSpace
	}
	p.pdf.SetLineWidth(0.3)
}

// tags are the numbers for the bundles, with room for their stems.
func (p *paperPage) tags(s *models.Sheet) {
	p.heading("Tags", 2*bodySize*lineFactor+handRow)
	p.write("", bodySize, 0, "", fmt.Sprintf("One number for each bundle, on two tags. A bundle has at most %d stems; write how many.", models.BundleStems))
	p.gap(1)
	p.setType("B", bodySize)
	const writing = 18.0
	widest := 0.0
	for _, tag := range s.Tags {
		widest = max(widest, p.pdf.GetStringWidth(drawable(tag)))
	}
	column := widest + writing + 5
	across := max(1, int((p.inner()+5)/column))
	for i, tag := range s.Tags {
		at := i % across
		if at == 0 && i > 0 {
			p.y += handRow - 1.5
		}
		if at == 0 {
			p.room(handRow)
			p.setType("B", bodySize)
		}
		x := margin + float64(at)*column
		p.text(x, p.y+2.5, tag)
		p.line(x+widest+1.5, x+widest+writing, p.y+7)
	}
	p.y += handRow
}

// plants are lines for the plants cut from, two to a row.
func (p *paperPage) plants(s *models.Sheet) {
	p.heading("Plants", 4*plantRow)
	const across, between = 2, 8.0
	half := (p.inner() - between) / across
	p.setType("", smallSize)
	for i := range across {
		p.cells(margin+float64(i)*(half+between), half, func(cell int, from, _ float64) { p.text(from, p.y, plantColumns(s)[cell]) })
	}
	p.y += bodySize * lineFactor
	for i := range plantLines(s) {
		side := i % across
		if side == 0 {
			p.room(plantRow)
		}
		x := margin + float64(side)*(half+between)
		p.setType("", bodySize)
		p.text(x, p.y+2.5, fmt.Sprint(i+1))
		p.cells(x, half, func(_ int, from, to float64) { p.line(from, to, p.y+plantRow-1.5) })
		if side == across-1 || i == plantLines(s)-1 {
			p.y += plantRow
		}
	}
}

// cells are where the three numbers of a plant stand, behind the plant's own.
func (p *paperPage) cells(x, width float64, each func(cell int, from, to float64)) {
	const number, between = 8.0, 3.0
	share := (width - number) / 3
	for cell := range 3 {
		from := x + number + float64(cell)*share
		each(cell, from, from+share-between)
	}
}

func (p *paperPage) line(from, to, y float64) { p.pdf.Line(from, y, to, y) }

func (p *paperPage) blankLine() {
	p.room(handRow)
	p.line(margin, p.width-margin, p.y+handRow-2)
	p.y += handRow
}

// hand are the fields to be filled in.
func (p *paperPage) hand(s *models.Sheet) {
	p.heading("To fill in", 2*handRow)
	half := p.inner()/2 - 2
	for _, pair := range handFields(s) {
		p.room(handRow)
		if pair[1] == "" {
			p.toWrite(pair[0], margin, p.inner())
		} else {
			p.toWrite(pair[0], margin, half)
			p.toWrite(pair[1], margin+half+4, half)
		}
		p.y += handRow
	}
}

// toWrite is a label with a line behind it.
func (p *paperPage) toWrite(label string, x, width float64) {
	p.setType("", bodySize)
	from := x
	if label != "" {
		label = p.cut(label, width) + ": "
		p.text(x, p.y+3, label)
		from += p.pdf.GetStringWidth(drawable(label))
	}
	if from < x+width {
		p.line(from, x+width, p.y+handRow-2)
	}
}

package documents

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"withybed/models"
)

// SheetPDF is a field sheet as a PDF: large type, black on white, to be read at
// arm's length and written on with a pencil. Paper is A4 unless it is letter. The
// same sheet makes the same bytes. Letters that the font lacks are shown as boxes.
func SheetPDF(s *models.Sheet, paper models.Paper) ([]byte, error) {
	p := newPaper("Field sheet "+s.Stand+" "+s.On.String(), fmt.Sprintf("%s, %s, crew %s", s.Stand, s.On, s.Crew), s.MadeOn, paper)
	p.head(s)
	for _, section := range sheetSections(s) {
		p.section(section)
	}
	if s.StopAt > 0 {
		p.newPage() // one page is read, the next is written on
		p.tally(s)
		p.tags(s)
		p.plants(s)
	}
	p.hand(s)
	p.list("Afterwards", afterwards(s))
	return p.written("field sheet")
}

// written is the PDF.
func (p *paperPage) written(what string) ([]byte, error) {
	var out bytes.Buffer
	if err := p.pdf.Output(&out); err != nil {
		return nil, fmt.Errorf("write the %s: %w", what, err)
	}
	return out.Bytes(), nil
}

// Measures in millimetres, sizes of type in points.
const (
	margin     = 14.0
	footRoom   = 12.0
	bodySize   = 11.0
	smallSize  = 9.0
	headSize   = 13.0
	titleSize  = 20.0
	stopSize   = 30.0
	lineFactor = 0.46 // of a point, in millimetres: the type and a little air
)

const family = "go"

// paperPage is a PDF while it is written, from the top of a page down.
type paperPage struct {
	pdf           *fpdf.Fpdf
	y             float64
	width, height float64
	foot          string
}

// newPaper is an empty PDF, made on a day, with its first page begun. Each page has the
// foot and its number beneath.
func newPaper(title, foot string, on models.Date, paper models.Paper) *paperPage {
	size := "A4"
	if paper == models.PaperLetter {
		size = "Letter"
	}
	pdf := fpdf.New("P", "mm", size, "")
	made := madeAt(on)
	pdf.SetCreationDate(made)
	pdf.SetModificationDate(made)
	pdf.SetCatalogSort(true)
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetCellMargin(0)
	// The fonts are given as copies: what cuts them down must not reach the originals.
	pdf.AddUTF8FontFromBytes(family, "", slices.Clone(goregular.TTF))
	pdf.AddUTF8FontFromBytes(family, "B", slices.Clone(gobold.TTF))
	pdf.SetTitle(drawable(title), true)
	pdf.SetDrawColor(0, 0, 0)
	p := &paperPage{pdf: pdf, foot: foot}
	p.width, p.height = pdf.GetPageSize()
	p.newPage()
	return p
}

// madeAt is noon of a day: a PDF wants an instant, and its page knows only days.
func madeAt(day models.Date) time.Time { return day.At(12, time.UTC) }

func (p *paperPage) newPage() {
	p.pdf.AddPage()
	p.y = margin
	p.setType("", smallSize)
	p.text(margin, p.height-footRoom+3, p.cut(p.foot, p.inner()-22))
	page := fmt.Sprintf("page %d", p.pdf.PageNo())
	p.text(p.width-margin-p.pdf.GetStringWidth(page), p.height-footRoom+3, page)
}

func (p *paperPage) inner() float64 { return p.width - 2*margin }

// room goes to the next page where so much does not fit on this one.
func (p *paperPage) room(height float64) {
	if p.y+height > p.height-footRoom-2 {
		p.newPage()
	}
}

func (p *paperPage) setType(style string, size float64) { p.pdf.SetFont(family, style, size) }

// text sets one line with its top at y.
func (p *paperPage) text(x, y float64, text string) {
	_, unit := p.pdf.GetFontSize()
	p.pdf.Text(x, y+0.8*unit, drawable(text))
}

// drawable is a text as the fonts take it: characters beyond the first plane of
// Unicode, which they know nothing of, are shown as one that is missing.
func drawable(text string) string {
	return strings.Map(func(r rune) rune {
		if r > 0xFFFF {
			return '\uFFFD'
		}
		return r
	}, text)
}

// write sets a text in lines as wide as there is room, indented, with a mark
// before the first.
func (p *paperPage) write(style string, size, indent float64, mark, text string) {
	p.setType(style, size)
	for i, line := range p.lines(text, p.inner()-indent) {
		p.room(size * lineFactor)
		p.setType(style, size) // a new page set its foot in another
		if i == 0 {
			p.text(margin, p.y, mark)
		}
		p.text(margin+indent, p.y, line)
		p.y += size * lineFactor
	}
}

// lines breaks a text at spaces, and a word that is wider than a line within.
func (p *paperPage) lines(text string, width float64) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(drawable(text)) {
		for p.pdf.GetStringWidth(word) > width {
			if line != "" {
				lines, line = append(lines, line), ""
			}
			head := p.cut(word, width)
			lines, word = append(lines, head), word[len(head):]
		}
		switch longer := strings.TrimSpace(line + " " + word); {
		case p.pdf.GetStringWidth(longer) <= width:
			line = longer
		default:
			lines, line = append(lines, line), word
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// cut is as much of a text as fits, one character at least.
func (p *paperPage) cut(text string, width float64) string {
	text = drawable(text)
	fits := 0
	for i, r := range text {
		end := i + len(string(r))
		if fits > 0 && p.pdf.GetStringWidth(text[:end]) > width {
			break
		}
		fits = end
	}
	return text[:fits]
}

func (p *paperPage) gap(height float64) { p.y += height }

// head is what is seen first: which stand, which plant, and when to stop.
func (p *paperPage) head(s *models.Sheet) {
	for i, text := range sheetTitle(s) {
		switch i {
		case 0:
			p.write("", smallSize, 0, "", text)
		case 1:
			p.write("B", titleSize, 0, "", text)
		case 2:
			p.write("B", headSize+2, 0, "", text)
		default:
			p.write("", bodySize, 0, "", text)
		}
	}
	p.gap(2)
	p.stop(s)
}

// stop is the number to stop at in a frame, or a black bar where nothing may be
// cut.
func (p *paperPage) stop(s *models.Sheet) {
	const height = 17.0
	p.room(height)
	p.pdf.SetLineWidth(1)
	style := "D"
	if s.StopAt == 0 {
		p.pdf.SetFillColor(0, 0, 0)
		p.pdf.SetTextColor(255, 255, 255)
		style = "F"
	}
	p.pdf.Rect(margin, p.y, p.inner(), height, style)
	p.setType("B", stopSize)
	words := stopWords(s)
	_, unit := p.pdf.GetFontSize()
	p.text(margin+(p.inner()-p.pdf.GetStringWidth(words))/2, p.y+(height-unit)/2, words)
	p.pdf.SetTextColor(0, 0, 0)
	p.pdf.SetLineWidth(0.3)
	p.y += height + 1
}

func (p *paperPage) heading(text string, with float64) {
	p.gap(2)
	p.room(headSize*lineFactor + with)
	p.write("B", headSize, 0, "", text)
	p.gap(0.5)
}

func (p *paperPage) section(s section) {
	p.list(s.heading, s.texts)
	for range s.blanks {
		p.blankLine()
	}
}

func (p *paperPage) list(heading string, texts []string) {
	p.heading(heading, 2*bodySize*lineFactor)
	for _, text := range texts {
		p.write("", bodySize, 4, "•", text)
		p.gap(0.4)
	}
}

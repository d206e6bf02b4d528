package documents

import (
	"bytes"
	"fmt"

	"github.com/go-pdf/fpdf"

	"withybed/models"
)

// LandPDF is the page of a land manager as a PDF, black on white, on A4 unless the paper
// is letter. The same page makes the same bytes, but for the order in which its pictures
// are kept.
func LandPDF(l *models.Land, paper models.Paper) ([]byte, error) {
	page := pageOfLand(l)
	p := newPaper(page.Title, fmt.Sprintf("%s, %s to %s", page.Title, l.From, l.To), l.MadeOn, paper)
	p.write("B", headSize+3, 0, "", page.Title)
	p.gap(1)
	for _, text := range page.Lead {
		p.write("", bodySize, 0, "", text)
	}
	for i := range page.Parts {
		if err := p.landPart(&page.Parts[i], i); err != nil {
			return nil, err
		}
	}
	p.gap(3)
	for _, text := range page.Foot {
		p.write("", smallSize, 0, "", text)
	}
	return p.written("page of a land manager")
}

func (p *paperPage) landPart(part *landPart, number int) error {
	p.heading(part.Heading, 4*bodySize*lineFactor)
	if part.Over != "" {
		p.write("B", bodySize, 0, "", part.Over)
	}
	for _, f := range part.Facts {
		p.named(f)
	}
	for _, text := range part.Beyond {
		p.write("", bodySize, 4, "•", text)
	}
	p.gap(1.5)
	if len(part.Cuts) == 0 {
		p.write("", bodySize, 0, "", nothingCut)
	}
	for i := range part.Cuts {
		p.cutRow(&part.Cuts[i])
	}
	return p.course(part.Course, number)
}

// named is a fact behind its name.
func (p *paperPage) named(f fact) {
	const indent = 44.0
	p.write("", bodySize, indent, f.Name, f.Text)
}

// cutRow is an entry of the ledger: day and stems, then what it says.
func (p *paperPage) cutRow(row *landRow) {
	const indent = 38.0
	p.write("", smallSize, indent, fmt.Sprintf("%s   %s", row.Day, row.Stems), row.sentence())
	p.gap(0.6)
}

// courseWidth leaves room for a picture below a stand that fills half a page.
const courseWidth = 135.0 // millimetres

// course draws a picture.
func (p *paperPage) course(c models.Course, number int) error {
	drawn, err := CoursePicture(c, PNG)
	if err != nil {
		return err
	}
	name := fmt.Sprintf("course-%d", number)
	options := fpdf.ImageOptions{ImageType: "PNG"}
	info := p.pdf.RegisterImageOptionsReader(name, options, bytes.NewReader(drawn))
	if p.pdf.Err() {
		return fmt.Errorf("draw the course of %s: %w", c.Stand, p.pdf.Error())
	}
	height := courseWidth * info.Height() / info.Width()
	p.gap(2)
	p.room(height)
	p.pdf.ImageOptions(name, margin, p.y, courseWidth, height, false, options, 0, "")
	p.y += height
	return nil
}

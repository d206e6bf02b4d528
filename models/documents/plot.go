package documents

import (
	"bytes"
	"fmt"
	"image/color"
	"strings"
	"unicode"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

	"withybed/models"
)

// Format is how a picture is written.
type Format string

// The formats of a picture.
const (
	SVG Format = "svg"
	PNG Format = "png"
)

// The measures of a picture, in points of 1/72 inch.
const (
	pictureWidth  vg.Length = 576
	plotHeight    vg.Length = 360
	legendLine    vg.Length = 15
	legendMargin  vg.Length = 10
	sampleWidth   vg.Length = 34
	marksFrom     vg.Length = 370
	pixelsPerInch           = 150
	longestLabel            = 40 // characters
)

// picture is a plot with what explains it written beneath: lines to the left, the
// kinds of marks to the right.
type picture struct {
	plot  *plot.Plot
	lines []legendEntry
	marks []legendEntry
}

// legendEntry says what a sample means.
type legendEntry struct {
	label  string
	sample []plot.Thumbnailer
}

// newPicture is an empty plot with names on its axes.
func newPicture(title, across, up string) *picture {
	p := plot.New()
	p.BackgroundColor = color.White
	p.Title.Text, p.X.Label.Text, p.Y.Label.Text = title, across, up
	p.Title.Padding = vg.Points(6)
	for _, style := range []*text.Style{&p.Title.TextStyle, &p.X.Label.TextStyle, &p.Y.Label.TextStyle, &p.X.Tick.Label, &p.Y.Tick.Label} {
		style.Font.Variant = "Sans"
		style.Font.Size = vg.Points(10)
	}
	p.Title.TextStyle.Font.Size = vg.Points(12)
	grid := plotter.NewGrid()
	grid.Vertical.Color, grid.Horizontal.Color = color.Gray{0xe4}, color.Gray{0xe4}
	p.Add(grid)
	return &picture{plot: p}
}

// percentUp makes the upright axis one of percent, from none to all.
func (p *picture) percentUp() {
	p.plot.Y.Min, p.plot.Y.Max = 0, 100
	p.plot.Y.Tick.Marker = plot.TickerFunc(func(_, _ float64) []plot.Tick { return everyTick(0, 100, 20) })
}

// everyTick is a tick at every step from a number to another.
func everyTick(from, to, step float64) []plot.Tick {
	var ticks []plot.Tick
	for i := 0; from+float64(i)*step <= to; i++ {
		at := from + float64(i)*step
		ticks = append(ticks, plot.Tick{Value: at, Label: fmt.Sprintf("%.0f", at)})
	}
	return ticks
}

// sayInside writes a sentence into the middle of the plot.
func (p *picture) sayInside(sentence string) error {
	middle := plotter.XY{X: (p.plot.X.Min + p.plot.X.Max) / 2, Y: (p.plot.Y.Min + p.plot.Y.Max) / 2}
	labels, err := plotter.NewLabels(plotter.XYLabels{XYs: plotter.XYs{middle}, Labels: []string{sentence}})
	if err != nil {
		return err
	}
	style := &labels.TextStyle[0]
	style.Font.Variant, style.Font.Size = "Sans", vg.Points(11)
	style.XAlign, style.YAlign = draw.XCenter, draw.YCenter
	p.plot.Add(labels)
	return nil
}

// write draws the picture. The same picture gives the same bytes.
func (p *picture) write(format Format) ([]byte, error) {
	beneath := legendLine*vg.Length(max(len(p.lines), len(p.marks))) + legendMargin
	canvas, err := newCanvas(format, pictureWidth, plotHeight+beneath)
	if err != nil {
		return nil, err
	}
	c := draw.New(canvas)
	c.SetColor(color.White)
	c.Fill(c.Path())
	p.plot.Draw(draw.Crop(c, 4, -14, beneath, -6))
	p.legend(c, p.lines, 12, marksFrom, beneath)
	p.legend(c, p.marks, marksFrom, pictureWidth, beneath)
	var out bytes.Buffer
	if _, err := canvas.WriteTo(&out); err != nil {
		return nil, fmt.Errorf("write the picture: %w", err)
	}
	if format == SVG {
		return namedFonts(out.Bytes()), nil
	}
	return out.Bytes(), nil
}

func newCanvas(format Format, width, height vg.Length) (vg.CanvasWriterTo, error) {
	switch format {
	case SVG:
		return vgsvg.New(width, height), nil
	case PNG:
		return vgimg.PngCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(width, height), vgimg.UseDPI(pixelsPerInch))}, nil
	}
	return nil, models.InvalidQuestion("invalid", "format", string(format), "is %q, and a picture is written as svg or png", string(format))
}

// namedFonts names fonts of the same widths for viewers that lack the first.
func namedFonts(svg []byte) []byte {
	return bytes.ReplaceAll(svg, []byte(`style="font-family:Liberation Sans;`),
		[]byte(`style="font-family:'Liberation Sans',Arial,Helvetica,sans-serif;`))
}

// legend writes entries in a column beneath the plot.
func (p *picture) legend(c draw.Canvas, entries []legendEntry, from, to, top vg.Length) {
	style := p.plot.X.Tick.Label
	style.XAlign, style.YAlign = draw.XLeft, draw.YCenter
	style.Font.Size = vg.Points(9)
	for i, e := range entries {
		y := top - legendLine*vg.Length(i+1)
		sample := draw.Canvas{Canvas: c.Canvas, Rectangle: vg.Rectangle{
			Min: vg.Point{X: from, Y: y + 3}, Max: vg.Point{X: from + sampleWidth, Y: y + legendLine - 3},
		}}
		for _, s := range e.sample {
			s.Thumbnail(&sample)
		}
		words := e.label
		for n := len([]rune(words)); n > 0 && style.Width(words) > to-from-sampleWidth-12; n-- {
			words = shorten(e.label, n-1)
		}
		c.FillText(style, vg.Point{X: from + sampleWidth + 6, Y: y + legendLine/2}, words)
	}
}

// label is a text from people on one line, without what would break a picture or
// a terminal, and cut where it is long.
func label(text string) string {
	return shorten(strings.Map(func(r rune) rune {
		if !unicode.IsGraphic(r) {
			return '\uFFFD'
		}
		return r
	}, strings.Join(strings.Fields(strings.ToValidUTF8(text, "\uFFFD")), " ")), longestLabel)
}

// shorten cuts a text to a number of characters, and shows that it did.
func shorten(text string, most int) string {
	runes := []rune(text)
	if len(runes) <= most {
		return text
	}
	return strings.TrimRight(string(runes[:max(0, most-3)]), " ") + "..."
}

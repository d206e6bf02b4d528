package documents

import (
	"fmt"
	"image/color"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"withybed/models"
)

// How much the areas of a curve that stands alone cover.
const (
	limitShade   = 0x2c
	unknownShade = 0x58
)

// shade is the colour of an area. Where there are several curves their areas lie
// upon each other, and are lighter.
func (c *drawnCurve) shade(alpha uint8) color.NRGBA {
	if !c.alone {
		alpha /= 2
	}
	return faint(c.look.colour, alpha)
}

func (p *picture) area(corners plotter.XYs, fill color.Color) error {
	area, err := plotter.NewPolygon(corners)
	if err != nil {
		return err
	}
	area.Color, area.LineStyle.Width = fill, 0
	p.plot.Add(area)
	return nil
}

func (p *picture) line(at plotter.XYs, style draw.LineStyle) error {
	line, err := plotter.NewLine(at)
	if err != nil {
		return err
	}
	line.LineStyle = style
	p.plot.Add(line)
	return nil
}

// both draws a curve, and dotted where nothing is said of it.
func (p *picture) both(said, after plotter.XYs, style draw.LineStyle) error {
	if err := p.line(said, style); err != nil || len(after) == 0 {
		return err
	}
	style.Dashes = beyond
	return p.line(after, style)
}

// explain says what kinds of marks there are, in a colour of none of the groups.
func (p *picture) explain(groups []models.RootingCurve) {
	line := func(width vg.Length, dashes []vg.Length) plot.Thumbnailer {
		return &plotter.Line{LineStyle: draw.LineStyle{Color: neutral, Width: width, Dashes: dashes}}
	}
	p.mark(true, "rooted (thick)", line(vg.Points(1.8), nil))
	lost, limits, unknown, after := false, 0.0, false, false
	for i := range groups {
		c := drawnCurve{RootingCurve: &groups[i]}
		lost = lost || c.Lost > 0
		low := 0.0
		for _, point := range c.Curve {
			if point.Limits != nil {
				limits = c.Rate.Level
			}
			unknown = unknown || point.RootedUpper-low > 1e-8
			after = after || !c.said(point.Day)
			low = point.RootedLower
		}
	}
	p.mark(lost, "lost before rooting (thin)", line(vg.Points(0.7), nil))
	p.mark(limits > 0, fmt.Sprintf("%.0f %% limits of rooted", 100*limits), swatch(limitShade))
	p.mark(unknown, "rooted somewhere in here", swatch(unknownShade))
	p.mark(after, "too few watched to say", line(vg.Points(1.8), beyond))
}

func (p *picture) mark(shown bool, words string, sample plot.Thumbnailer) {
	if shown {
		p.marks = append(p.marks, legendEntry{words, []plot.Thumbnailer{sample}})
	}
}

func swatch(alpha uint8) plot.Thumbnailer { return &plotter.Polygon{Color: faint(neutral, alpha)} }

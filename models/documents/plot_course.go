package documents

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"withybed/models"
)

// CoursePicture draws the stems taken of a stand in its window against its limit, in
// steps over days, with its counts, the days on which it is not open, and today. Where
// more was taken than the limit is the space between is dark.
//
// It fails with a models.Error, kind Invalid, code invalid, for another format.
func CoursePicture(c models.Course, format Format) ([]byte, error) {
	p := newPicture("Stems taken in the window of "+label(c.Stand)+", and its limit", "last day of the window", "stems")
	most := 1
	for _, point := range c.Points {
		most = max(most, point.Taken, point.Limit)
	}
	p.plot.Y.Min, p.plot.Y.Max = 0, 1.12*float64(most)
	step := countStep(most)
	p.plot.Y.Tick.Marker = plot.TickerFunc(func(_, to float64) []plot.Tick { return everyTick(0, to, step) })
	p.datesAcross(c.From, c.To)
	for _, part := range []func(*models.Course) error{p.shut, p.overLimit, p.levels, p.counts, p.today} {
		if err := part(&c); err != nil {
			return nil, fmt.Errorf("draw the course of %s: %w", label(c.Stand), err)
		}
	}
	return p.write(format)
}

// shades are how dark the days are drawn on which a stand is not open.
var shades = map[models.StandState]uint8{models.StandClosed: 0x48, models.StandNestCheck: 0x2c, models.StandAtRest: 0x68}

// shut are upright bands over the days on which the stand is not open.
func (p *picture) shut(c *models.Course) error {
	for _, state := range []models.StandState{models.StandClosed, models.StandNestCheck, models.StandAtRest} {
		words, any := map[models.StandState]string{
			models.StandClosed: "closed", models.StandNestCheck: "closed until nests were looked for", models.StandAtRest: "at rest",
		}[state], false
		for _, span := range c.Shut {
			if span.State != state {
				continue
			}
			any = true
			from, to := float64(span.From.Sub(c.From)), float64(span.To.Sub(c.From)+1)
			if err := p.area(box(from, 0, min(to, p.plot.X.Max), p.plot.Y.Max), faint(neutral, shades[state])); err != nil {
				return err
			}
		}
		p.mark(any, words, swatch(shades[state]))
	}
	return nil
}

func box(left, low, right, high float64) plotter.XYs {
	return plotter.XYs{{X: left, Y: low}, {X: right, Y: low}, {X: right, Y: high}, {X: left, Y: high}}
}

// overLimit fills the space above the limit up to what was taken, and writes there by
// how much it is over.
func (p *picture) overLimit(c *models.Course) error {
	over := faint(looks[1].colour, 0xb0)
	labels := plotter.XYLabels{}
	for i, point := range c.Points {
		by := point.Taken - point.Limit
		if by <= 0 {
			continue
		}
		if err := p.area(box(p.stepAt(c, i), float64(point.Limit), p.stepAt(c, i+1), float64(point.Taken)), over); err != nil {
			return err
		}
		if i == 0 || by != c.Points[i-1].Taken-c.Points[i-1].Limit {
			labels.XYs = append(labels.XYs, plotter.XY{X: p.stepAt(c, i), Y: float64(point.Taken)})
			labels.Labels = append(labels.Labels, fmt.Sprintf("%d over", by))
		}
	}
	p.mark(len(labels.Labels) > 0, "over the limit", &plotter.Polygon{Color: over})
	return p.words(labels)
}

// words are texts just above points, to be read where colours are not.
func (p *picture) words(texts plotter.XYLabels) error {
	labels, err := plotter.NewLabels(texts)
	if err != nil || len(texts.Labels) == 0 {
		return err
	}
	for i := range labels.TextStyle {
		style := &labels.TextStyle[i]
		style.Font.Variant, style.Font.Size, style.Color = "Sans", vg.Points(9), looks[4].colour
	}
	labels.Offset = vg.Point{X: vg.Points(2), Y: vg.Points(3)}
	p.plot.Add(labels)
	return nil
}

// stepAt is where a step begins; behind the last one it is the end of the axis.
func (p *picture) stepAt(c *models.Course, i int) float64 {
	if i == len(c.Points) {
		return p.plot.X.Max
	}
	return float64(c.Points[i].On.Sub(c.From))
}

// levels are the two lines: what was taken, and the limit in dashes.
func (p *picture) levels(c *models.Course) error {
	for _, level := range []struct {
		words string
		look  look
		width vg.Length
		of    func(models.CoursePoint) int
	}{
		{"stems taken, with those set aside", looks[0], 1.8, func(point models.CoursePoint) int { return point.Taken }},
		{"limit", look{looks[4].colour, looks[1].dashes, looks[4].shape}, 1.4, func(point models.CoursePoint) int { return point.Limit }},
	} {
		var at plotter.XYs
		for i, point := range c.Points {
			y := float64(level.of(point))
			at = append(at, plotter.XY{X: p.stepAt(c, i), Y: y}, plotter.XY{X: p.stepAt(c, i+1), Y: y})
		}
		style := level.look.line(vg.Points(float64(level.width)))
		if err := p.line(at, style); err != nil {
			return err
		}
		p.lines = append(p.lines, legendEntry{level.words, []plot.Thumbnailer{&plotter.Line{LineStyle: style}}})
	}
	return nil
}

// counts are marks on the limit on the days of counts.
func (p *picture) counts(c *models.Course) error {
	if len(c.Surveys) == 0 {
		return nil
	}
	var at plotter.XYs
	for _, s := range c.Surveys {
		at = append(at, plotter.XY{X: float64(s.On.Sub(c.From)), Y: float64(limitOn(c, s.On))})
	}
	marks, err := plotter.NewScatter(at)
	if err != nil {
		return err
	}
	marks.GlyphStyle = draw.GlyphStyle{Color: looks[4].colour, Radius: vg.Points(4), Shape: draw.TriangleGlyph{}}
	p.plot.Add(marks)
	p.mark(true, "counted", marks)
	return nil
}

func limitOn(c *models.Course, day models.Date) int {
	limit := 0
	for _, point := range c.Points {
		if point.On.After(day) {
			break
		}
		limit = point.Limit
	}
	return limit
}

// today is an upright line where the days to come begin.
func (p *picture) today(c *models.Course) error {
	if c.Today.Before(c.From) || c.Today.After(c.To) {
		return nil
	}
	style := draw.LineStyle{Color: neutral, Width: vg.Points(0.8), Dashes: beyond}
	p.mark(true, "today, "+c.Today.String(), &plotter.Line{LineStyle: style})
	x := float64(c.Today.Sub(c.From))
	return p.line(plotter.XYs{{X: x, Y: 0}, {X: x, Y: p.plot.Y.Max}}, style)
}

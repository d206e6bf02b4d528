package documents

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"withybed/models"
	"withybed/models/stats"
)

// CurvePicture draws the share rooted by day, in percent of those stuck, with its
// limits, the stretches within which nothing is known, and the share lost. Beyond
// the last day with enough cuttings under watch curves are dotted. Groups that
// nobody has looked at are left out.
//
// It fails with a models.Error, kind Invalid, code invalid, for another format or
// more than MostGroups groups.
func CurvePicture(c models.CurveReport, format Format) ([]byte, error) {
	return overCurve(c, nil, format)
}

// FitPicture is the picture of the curve of one pool with its models drawn over it,
// up to the last day of a look, which shows how well they fit. Models without
// parameters are left out. It fails as CurvePicture does, and for several groups.
func FitPicture(c models.CurveReport, fit models.FitReport, format Format) ([]byte, error) {
	if len(fit.By) > 0 {
		return nil, models.InvalidQuestion("invalid", "by", nil, "must be left out: a picture holds the models of one pool, so pick it, as with treatment")
	}
	return overCurve(c, fittedCurves(fit.Fits), format)
}

// overCurve draws models over curves. Together they are at most MostGroups.
func overCurve(c models.CurveReport, fits []fittedCurve, format Format) ([]byte, error) {
	groups := lookedAt(c)
	if n := len(groups) + len(fits); n > MostGroups {
		return nil, models.Errorf(models.Invalid, "invalid", "a picture tells at most %d curves apart, and there are %d: ask for fewer groups", MostGroups, n)
	}
	p := newPicture(curveTitle(c.On), "days after sticking", "percent of those stuck")
	p.percentUp()
	last := lastDay(groups)
	p.daysAcross(last)
	if len(groups) == 0 {
		if err := p.sayInside("There is no batch whose roots were looked at."); err != nil {
			return nil, err
		}
		return p.write(format)
	}
	if err := p.curves(c.By, groups); err != nil {
		return nil, fmt.Errorf("draw the curve: %w", err)
	}
	for i, fit := range fits {
		if err := p.fitted(fit, looks[len(groups)+i], last); err != nil {
			return nil, fmt.Errorf("draw the model %s: %w", label(fit.name), err)
		}
	}
	return p.write(format)
}

func curveTitle(on models.Date) string {
	if on.IsZero() {
		return "Rooted, by days after sticking"
	}
	return "Rooted, by days after sticking, as known on " + on.String()
}

// lookedAt are the groups that have a curve.
func lookedAt(c models.CurveReport) []models.RootingCurve {
	var groups []models.RootingCurve
	for _, g := range c.Groups {
		if len(g.Curve) > 0 {
			groups = append(groups, g)
		}
	}
	return groups
}

// lastDay is the last day of a look at any group.
func lastDay(groups []models.RootingCurve) int {
	last := 0
	for _, g := range groups {
		last = max(last, g.Curve[len(g.Curve)-1].Day)
	}
	return last
}

// daysAcross makes the axis one of days, marked by weeks where they are many.
func (p *picture) daysAcross(last int) {
	p.plot.X.Min, p.plot.X.Max = 0, math.Max(7, 1.03*float64(last))
	step := dayStep(last)
	p.plot.X.Tick.Marker = plot.TickerFunc(func(_, to float64) []plot.Tick { return everyTick(0, to, float64(step)) })
}

// dayStep is the days between two marks of an axis, at most about twelve of them.
func dayStep(last int) int {
	for _, step := range []int{1, 2, 7, 14, 28} {
		if last/step <= 12 {
			return step
		}
	}
	step := 56
	for last/step > 12 {
		step *= 2
	}
	return step
}

// curves draws limits first, then what is not known, then lines and marks, so that
// nothing hides a line.
func (p *picture) curves(by []string, groups []models.RootingCurve) error {
	drawn := make([]drawnCurve, len(groups))
	for i := range groups {
		drawn[i] = drawnCurve{RootingCurve: &groups[i], look: looks[i], name: groupName(by, groups[i].Key), alone: len(groups) == 1}
		if !drawn[i].alone {
			drawn[i].letter = groupLetter(i)
		}
	}
	for _, part := range []func(*picture, *drawnCurve) error{(*picture).limits, (*picture).unknown, (*picture).lost, (*picture).rooted, (*picture).ends} {
		for i := range drawn {
			if err := part(p, &drawn[i]); err != nil {
				return err
			}
		}
	}
	p.explain(groups)
	return nil
}

// drawnCurve is a curve and how it is drawn.
type drawnCurve struct {
	*models.RootingCurve
	look         look
	name, letter string
	alone        bool
}

// groupName is what a group has in common, in words.
func groupName(by []string, key models.RootingKey) string {
	if len(by) == 0 {
		return "all batches"
	}
	words := make([]string, len(by))
	for i, name := range by {
		words[i] = strings.ReplaceAll(key[name], "_", " ")
		if name == "heated" || name == "mist" {
			words[i] = name + " " + key[name]
		}
	}
	return label(strings.Join(words, ", "))
}

// said says whether something is said of a day: up to tau.
func (c *drawnCurve) said(day int) bool { return c.Tau != nil && day <= *c.Tau }

// stairs are the corners of a share that jumps at the looks: of those of which
// something is said, and of those beyond.
func (c *drawnCurve) stairs(share func(models.CurvePoint) float64) (said, after plotter.XYs) {
	at := plotter.XY{}
	said = plotter.XYs{at}
	for _, point := range c.Curve {
		to := &said
		if !c.said(point.Day) {
			to = &after
			if len(after) == 0 {
				after = plotter.XYs{at}
			}
		}
		next := plotter.XY{X: float64(point.Day), Y: 100 * share(point)}
		*to = append(*to, plotter.XY{X: next.X, Y: at.Y}, next)
		at = next
	}
	return said, after
}

// limits is the band of limits, which hold from each look to the next, and the
// last of them as an upright line.
func (p *picture) limits(c *drawnCurve) error {
	var lower, upper plotter.XYs
	for _, point := range c.Curve {
		if point.Limits == nil {
			continue
		}
		x := float64(point.Day)
		if n := len(lower); n > 0 {
			lower, upper = append(lower, plotter.XY{X: x, Y: lower[n-1].Y}), append(upper, plotter.XY{X: x, Y: upper[len(upper)-1].Y})
		}
		lower, upper = append(lower, plotter.XY{X: x, Y: 100 * point.Limits[0]}), append(upper, plotter.XY{X: x, Y: 100 * point.Limits[1]})
	}
	if len(lower) == 0 {
		return nil
	}
	band := upper
	for i := len(lower) - 1; i >= 0; i-- {
		band = append(band, lower[i])
	}
	if err := p.area(band, c.shade(limitShade)); err != nil {
		return err
	}
	end := len(lower) - 1
	return p.line(plotter.XYs{lower[end], upper[len(lower)-1]}, draw.LineStyle{Color: faint(c.look.colour, 0x90), Width: vg.Points(1)})
}

// unknown are boxes over the stretches in which a share rooted at some time.
func (p *picture) unknown(c *drawnCurve) error {
	day, low := 0.0, 0.0
	for _, point := range c.Curve {
		to, high := float64(point.Day), 100*point.RootedUpper
		if high-low > 1e-6 {
			box := plotter.XYs{{X: day, Y: low}, {X: to, Y: low}, {X: to, Y: high}, {X: day, Y: high}}
			if err := p.area(box, c.shade(unknownShade)); err != nil {
				return err
			}
		}
		day, low = to, 100*point.RootedLower
	}
	return nil
}

// lost is the share lost by day, a thin line.
func (p *picture) lost(c *drawnCurve) error {
	if c.Lost == 0 {
		return nil
	}
	said, after := c.stairs(func(point models.CurvePoint) float64 { return point.LostLower })
	return p.both(said, after, c.look.line(vg.Points(0.7)))
}

// rooted is the share rooted by day, with a mark at looks.
func (p *picture) rooted(c *drawnCurve) error {
	said, after := c.stairs(func(point models.CurvePoint) float64 { return point.RootedLower })
	if err := p.both(said, after, c.look.line(vg.Points(1.8))); err != nil {
		return err
	}
	var marked plotter.XYs
	every := 1 + len(c.Curve)/25
	for i, point := range c.Curve {
		if i%every == 0 {
			marked = append(marked, plotter.XY{X: float64(point.Day), Y: 100 * point.RootedLower})
		}
	}
	return p.marked(c, marked)
}

func (p *picture) marked(c *drawnCurve, at plotter.XYs) error {
	marks, err := plotter.NewScatter(at)
	if err != nil {
		return err
	}
	marks.GlyphStyle = c.look.glyph()
	p.plot.Add(marks)
	words := fmt.Sprintf("%s: %d stuck, %d rooted", c.name, c.Cuttings, c.Rooted)
	if c.letter != "" {
		words = c.letter + "  " + words
	}
	p.lines = append(p.lines, legendEntry{words, []plot.Thumbnailer{&plotter.Line{LineStyle: c.look.line(vg.Points(1.8))}, marks}})
	return nil
}

// ends writes the letter of a group at the end of its curve.
func (p *picture) ends(c *drawnCurve) error {
	if c.letter == "" {
		return nil
	}
	last := c.Curve[len(c.Curve)-1]
	at := plotter.XYs{{X: float64(last.Day), Y: 100 * last.RootedLower}}
	labels, err := plotter.NewLabels(plotter.XYLabels{XYs: at, Labels: []string{c.letter}})
	if err != nil {
		return err
	}
	style := &labels.TextStyle[0]
	style.Font.Variant, style.Font.Size, style.Color, style.YAlign = "Sans", vg.Points(10), c.look.colour, draw.YCenter
	labels.Offset = vg.Point{X: vg.Points(5)}
	p.plot.Add(labels)
	return nil
}

// fittedCurve is a model to be drawn over the curve.
type fittedCurve struct {
	name   string
	rooted func(day float64) float64 // share of those stuck, rooted by a day after sticking
}

func fittedCurves(fits []models.RootingFit) []fittedCurve {
	var curves []fittedCurve
	for _, f := range fits {
		if p := f.Parameters; p != nil {
			law := stats.Law{Family: stats.Family(f.Family), Mu: p.Mu, Sigma: p.Sigma}
			curves = append(curves, fittedCurve{strings.ReplaceAll(f.Family, "_", " "), func(day float64) float64 { return p.PiRoot * law.By(day) }})
		}
	}
	return curves
}

// fitted draws a model from sticking to the last look.
func (p *picture) fitted(fit fittedCurve, l look, last int) error {
	const samples = 200
	var at plotter.XYs
	for i := range samples + 1 {
		day := float64(last) * float64(i) / samples
		at = append(at, plotter.XY{X: day, Y: 100 * fit.rooted(day)})
	}
	style := l.line(vg.Points(1.2))
	p.lines = append(p.lines, legendEntry{label(fit.name), []plot.Thumbnailer{&plotter.Line{LineStyle: style}}})
	return p.line(at, style)
}

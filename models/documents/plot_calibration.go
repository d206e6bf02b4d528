package documents

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// CalibrationPoint is some forecasts of about the same share, and what came of
// them.
type CalibrationPoint struct {
	Forecast float64 // mean share forecast, 0 to 1
	Observed float64 // share observed, 0 to 1
	Cases    int     // forecasts it stands for
}

// CalibrationPicture draws what came of forecasts against what they said. Were
// they right, the points would lie on the diagonal, but for chance. Beside each
// stands its number of cases. It fails with a models.Error, kind Invalid, code
// invalid, for another format.
func CalibrationPicture(points []CalibrationPoint, format Format) ([]byte, error) {
	p := newPicture("Forecasts, and what came of them", "percent forecast", "percent observed")
	p.percentUp()
	p.plot.X.Min, p.plot.X.Max, p.plot.X.Tick.Marker = 0, 100, p.plot.Y.Tick.Marker
	if len(points) == 0 {
		if err := p.sayInside("There is no forecast yet whose outcome is known."); err != nil {
			return nil, err
		}
		return p.write(format)
	}
	if err := p.calibration(points); err != nil {
		return nil, fmt.Errorf("draw the calibration: %w", err)
	}
	return p.write(format)
}

func (p *picture) calibration(points []CalibrationPoint) error {
	diagonal := draw.LineStyle{Color: neutral, Width: vg.Points(1), Dashes: looks[1].dashes}
	if err := p.line(plotter.XYs{{}, {X: 100, Y: 100}}, diagonal); err != nil {
		return err
	}
	at, cases, all := plotter.XYs{}, []string{}, 0
	for _, point := range points {
		at = append(at, plotter.XY{X: 100 * point.Forecast, Y: 100 * point.Observed})
		cases = append(cases, fmt.Sprint(point.Cases))
		all += point.Cases
	}
	marks, err := plotter.NewScatter(at)
	if err != nil {
		return err
	}
	marks.GlyphStyle = looks[0].glyph()
	labels, err := plotter.NewLabels(plotter.XYLabels{XYs: at, Labels: cases})
	if err != nil {
		return err
	}
	for i := range labels.TextStyle {
		labels.TextStyle[i].Font.Variant, labels.TextStyle[i].Font.Size, labels.TextStyle[i].YAlign = "Sans", vg.Points(9), draw.YCenter
	}
	labels.Offset = vg.Point{X: vg.Points(5)}
	p.plot.Add(marks, labels)
	p.lines = append(p.lines, legendEntry{fmt.Sprintf("forecasts, with their number: %d in all", all), []plot.Thumbnailer{marks}})
	p.marks = append(p.marks, legendEntry{"forecast as observed", []plot.Thumbnailer{&plotter.Line{LineStyle: diagonal}}})
	return nil
}

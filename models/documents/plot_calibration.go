package documents

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"withybed/models"
)

// CalibrationPicture draws what came of forecasts against what they said. Were
// they right, the points would lie on the diagonal, but for chance. Beside each
// stands the number of looks it is of. It fails with a models.Error, kind Invalid,
// code invalid, for another format.
func CalibrationPicture(c models.Calibration, format Format) ([]byte, error) {
	p := newPicture("Forecasts, and what came of them", "percent forecast", "percent observed")
	p.percentUp()
	p.plot.X.Min, p.plot.X.Max, p.plot.X.Tick.Marker = 0, 100, p.plot.Y.Tick.Marker
	if len(c.Points) == 0 {
		if err := p.sayInside("There is no forecast yet whose outcome is known."); err != nil {
			return nil, err
		}
		return p.write(format)
	}
	if err := p.calibration(c.Points); err != nil {
		return nil, fmt.Errorf("draw the calibration: %w", err)
	}
	return p.write(format)
}

func (p *picture) calibration(points []models.CalibrationPoint) error {
	diagonal := draw.LineStyle{Color: neutral, Width: vg.Points(1), Dashes: looks[1].dashes}
	if err := p.line(plotter.XYs{{}, {X: 100, Y: 100}}, diagonal); err != nil {
		return err
	}
	at, looked, all := plotter.XYs{}, []string{}, 0
	for _, point := range points {
		at = append(at, plotter.XY{X: 100 * point.Forecast, Y: 100 * point.Observed})
		looked = append(looked, fmt.Sprint(point.Looks))
		all += point.Looks
	}
	marks, err := plotter.NewScatter(at)
	if err != nil {
		return err
	}
	marks.GlyphStyle = looks[0].glyph()
	labels, err := plotter.NewLabels(plotter.XYLabels{XYs: at, Labels: looked})
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

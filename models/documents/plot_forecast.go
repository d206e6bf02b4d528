package documents

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"withybed/models"
)

// BatchForecast is what is expected of a batch, for a picture.
type BatchForecast struct {
	Batch    string
	Cuttings int           // stuck, 1 or more
	Rooted   int           // found rooted at the last check
	Wanted   int           // rooted ones wanted; 0 where nobody said
	Days     []ForecastDay // in the order of days, from the last check on
}

// ForecastDay is the number rooted that is expected by a day, and the band in
// which it lies with a chance of 80 %.
type ForecastDay struct {
	On                     models.Date
	Expected, Lower, Upper float64
}

// ForecastPicture draws the number rooted that is expected of a batch by day, with
// its 80 % band and the number wanted. It fails with a models.Error, kind Invalid,
// code invalid, for another format.
func ForecastPicture(f BatchForecast, format Format) ([]byte, error) {
	p := newPicture("Rooted cuttings expected of batch "+label(f.Batch), "day", "cuttings rooted")
	p.plot.Y.Min, p.plot.Y.Max = 0, 1.02*float64(max(f.Cuttings, f.Wanted, 1))
	step := countStep(max(f.Cuttings, f.Wanted, 1))
	p.plot.Y.Tick.Marker = plot.TickerFunc(func(_, to float64) []plot.Tick { return everyTick(0, to, step) })
	if len(f.Days) == 0 {
		p.plot.X.Min, p.plot.X.Max, p.plot.X.Tick.Marker = 0, 1, plot.ConstantTicks{}
		if err := p.sayInside("There is no forecast for this batch."); err != nil {
			return nil, err
		}
		return p.write(format)
	}
	p.datesAcross(f.Days[0].On, f.Days[len(f.Days)-1].On)
	if err := p.forecast(&f); err != nil {
		return nil, fmt.Errorf("draw the forecast: %w", err)
	}
	return p.write(format)
}

// countStep is a round number between two marks of an axis of counts.
func countStep(most int) float64 {
	for step := 1; ; step *= 10 {
		for _, times := range []int{1, 2, 5} {
			if most/(step*times) <= 8 {
				return float64(step * times)
			}
		}
	}
}

// datesAcross makes the axis one of days from a date on, with six dates or fewer.
func (p *picture) datesAcross(from, to models.Date) {
	days := max(1, to.Sub(from))
	p.plot.X.Min, p.plot.X.Max = 0, float64(days)
	step := (days + 4) / 5
	var ticks plot.ConstantTicks
	for day := 0; day <= days; day += step {
		ticks = append(ticks, plot.Tick{Value: float64(day), Label: from.Add(day).String()})
	}
	p.plot.X.Tick.Marker = ticks
}

func (p *picture) forecast(f *BatchForecast) error {
	var expected, lower, upper plotter.XYs
	for _, day := range f.Days {
		x := float64(day.On.Sub(f.Days[0].On))
		expected, lower, upper = append(expected, plotter.XY{X: x, Y: day.Expected}), append(lower, plotter.XY{X: x, Y: day.Lower}), append(upper, plotter.XY{X: x, Y: day.Upper})
	}
	band := upper
	for i := len(lower) - 1; i >= 0; i-- {
		band = append(band, lower[i])
	}
	shade := faint(looks[0].colour, limitShade)
	if err := p.area(band, shade); err != nil {
		return err
	}
	line := looks[0].line(vg.Points(1.8))
	if err := p.line(expected, line); err != nil {
		return err
	}
	p.lines = append(p.lines,
		legendEntry{fmt.Sprintf("expected; %d of %d rooted at the last check", f.Rooted, f.Cuttings), []plot.Thumbnailer{&plotter.Line{LineStyle: line}}},
		legendEntry{"in here with a chance of 80 %", []plot.Thumbnailer{&plotter.Polygon{Color: shade}}})
	return p.wanted(f.Wanted)
}

// wanted is a level line at the number wanted.
func (p *picture) wanted(number int) error {
	if number <= 0 {
		return nil
	}
	style := draw.LineStyle{Color: looks[1].colour, Width: vg.Points(1.2), Dashes: looks[1].dashes}
	p.marks = append(p.marks, legendEntry{fmt.Sprintf("%d wanted", number), []plot.Thumbnailer{&plotter.Line{LineStyle: style}}})
	y := float64(number)
	return p.line(plotter.XYs{{X: p.plot.X.Min, Y: y}, {X: p.plot.X.Max, Y: y}}, style)
}

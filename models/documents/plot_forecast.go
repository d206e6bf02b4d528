package documents

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"withybed/models"
)

// ForecastPicture draws the number rooted that is expected of the one batch of a
// report by day, with its 80 % band and the number wanted. It fails with a
// models.Error, kind Invalid, code invalid, for several batches or another format.
func ForecastPicture(r models.ForecastReport, format Format) ([]byte, error) {
	switch len(r.Batches) {
	case 0:
		return emptyForecast("Rooted cuttings expected", "There is no open batch to forecast.", format)
	case 1:
		return batchForecast(&r.Batches[0], format)
	}
	return nil, models.InvalidQuestion("invalid", "batch", nil, "must name one: a picture shows one open batch, and the answer has %d", len(r.Batches))
}

func batchForecast(b *models.BatchForecast, format Format) ([]byte, error) {
	title := "Rooted cuttings expected of batch " + label(b.Batch)
	if len(b.Days) == 0 {
		return emptyForecast(title, "There is no forecast for this batch.", format)
	}
	p := countsOverDays(title, max(b.Cuttings, b.Pot.Wanted))
	p.datesAcross(b.Days[0].On, b.Days[len(b.Days)-1].On)
	if err := p.forecast(b); err != nil {
		return nil, fmt.Errorf("draw the forecast: %w", err)
	}
	return p.write(format)
}

// emptyForecast is a picture that says why there is nothing on it.
func emptyForecast(title, why string, format Format) ([]byte, error) {
	p := countsOverDays(title, 0)
	p.plot.X.Min, p.plot.X.Max, p.plot.X.Tick.Marker = 0, 1, plot.ConstantTicks{}
	if err := p.sayInside(why); err != nil {
		return nil, err
	}
	return p.write(format)
}

// countsOverDays is an empty plot of cuttings, up to a number of them, over days.
func countsOverDays(title string, most int) *picture {
	most = max(most, 1)
	p := newPicture(title, "day", "cuttings rooted")
	p.plot.Y.Min, p.plot.Y.Max = 0, 1.02*float64(most)
	step := countStep(most)
	p.plot.Y.Tick.Marker = plot.TickerFunc(func(_, to float64) []plot.Tick { return everyTick(0, to, step) })
	return p
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

func (p *picture) forecast(b *models.BatchForecast) error {
	var expected, lower, upper plotter.XYs
	for _, day := range b.Days {
		x := float64(day.On.Sub(b.Days[0].On))
		expected = append(expected, plotter.XY{X: x, Y: day.Expected})
		lower, upper = append(lower, plotter.XY{X: x, Y: float64(day.Lower)}), append(upper, plotter.XY{X: x, Y: float64(day.Upper)})
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
		legendEntry{fmt.Sprintf("expected; %d of %d rooted at the last check", b.Rooted, b.Cuttings), []plot.Thumbnailer{&plotter.Line{LineStyle: line}}},
		legendEntry{"in here with a chance of 80 %", []plot.Thumbnailer{&plotter.Polygon{Color: shade}}})
	return p.wanted(b.Pot.Wanted)
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

package rules

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"withybed/models"
	"withybed/models/stats"
)

const (
	bandLevel   = 0.8 // of the bands of forecasts
	potChance   = 0.9 // with which the wanted number is to be rooted
	wantedShare = 0.8 // of the expected final number, where none is asked for
	pointEvery  = 7   // days between two points of a forecast
	nextDays    = 7   // over which rootings are expected
)

// ForecastAsk says what is wanted of a forecast.
type ForecastAsk struct {
	On     models.Date // the day of the answer
	Wanted int         // rooted cuttings wanted of each batch; 0 is four fifths of the expected final number
}

// ForecastReport is what is expected of the open batches among those shown, going
// by all batches known: in the order of their codes. It fails where ctx ends.
func ForecastReport(ctx context.Context, known []Watched, shown func(*Watched) bool, ask ForecastAsk) (models.ForecastReport, error) {
	report := models.ForecastReport{On: ask.On, Batches: []models.BatchForecast{}, Notes: []string{}}
	maker := newForecaster(known)
	for i := range known {
		w := &known[i]
		if !foreseeable(w) || !shown(w) {
			continue
		}
		if err := ctx.Err(); err != nil {
			return report, err
		}
		forecast, err := maker.forecast(ctx, w, ask)
		if err != nil {
			return report, fmt.Errorf("forecast batch %s: %w", w.Lot.ID, err)
		}
		report.Batches = append(report.Batches, forecast)
	}
	slices.SortFunc(report.Batches, func(a, b models.BatchForecast) int { return cmp.Compare(a.Batch, b.Batch) })
	report.Notes = append(report.Notes, "a forecast brings a look forward at most: whether a tray is fit to pot is seen by its roots")
	return report, nil
}

// foreseeable says that a batch is open: something of it can still root.
func foreseeable(w *Watched) bool { return !w.Lot.Finished && w.Lot.Open() > 0 }

// stateOf is a batch as its last look at roots left it.
func stateOf(l *stats.Lot) stats.LotState {
	s := stats.LotState{Rooted: l.Rooted(), Lost: l.Lost(), Open: l.Open()}
	for _, k := range l.Looks {
		if k.Saw == stats.SawRoots {
			s.Day = int(k.Day)
		}
	}
	return s
}

// prospect is what becomes of a batch, and what stands behind that.
func (f *forecaster) prospect(ctx context.Context, w *Watched) (*stats.Prospect, backing, error) {
	b, err := f.behind(ctx, w)
	if err != nil {
		return nil, b, err
	}
	p, err := stats.Foretell(b.law, b.view.Rho, stateOf(&w.Lot))
	return p, b, err
}

// horizonOf is the last day of which a forecast speaks: twice the days after which
// a batch counts as final, and two months beyond the last look where that is later.
func horizonOf(w *Watched) int { return max(2*w.FinalAt, w.Lot.LastDay()+60) }

func (f *forecaster) forecast(ctx context.Context, w *Watched, ask ForecastAsk) (models.BatchForecast, error) {
	p, b, err := f.prospect(ctx, w)
	if err != nil {
		return models.BatchForecast{}, err
	}
	view := models.BatchForecast{
		Batch: w.Lot.ID, Taxon: w.Keys["taxon"], Treatment: w.Keys["treatment"], Bench: w.Keys["bench"],
		StuckOn: w.StuckOn, LastDay: w.Lot.LastDay(), Cuttings: w.Lot.Cuttings,
		Rooted: p.Rooted, Lost: p.Lost, Open: p.Open, Pool: b.view,
		T90: b.law.Rooting.Quantile(0.9), Notes: notesOn(w, p, &b),
	}
	ever := math.Inf(1)
	view.ExpectedFinal, view.StillRoots = p.Expected(ever), p.Chance(ever)
	view.FinalLower, view.FinalUpper, _ = p.Band(ever, bandLevel)
	view.Pot = potDay(w, p, cmp.Or(ask.Wanted, UsualWanted(p)))
	today := max(p.Day, ask.On.Sub(w.StuckOn))
	if ask.On.IsZero() { // a file has no day of its own
		today = p.Day
	}
	view.NextWeek = p.Expected(float64(today+nextDays)) - p.Expected(float64(today))
	view.HalfDay = halfOf(w, p, &b.law.Rooting)
	view.Days = forecastDays(w, p)
	return view, nil
}

// UsualWanted is the number wanted where nobody says another: four fifths of what is
// expected in the end, rounded up.
func UsualWanted(p *stats.Prospect) int {
	return int(math.Ceil(wantedShare*p.Expected(math.Inf(1)) - 1e-9))
}

func potDay(w *Watched, p *stats.Prospect, wanted int) models.ForecastDue {
	due := models.ForecastDue{Wanted: wanted, Status: "not_reached"}
	day, ok := p.FirstDay(wanted, potChance, horizonOf(w))
	if !ok {
		return due
	}
	on := w.StuckOn.Add(day)
	due.Status, due.Day, due.On = "by_day", &day, &on
	if wanted <= p.Rooted {
		due.Status = "now"
	}
	return due
}

// halfOf is the day by which half of those still to root should have done so.
func halfOf(w *Watched, p *stats.Prospect, law *stats.Law) *int {
	day, ok := law.HalfAfter(p.Day, horizonOf(w))
	if !ok || p.Open == 0 {
		return nil
	}
	return &day
}

// forecastDays are points a week apart, from the last look until next to nothing
// more is expected.
func forecastDays(w *Watched, p *stats.Prospect) []models.ForecastDay {
	var days []models.ForecastDay
	final := p.Expected(math.Inf(1))
	for day := p.Day; day <= horizonOf(w); day += pointEvery {
		at := models.ForecastDay{Day: day, On: w.StuckOn.Add(day), Expected: p.Expected(float64(day))}
		at.Lower, at.Upper, _ = p.Band(float64(day), bandLevel)
		if days = append(days, at); final-at.Expected < 0.05 {
			break
		}
	}
	return days
}

// notesOn are what to know before a forecast is used.
func notesOn(w *Watched, p *stats.Prospect, b *backing) []string {
	notes := []string{}
	say := func(format string, args ...any) { notes = append(notes, fmt.Sprintf(format, args...)) }
	if b.view.Level == levelPrior {
		say("no pool of batches here tells how these root, so this goes by general experience, and how far that is off is not in the band: %s", b.view.Basis)
	}
	if b.doubt != "" {
		say("%s", b.doubt)
	}
	if b.view.RhoAssumed && b.view.Level != levelPrior {
		say("%d closed batches in the pool, and it takes %d to see how much batches differ: a correlation of %.2f is taken", b.view.Closed, fewestForRho, stats.UsualRho)
	}
	if !w.Lot.Seen() {
		say("nobody has looked at its roots yet")
	}
	if w.Keys["heated"] == "no" {
		say("it stands without bottom heat: in the cold it takes longer than a pool with warm trays in it says")
	}
	if p.Day > w.FinalAt {
		say("it is past day %d, when most of its kind are final", w.FinalAt)
	}
	return notes
}

package rules

import (
	"maps"
	"slices"

	"withybed/models"
	"withybed/models/stats"
)

// bandScore is how often bands held, batch by batch: looks at one batch are not
// independent of each other.
type bandScore struct {
	batches map[string]*stats.Share // looks that were held, of looks
	mass    float64
	looks   int
}

func (s *bandScore) add(batch string, held bool, mass float64) {
	if s.batches == nil {
		s.batches = map[string]*stats.Share{}
	}
	of := s.batches[batch]
	if of == nil {
		of = &stats.Share{}
		s.batches[batch] = of
	}
	of.Stuck++
	if held {
		of.Rooted++
	}
	s.mass += mass
	s.looks++
}

func (s *bandScore) view() models.HeldShare {
	view := models.HeldShare{Looks: s.looks, Batches: len(s.batches), Expected: mean(s.mass, s.looks)}
	if s.looks == 0 {
		return view
	}
	var shares []stats.Share
	for _, id := range slices.Sorted(maps.Keys(s.batches)) {
		shares = append(shares, *s.batches[id])
	}
	rate := stats.CrudeRate(shares, rootingLevel)
	view.Held = &rate.Estimate
	if len(shares) >= fewestToDraw {
		view.Lower, view.Upper = &rate.Lower, &rate.Upper
	}
	return view
}

// dayScore is how far foretold days lay from what came.
type dayScore struct {
	forecasts, inside, undated, never int
	errors, brier                     float64
}

// add holds the day by which the wanted number was foretold against the looks. The
// number came after the last look without it and by the first with it; a day
// outside of that is off by the whole days to the nearer end. What never had the
// number is judged by the chance it was given of it by its last look.
func (s *dayScore) add(w *Watched, p *stats.Prospect, came []outcome) {
	wanted := UsualWanted(p)
	if wanted <= p.Rooted {
		return
	}
	first := slices.IndexFunc(came, func(o outcome) bool { return o.rooted >= wanted })
	if first < 0 {
		chance := p.AtLeast(wanted, float64(came[len(came)-1].day))
		s.never++
		s.brier += chance * chance
		return
	}
	after := p.Day
	if first > 0 {
		after = came[first-1].day
	}
	day, ok := p.FirstDay(wanted, potChance, horizonOf(w))
	if !ok {
		s.undated++
		return
	}
	off := max(after+1-day, day-came[first].day, 0)
	s.forecasts++
	s.errors += float64(off)
	if off == 0 {
		s.inside++
	}
}

func (s *dayScore) view() models.DayScore {
	return models.DayScore{
		Forecasts: s.forecasts, Inside: s.inside, MeanError: mean(s.errors, s.forecasts),
		Undated: s.undated, Never: s.never, NeverBrier: mean(s.brier, s.never),
	}
}

// countScore is how close foretold counts came, beside last season's batches at the
// same age.
type countScore struct {
	forecast, season float64
	looks            int
	batches          map[string]bool
}

func (s *countScore) add(alike []Watched, w *Watched, p *stats.Prospect, at outcome) {
	before, ok := lastSeason(alike, w, at.day)
	if !ok {
		return
	}
	n := w.Lot.Cuttings
	pmf := make([]float64, n+1)
	copy(pmf[min(p.Rooted, n):], p.Counts(float64(at.day)))
	s.forecast += stats.RankedScore(pmf, at.rooted)
	s.season += stats.RankedScore(stats.BetaBinomialCounts(n, before.mean, before.rho), at.rooted)
	s.looks++
	if s.batches == nil {
		s.batches = map[string]bool{}
	}
	s.batches[w.Lot.ID] = true
}

func (s *countScore) view() models.CountScore {
	return models.CountScore{
		Forecast: mean(s.forecast, s.looks), LastSeason: mean(s.season, s.looks), Looks: s.looks, Batches: len(s.batches),
	}
}

// seasonLaw is a beta-binomial law of the number rooted by an age.
type seasonLaw struct{ mean, rho float64 }

// lastSeason is the law of those among batches of the same taxon and kind that were
// stuck in the season before, by the same age, as far as they were known; ok is false
// without any that were watched so long.
func lastSeason(alike []Watched, w *Watched, age int) (law seasonLaw, ok bool) {
	month, day := w.StuckOn.MonthDay()
	from, to := GrowthYear(models.NewDate(w.StuckOn.Year()-1, month, day))
	var shares []stats.Share
	rooted, stuck := 0, 0
	for i := range alike {
		b := &alike[i]
		if b.StuckOn.Before(from) || b.StuckOn.After(to) || b.Lot.LastDay() < age {
			continue
		}
		then := b.Lot.Until(age)
		shares = append(shares, stats.Share{Rooted: then.Rooted(), Stuck: then.Cuttings})
		rooted, stuck = rooted+then.Rooted(), stuck+then.Cuttings
	}
	if len(shares) == 0 {
		return law, false
	}
	law.mean = (float64(rooted) + 0.5) / (float64(stuck) + 1)
	law.rho, _ = rhoOf(shares)
	return law, true
}

package rules

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"withybed/models"
	"withybed/models/stats"
)

// tiedWithin is how many design effects apart the criteria of two families may lie
// for them to be as good as each other.
const tiedWithin = 2

// FitOf is what the families of laws say of a pool: all of them, ranked by the
// criterion that allows for batches. Families within two design effects of the
// best are as good; what hangs on the choice between them is noted. It fails where ctx
// ends.
func FitOf(ctx context.Context, p Pool) (models.FitGroup, error) {
	g := models.FitGroup{Key: p.Key, RootingCounts: countsOf(&p), Fits: []models.RootingFit{}, Tied: []string{}, Notes: []string{}}
	fits, err := stats.FitCure(ctx, p.Lots())
	if err != nil {
		return models.FitGroup{}, err
	}
	for i := range fits {
		g.Fits = append(g.Fits, fitView(&fits[i]))
	}
	good := goodFits(fits)
	if len(good) == 0 {
		return g, nil
	}
	tied := tiedFits(good)
	g.Selected = string(tied[0].Family)
	for _, f := range tied[1:] {
		g.Tied = append(g.Tied, string(f.Family))
	}
	g.Notes = fitNotes(tied)
	return g, nil
}

// goodFits are those with numbers.
func goodFits(fits []stats.CureFit) []stats.CureFit {
	return slices.DeleteFunc(slices.Clone(fits), func(f stats.CureFit) bool { return !f.OK() })
}

// fewestBehind is how many batches of a pool must have been looked at before its law
// stands behind anything: a forecast, or a look that is brought forward.
const fewestBehind = 3

// bestFit is the fit of a pool that is used, and where there is none the reason. It
// fails where ctx ends.
func bestFit(ctx context.Context, lots []stats.Lot) (best stats.CureFit, reason string, err error) {
	if len(lots) < fewestBehind {
		return best, fmt.Sprintf("%s looked at, and it takes %d", batches(len(lots)), fewestBehind), nil
	}
	fits, err := stats.FitCure(ctx, lots)
	if err != nil {
		return best, "", err
	}
	good := goodFits(fits)
	if len(good) == 0 {
		return best, fits[0].Reason, nil
	}
	return tiedFits(good)[0], "", nil
}

func batches(n int) string {
	if n == 1 {
		return "1 batch"
	}
	return fmt.Sprintf("%d batches", n)
}

// tiedFits are the best fit and those as good, best first. Where a fit has no
// criterion that allows for batches all are held against each other by Akaike's.
func tiedFits(fits []stats.CureFit) []stats.CureFit {
	criterion := func(f *stats.CureFit) float64 { return f.AIC }
	if !slices.ContainsFunc(fits, func(f stats.CureFit) bool { return f.CLIC == nil }) {
		criterion = func(f *stats.CureFit) float64 { return *f.CLIC }
	}
	slices.SortStableFunc(fits, func(a, b stats.CureFit) int { return cmp.Compare(criterion(&a), criterion(&b)) })
	limit := criterion(&fits[0]) + tiedWithin*fits[0].Deff
	return slices.DeleteFunc(fits, func(f stats.CureFit) bool { return criterion(&f) > limit })
}

// fitNotes are what hangs on the choice among fits that are as good. Shares that the
// looks do not tell are left out.
func fitNotes(tied []stats.CureFit) []string {
	notes := []string{}
	open := slices.ContainsFunc(tied, func(f stats.CureFit) bool { return f.Status == stats.PiNotIdentified })
	if len(tied) > 1 {
		days, shares := []float64{}, []float64{}
		for i := range tied {
			days, shares = append(days, tied[i].Rooting.Quantile(0.9)), append(shares, tied[i].PiRoot)
		}
		note := fmt.Sprintf("%d families fit as well as each other: over them nine tenths of those that root have rooted by day %.0f to %.0f",
			len(tied), slices.Min(days), slices.Max(days))
		if !open {
			note += fmt.Sprintf(", and %.1f to %.1f %% root in the end", 100*slices.Min(shares), 100*slices.Max(shares))
		}
		notes = append(notes, note)
	}
	if open {
		notes = append(notes, "the looks do not tell the share that never roots: leave the shares out of tables, and look again later")
	}
	return notes
}

func fitView(f *stats.CureFit) models.RootingFit {
	view := models.RootingFit{Family: string(f.Family), Status: string(f.Status), Reason: f.Reason}
	if !f.OK() {
		return view
	}
	view.LogLikelihood, view.AIC, view.CLIC = &f.LogLikelihood, &f.AIC, f.CLIC
	view.Parameters = &models.FitParameters{
		PiRoot: f.PiRoot, PiLoss: f.PiLoss, PiNever: f.PiNever, Mu: f.Rooting.Mu, Sigma: f.Rooting.Sigma,
	}
	if pi, half, ok := f.Limits(rootingLevel); ok {
		view.PiRootLimits, view.T50Limits = &[2]float64{pi.Lower, pi.Upper}, &[2]float64{half.Lower, half.Upper}
	}
	if f.PiLoss > 0 {
		view.Parameters.LossMu, view.Parameters.LossSigma = &f.Losing.Mu, &f.Losing.Sigma
	}
	view.T10, view.T50, view.T90 = rootedByDay(f, 0.1), rootedByDay(f, 0.5), rootedByDay(f, 0.9)
	view.Errors = models.FitErrorPair{Naive: errorsView(f.Naive), Clustered: errorsView(f.Clustered)}
	return view
}

func rootedByDay(f *stats.CureFit, q float64) *float64 {
	day := f.Rooting.Quantile(q)
	return &day
}

func errorsView(e *stats.CureErrors) *models.FitErrors {
	if e == nil {
		return nil
	}
	return &models.FitErrors{LogitPiRoot: e.LogitPiRoot, LogT50: e.LogT50}
}

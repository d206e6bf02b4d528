package rules

import (
	"slices"

	"withybed/models"
	"withybed/models/stats"
)

// The endings of an estimate of how far batches differ.
const (
	spreadEstimated    = "estimated"
	spreadNone         = "no_overdispersion"
	spreadNotEstimable = "not_estimable"
)

// overdispersionOf is how far the closed batches of a pool differ, or where fewer
// than two are closed, all of them on the last day on which the roots of all were
// looked at. Open batches would look like failures.
func overdispersionOf(j *judged) models.Overdispersion {
	shares := j.closedShares()
	if len(shares) < 2 {
		if day, ok := commonDay(j.lots); ok {
			shares = sharesOn(j.lots, day)
		}
	}
	view := models.Overdispersion{Status: spreadNotEstimable, Batches: len(shares), LeftOut: len(j.lots) - len(shares)}
	fit, err := stats.FitBetaBinomial(shares)
	if err != nil {
		view.Reason = err.Error()
		return view
	}
	view.Status = spreadEstimated
	if fit.Rho == 0 {
		view.Status = spreadNone
	}
	view.Mu, view.Theta, view.Rho = &fit.Mu, &fit.Theta, &fit.Rho
	view.LogLikelihood, view.LogLikelihoodBinomial = &fit.LogLikelihood, &fit.LogLikelihoodBinomial
	view.TaroneZ, view.TaroneP = &fit.TaroneZ, &fit.TaroneP
	return view
}

// closedShares are those of the closed batches, rooted by the day each is final.
func (j *judged) closedShares() []stats.Share {
	shares := make([]stats.Share, 0, j.closed)
	for i := range j.pool.Batches {
		if b := &j.pool.Batches[i]; b.Lot.Seen() && b.Closed() {
			shares = append(shares, b.share())
		}
	}
	return shares
}

// share is what had rooted of a closed batch by the day it is final, as the first
// look at its roots on that day or later found: what rooted long after it is left
// out.
func (w *Watched) share() stats.Share {
	day := w.Lot.LastDay()
	for _, k := range w.Lot.Looks {
		if int(k.Day) >= w.FinalAt && k.Saw == stats.SawRoots {
			day = int(k.Day)
			break
		}
	}
	known := w.Lot.Until(day)
	return shareOf(&known)
}

// commonDay is the last day on which the roots of all lots were looked at.
func commonDay(lots []stats.Lot) (day int, ok bool) {
	if len(lots) == 0 {
		return 0, false
	}
	for _, k := range slices.Backward(lots[0].Looks) {
		if k.Saw == stats.SawRoots && !slices.ContainsFunc(lots, func(l stats.Lot) bool { return !lookedAtOn(&l, k.Day) }) {
			return int(k.Day), true
		}
	}
	return 0, false
}

func lookedAtOn(l *stats.Lot, day int32) bool {
	return slices.ContainsFunc(l.Looks, func(k stats.Look) bool { return k.Day == day && k.Saw == stats.SawRoots })
}

func sharesOn(lots []stats.Lot, day int) []stats.Share {
	shares := make([]stats.Share, len(lots))
	for i := range lots {
		known := lots[i].Until(day)
		shares[i] = shareOf(&known)
	}
	return shares
}

// shareOf is what had rooted of a lot, out of those that were not taken out: what
// they would have done is not known.
func shareOf(known *stats.Lot) stats.Share {
	return stats.Share{Rooted: known.Rooted(), Stuck: known.Cuttings - known.Withdrawn()}
}

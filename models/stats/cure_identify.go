package stats

import (
	"math"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"
)

const (
	profileLimit = 3.841458820694124 // 95 % quantile of chi-squared with 1 degree of freedom
	lateShare    = 0.01              // of those found rooted, in the last quarter of the watch
)

// tellAll says what a fit without a share that never roots means. Where nothing is
// left to root the counts themselves tell the shares.
func (f *CureFit) tellAll(p *cureProblem) {
	f.NeverP = 1
	if _, open := p.late(); !open {
		f.end(p, Converged, "every cutting has rooted or was lost: fitted without a share that never roots")
		return
	}
	f.end(p, PiNotIdentified, "no sign of a share that never roots: fitted without one")
}

// tellNever says whether the share that never roots is told by the looks, and not
// by the family alone: the 95 % profile interval of it excludes 0, the last look
// came after the day by which nine tenths of those that root have, and next to no
// rooting lies in the last quarter of the watch (Maller & Zhou 1996, Survival
// Analysis with Long-Term Survivors). gain is what it adds to the log-likelihood.
//
// That all root or are lost lies on the edge of what can be: p = ½ P(chi-squared
// with 1 degree of freedom > 2 gain ÷ deff) (Self & Liang 1987, J Am Stat Assoc
// 82:605-610).
func (f *CureFit) tellNever(p *cureProblem, gain float64) {
	ratio := 2 * gain / f.Deff
	f.NeverP = distuv.ChiSquared{K: 1}.Survival(max(0, ratio)) / 2
	var why []string
	if ratio <= profileLimit {
		why = append(why, "its interval includes none")
	}
	if !(float64(p.lastDay) > f.Rooting.Quantile(0.9)) {
		why = append(why, "the last look came before nine tenths of those that root had rooted")
	}
	if late, _ := p.late(); late > lateShare {
		why = append(why, "rooting was still found in the last quarter of the watch")
	}
	if len(why) > 0 {
		f.end(p, PiNotIdentified, "the share that never roots is not told by the looks: "+strings.Join(why, "; "))
		return
	}
	f.end(p, Converged, "")
}

// end sets the status and the reason, with what was left out of the fit.
func (f *CureFit) end(p *cureProblem, status CureStatus, reason string) {
	f.Status, f.Reason = status, reason
	if p.losses != heldLosses {
		return
	}
	if f.Reason != "" {
		f.Reason += "; "
	}
	f.Reason += "losses lie in too few intervals to fit their days: taken as exponential with their mean"
}

// late is the share of those found rooted that may have rooted in the last quarter
// of the watch, and whether any cutting is open.
func (p *cureProblem) late() (share float64, open bool) {
	late, all := 0.0, 0.0
	for _, c := range p.pooled {
		switch {
		case c.Fate == FateOpen:
			open = true
		case c.Fate == FateRooted:
			all += c.Count
			if 4*c.To > 3*p.lastDay {
				late += c.Count
			}
		}
	}
	return late / math.Max(1, all), open
}

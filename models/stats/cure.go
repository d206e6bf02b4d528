package stats

import (
	"context"
	"math"
)

// CureStatus says how a fit of CureFit ended.
type CureStatus string

// The endings. PiNotIdentified has numbers, but the share that never roots hangs
// on the family: leave it out of tables.
const (
	Converged       CureStatus = "converged"
	PiNotIdentified CureStatus = "pi_not_identified"
	Declined        CureStatus = "declined"
	NotConverged    CureStatus = "not_converged"
)

// Mixture is rooting and loss as competing ends, with a share that never meets
// either: PiRoot roots at days by the law Rooting, PiLoss is lost at days by
// Losing, and PiNever does neither; the three sum to 1. Where none was lost PiLoss
// is 0 and Losing means nothing.
//
// Larson & Dinse (1985), J R Stat Soc C 34:201-211; without losses the model of
// Farewell (1982), Biometrics 38:1041-1046.
type Mixture struct {
	PiRoot, PiLoss, PiNever float64
	Rooting, Losing         Law
}

// DayOfStuck is the day by which a share q of those stuck has rooted; ok is false
// where so many never will.
func (m *Mixture) DayOfStuck(q float64) (day float64, ok bool) {
	if !(q < m.PiRoot) {
		return 0, false
	}
	return m.Rooting.Quantile(q / m.PiRoot), true
}

// CureErrors are standard errors of a fit.
type CureErrors struct {
	LogitPiRoot float64 // 0 where all root and there is nothing to estimate
	LogT50      float64
}

// CureFit is one family fitted to lots. Everything but Family, Status, Reason and
// Batches is 0 or nil where the fit was declined or did not converge.
type CureFit struct {
	Family Family
	Status CureStatus
	Reason string // why it is not what was hoped for, or what was left out
	Mixture

	Batches       int
	Parameters    int // that were fitted
	LogLikelihood float64
	AIC           float64
	CLIC          *float64    // nil below two lots, or where not estimable
	Deff          float64     // mean design effect of the parameters, 1 or more
	Naive         *CureErrors // as if cuttings were independent; nil where not estimable
	Clustered     *CureErrors // by lots; nil below ten, or where not estimable
	NeverP        float64     // p of "all root or are lost in the end", on the boundary
}

// OK says that the fit has numbers.
func (f *CureFit) OK() bool { return f.Status == Converged || f.Status == PiNotIdentified }

// Limits are two-sided limits of the share that roots and of the day by which
// half of that share has, at a level: logit pi and log T50 ∓ t(B-1) clustered
// standard errors. ok is false without those.
func (f *CureFit) Limits(level float64) (piRoot, t50 Interval, ok bool) {
	if f.Clustered == nil {
		return Interval{}, Interval{}, false
	}
	t := quantile(level, f.Batches-1)
	pi, spread := Interval{Lower: f.PiRoot, Upper: f.PiRoot}, t*f.Clustered.LogitPiRoot
	if f.PiRoot < 1 {
		pi = Interval{Lower: expit(logit(f.PiRoot) - spread), Upper: expit(logit(f.PiRoot) + spread)}
	}
	half, factor := f.Rooting.Quantile(0.5), math.Exp(t*f.Clustered.LogT50)
	return pi, Interval{Lower: half / factor, Upper: half * factor}, true
}

// FitCure fits the three families to lots, by maximum likelihood over what is
// known of each cutting, in the order of Families. Losses follow a Weibull law in
// all of them; losses that do not tell their law apart keep a plain exponential
// one. The order of lots and of their looks means nothing.
//
// A fit is declined, with the reason, where rootings lie in fewer than three
// intervals or could all have come at one time. It is taken as found only where
// no slope of the log-likelihood exceeds 1e-3 and three starts agree on it within
// 1e-4. Where no share that never roots raises the likelihood, the fit is that
// without such a share, and says so.
//
// It fails where ctx ends, which is asked at every step of a search.
func FitCure(ctx context.Context, lots []Lot) ([]CureFit, error) {
	p := newCureProblem(lots)
	fits := make([]CureFit, 0, 3)
	for _, family := range Families() {
		fits = append(fits, p.fit(ctx, family))
		if err := ctx.Err(); err != nil {
			return nil, err // a search that was cut short found nothing
		}
	}
	return fits, nil
}

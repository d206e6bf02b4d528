package stats

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// UsualRho is the correlation of two cuttings of one lot that is reckoned with
// where the records cannot tell it: a stated choice within what nurseries show.
const UsualRho = 0.08

// Share is how many of the cuttings of one lot rooted.
type Share struct{ Rooted, Stuck int }

// Rate is a share with its limits, from 0 to 1.
type Rate struct {
	Estimate     float64
	Lower, Upper float64
	Deff, NEff   float64 // design effect, and the cuttings that as many independent ones are worth
	DF           int     // degrees of freedom of Student's t; 0 for normal limits
	RhoAssumed   bool    // n_eff is that of UsualRho, since the lots show no spread
}

// Spread says how much less lots tell than as many independent cuttings would,
// since cuttings of one lot are alike: the design effect deff = v ÷ p(1-p)/N with
// v = B/(B-1) Σ(r-pn)²/N² over B lots, and n_eff = N ÷ max(1, deff). Where it
// cannot be told, with one lot, or none or all rooted, deff is 1 and n_eff N.
//
// Rao & Scott (1992), Biometrics 48:577-585.
func Spread(shares []Share) (deff, nEff float64) {
	p, n := sumUp(shares)
	b := float64(len(shares))
	if b < 2 || p == 0 || p == 1 || n == 0 {
		return 1, n
	}
	squares := 0.0
	for _, s := range shares {
		off := float64(s.Rooted) - p*float64(s.Stuck)
		squares += off * off
	}
	v := b / (b - 1) * squares / (n * n)
	deff = v / (p * (1 - p) / n)
	return deff, n / max(1, deff)
}

func sumUp(shares []Share) (p, n float64) {
	rooted, stuck := 0, 0
	for _, s := range shares {
		rooted, stuck = rooted+s.Rooted, stuck+s.Stuck
	}
	if stuck == 0 {
		return 0, 0
	}
	return float64(rooted) / float64(stuck), float64(stuck)
}

// CrudeRate is the share rooted over lots that were all watched long enough, with
// Wilson's limits at level for the effective number of cuttings and Student's t
// with B-1 degrees of freedom in place of the normal quantile. One lot has plain
// Wilson limits, which hold within it only. Where none or all rooted in several
// lots, the effective number is that of UsualRho, with a normal quantile.
//
// Korn & Graubard (1998), Surv Methodol 24:193-201; Saha, Miller & Wang (2016),
// Int J Biostat 12(2). No cuttings: limits 0 and 1.
func CrudeRate(shares []Share, level float64) Rate {
	p, n := sumUp(shares)
	b := len(shares)
	if b >= 2 && n > 0 && (p == 0 || p == 1) {
		return EdgeRate(p, n, b, level)
	}
	rate := Rate{Estimate: p, DF: max(0, b-1)}
	rate.Deff, rate.NEff = Spread(shares)
	i := WilsonScore(p, rate.NEff, quantile(level, rate.DF))
	rate.Lower, rate.Upper = i.Lower, i.Upper
	return rate
}

// EdgeRate is a share p of none or all of n cuttings in b lots: what they are
// worth is told by UsualRho, n ÷ (1 + (n/b - 1) rho), since they show no spread.
func EdgeRate(p, n float64, b int, level float64) Rate {
	deff := 1 + max(0, n/float64(b)-1)*UsualRho
	i := WilsonScore(p, n/deff, quantile(level, 0))
	return Rate{Estimate: p, Lower: i.Lower, Upper: i.Upper, Deff: deff, NEff: n / deff, RhoAssumed: true}
}

// LogitRate is a share p of n cuttings in b lots, over 0 and below 1, with the
// standard error of its logit: logit p ∓ t(B-1) se.
func LogitRate(p, se, n float64, b int, level float64) Rate {
	t := quantile(level, b-1)
	if se == 0 { // lots that happen to be alike are no proof that all are
		se = 1 / math.Sqrt(n*p*(1-p))
	}
	deff := se * se * p * (1 - p) * n
	return Rate{
		Estimate: p, Lower: expit(logit(p) - t*se), Upper: expit(logit(p) + t*se),
		Deff: deff, NEff: n / max(1, deff), DF: b - 1,
	}
}

// quantile is the two-sided quantile of Student's t at a level, or with df of 0
// of the normal distribution.
func quantile(level float64, df int) float64 {
	level = min(max(level, 0), 1)
	if df < 1 {
		return distuv.UnitNormal.Quantile((1 + level) / 2)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(df)}.Quantile((1 + level) / 2)
}

// NormalQuantile is how many standard errors to each side a two-sided interval at
// a level takes: 1.96 at 0.95.
func NormalQuantile(level float64) float64 { return quantile(level, 0) }

// TQuantile is the same for Student's t with df degrees of freedom.
func TQuantile(level float64, df int) float64 { return quantile(level, df) }

func logit(p float64) float64 { return math.Log(p / (1 - p)) }

func expit(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

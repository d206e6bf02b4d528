package stats

import "math"

// Family is a family of laws for the days to root or to loss.
type Family string

// The families, each log T = mu + sigma W: W is log(-log(1-U)) for a Weibull law
// (smallest extreme value), logistic for a log-logistic and normal for a
// log-normal one. Kalbfleisch & Prentice (2002), The Statistical Analysis of
// Failure Time Data, 2nd ed., ch. 2.
const (
	Weibull     Family = "weibull"
	LogLogistic Family = "log_logistic"
	LogNormal   Family = "log_normal"
)

// Families are all of them, in the order in which they are shown.
func Families() []Family { return []Family{Weibull, LogLogistic, LogNormal} }

// Law is a law of days: log T = Mu + Sigma W with W of the family; Sigma is above
// 0. A Weibull law has shape 1/Sigma and scale e^Mu; the others have median e^Mu.
type Law struct {
	Family    Family
	Mu, Sigma float64
}

// By is the share whose day has come by a day: 0 at day 0 and before, 1 at +Inf.
func (l Law) By(day float64) float64 { return l.Between(0, day) }

// Between is the share whose day lies after one day and by another, worked out
// without the loss of digits of a difference; 0 where to is not after from.
func (l Law) Between(from, to float64) float64 {
	return l.Family.between(l.standard(logDay(from)), l.standard(logDay(to)))
}

// Quantile is the day by which a share q has had its day: 0 at 0, +Inf at 1.
func (l Law) Quantile(q float64) float64 {
	switch {
	case !(q > 0):
		return 0
	case q >= 1:
		return math.Inf(1)
	}
	return math.Exp(l.Mu + l.Sigma*l.Family.quantile(q))
}

func (l Law) standard(log float64) float64 { return (log - l.Mu) / l.Sigma }

// logDay is the logarithm of a day, of 0 and before that of never yet.
func logDay(day float64) float64 {
	if day <= 0 {
		return math.Inf(-1)
	}
	return math.Log(day)
}

// between is P(a < W ≤ b), on the side of the smaller tail.
func (f Family) between(a, b float64) float64 {
	if !(a < b) {
		return 0
	}
	switch f {
	case Weibull:
		hazard := math.Exp(a)
		if math.IsInf(hazard, 1) {
			return 0
		}
		return math.Exp(-hazard) * -math.Expm1(-(math.Exp(b) - hazard))
	case LogLogistic:
		return expit(b) * expit(-a) * -math.Expm1(a-b)
	}
	if a > 0 {
		return (math.Erfc(a/math.Sqrt2) - math.Erfc(b/math.Sqrt2)) / 2
	}
	return (math.Erfc(-b/math.Sqrt2) - math.Erfc(-a/math.Sqrt2)) / 2
}

// density of W, 0 at both ends.
func (f Family) density(w float64) float64 {
	if math.IsInf(w, 0) {
		return 0
	}
	switch f {
	case Weibull:
		return math.Exp(w - math.Exp(w))
	case LogLogistic:
		return expit(w) * expit(-w)
	}
	return math.Exp(-w*w/2) / math.Sqrt(2*math.Pi)
}

// quantile of W, for q above 0 and below 1.
func (f Family) quantile(q float64) float64 {
	switch f {
	case Weibull:
		return math.Log(-math.Log1p(-q))
	case LogLogistic:
		return logit(q)
	}
	return -math.Sqrt2 * math.Erfcinv(2*q)
}

// slopes are the derivatives of P(T ≤ t) by mu and by log sigma, at w = (log t -
// mu) ÷ sigma.
func (l Law) slopes(w float64) (byMu, byLogSigma float64) {
	g := l.Family.density(w)
	if g == 0 {
		return 0, 0
	}
	return -g / l.Sigma, -w * g
}

// HalfAfter is the first whole day after day c by which half of those whose day
// lies after c have had it; ok is false where it lies beyond a horizon. Of cuttings
// of a lot that had not rooted by c it is also the day by which half of those that
// still root are expected to have done so: with the share that roots pi and the law
// of their days G, E[rooted in (c, d]] ÷ E[rooted after c] = [G(d) - G(c)] ÷ [1 - G(c)],
// where pi and the losses cancel, also if pi differs from lot to lot.
func (l Law) HalfAfter(c, horizon int) (day int, ok bool) {
	half := l.Quantile((1 + l.By(float64(c))) / 2)
	if !(half <= float64(horizon)) {
		return 0, false
	}
	return max(c+1, int(math.Ceil(half-1e-9))), true
}

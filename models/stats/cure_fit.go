package stats

import (
	"context"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize"
)

const (
	flatSlope     = 1e-3 // steepest slope of a maximum that is taken as found
	startsAgree   = 1e-4 // of the log-likelihoods of the starts
	mostPolishing = 8    // Newton steps from where the search ends
)

// peak is a maximum of a log-likelihood.
type peak struct {
	shape cureShape
	x     []float64
	ell   float64
}

// fit fits one family: with a share that never roots, and without one where that
// is as likely.
func (p *cureProblem) fit(ctx context.Context, family Family) CureFit {
	f := CureFit{Family: family, Status: Declined, Reason: p.declined(), Batches: len(p.lots)}
	if f.Reason != "" {
		return f
	}
	shape := cureShape{family: family, losses: p.losses, held: p.held}
	all, allOK := p.climb(ctx, shape)
	shape.never = true
	some, someOK := p.climb(ctx, shape)
	gain := some.ell - all.ell
	switch {
	case allOK && !(gain > startsAgree):
		f.take(ctx, p, all)
		f.tellAll(p)
	case someOK:
		f.take(ctx, p, some)
		f.tellNever(p, gain)
	default:
		f.Status = NotConverged
		f.Reason = "no maximum of the likelihood could be settled on: the looks do not tell the parameters apart"
	}
	return f
}

// climb seeks the maximum from all starts; ok is false where it is not flat, they do
// not agree, or ctx ends.
func (p *cureProblem) climb(ctx context.Context, s cureShape) (best peak, ok bool) {
	best.ell, ok = math.Inf(-1), true
	worst := math.Inf(1)
	for _, start := range p.starts(s) {
		if ctx.Err() != nil {
			return best, false
		}
		x := p.search(ctx, s, start, &optimize.BFGS{})
		if !p.flat(s, x) {
			x = p.search(ctx, s, p.search(ctx, s, start, &optimize.NelderMead{}), &optimize.BFGS{})
		}
		ell := s.logLikelihood(p.cells, x, nil)
		ok = ok && p.flat(s, x)
		worst = min(worst, ell)
		if ell > best.ell {
			best = peak{s, x, ell}
		}
	}
	return best, ok && best.ell-worst <= startsAgree
}

// search minimises the mean of -ln P and goes on by Newton steps. A search that
// ends early or fails leaves the place it came to: whether that is a maximum is
// asked of the slopes there, not of it.
func (p *cureProblem) search(ctx context.Context, s cureShape, start []float64, method optimize.Method) []float64 {
	n := p.cuttings()
	problem := optimize.Problem{
		Func: func(x []float64) float64 { return -s.logLikelihood(p.cells, x, nil) / n },
		Grad: func(gradient, x []float64) {
			s.logLikelihood(p.cells, x, gradient)
			for i := range gradient {
				gradient[i] /= -n
			}
		},
		Status: func() (optimize.Status, error) {
			if err := ctx.Err(); err != nil {
				return optimize.Failure, err
			}
			return optimize.NotTerminated, nil
		},
	}
	settings := &optimize.Settings{GradientThreshold: 1e-6, MajorIterations: 500, Concurrent: 0}
	result, err := optimize.Minimize(problem, start, settings, method)
	if result == nil || err != nil && len(result.X) == 0 {
		return start
	}
	return p.polish(ctx, s, result.X)
}

func (p *cureProblem) cuttings() float64 {
	n := 0.0
	for _, c := range p.cells {
		n += c.count
	}
	return n
}

// polish takes Newton steps while they make the slopes less steep.
func (p *cureProblem) polish(ctx context.Context, s cureShape, x []float64) []float64 {
	slopes, steepest := p.slopes(s, x)
	for range mostPolishing {
		if steepest <= flatSlope/100 || ctx.Err() != nil {
			break
		}
		information, ok := p.information(s, x)
		if !ok {
			break
		}
		step := mat.NewVecDense(len(x), nil)
		if information.SolveVecTo(step, mat.NewVecDense(len(x), slopes)) != nil {
			break
		}
		next := make([]float64, len(x))
		for i := range next {
			next[i] = x[i] + step.AtVec(i)
		}
		nextSlopes, nextSteepest := p.slopes(s, next)
		if !(nextSteepest < steepest) {
			break
		}
		x, slopes, steepest = next, nextSlopes, nextSteepest
	}
	return x
}

// slopes are the derivatives of the log-likelihood, and the steepest of them.
func (p *cureProblem) slopes(s cureShape, x []float64) (slopes []float64, steepest float64) {
	slopes = make([]float64, len(x))
	s.logLikelihood(p.cells, x, slopes)
	for _, slope := range slopes {
		steepest = max(steepest, math.Abs(slope))
	}
	return slopes, steepest
}

func (p *cureProblem) flat(s cureShape, x []float64) bool {
	_, steepest := p.slopes(s, x)
	return steepest < flatSlope
}

// take fills in the numbers of a maximum, in days.
func (f *CureFit) take(ctx context.Context, p *cureProblem, at peak) {
	f.Mixture = at.shape.mixture(at.x)
	f.Rooting.Mu += p.center
	f.Losing.Mu += p.center
	if at.shape.losses == noLosses {
		f.Losing = Law{}
	}
	f.Parameters = at.shape.size()
	f.LogLikelihood = at.ell
	f.AIC = 2*float64(f.Parameters) - 2*at.ell
	f.takeErrors(ctx, p, at)
}

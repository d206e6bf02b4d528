package stats

import (
	"context"
	"math"

	"gonum.org/v1/gonum/mat"
)

const (
	fewestClustered = 10   // lots for errors that allow for them
	slopeStep       = 1e-4 // for second derivatives, central, on the free scale
)

// information is the negative second derivative of the log-likelihood, by central
// differences of its gradient, as a Cholesky factor; ok is false where it is not
// positive definite.
func (p *cureProblem) information(s cureShape, x []float64) (*mat.Cholesky, bool) {
	k := len(x)
	second := mat.NewDense(k, k, nil)
	at := make([]float64, k)
	for i := range k {
		copy(at, x)
		at[i] = x[i] + slopeStep
		up, _ := p.slopes(s, at)
		at[i] = x[i] - slopeStep
		down, _ := p.slopes(s, at)
		for j := range k {
			second.Set(i, j, (down[j]-up[j])/(2*slopeStep))
		}
	}
	symmetric := mat.NewSymDense(k, nil)
	for i := range k {
		for j := i; j < k; j++ {
			symmetric.SetSym(i, j, (second.At(i, j)+second.At(j, i))/2)
		}
	}
	var factor mat.Cholesky
	ok := factor.Factorize(symmetric) && factor.Cond() < 1e12
	return &factor, ok
}

// spread is J = B/(B-1) Σ s s' over the scores s of lots, or of as many of them as
// ctx allows.
func (p *cureProblem) spread(ctx context.Context, at peak) *mat.SymDense {
	k := len(at.x)
	m := at.shape.mixture(at.x)
	j, sum := mat.NewSymDense(k, nil), mat.NewVecDense(k, nil)
	known := map[fact]*mat.VecDense{}
	var cells []Cell
	for i := range p.lots {
		if ctx.Err() != nil {
			break
		}
		sum.Zero()
		cells = p.lots[i].appendCells(cells[:0])
		for _, c := range cells {
			slope := known[c.fact()]
			if slope == nil {
				slope = mat.NewVecDense(k, nil)
				cell := p.cell(c)
				at.shape.score(&m, &cell, slope.RawVector().Data)
				known[c.fact()] = slope
			}
			sum.AddScaledVec(sum, c.Count, slope)
		}
		j.SymRankOne(j, 1, sum)
	}
	b := float64(len(p.lots))
	j.ScaleSym(b/(b-1), j)
	return j
}

// takeErrors works out the standard errors, the criterion that allows for lots
// and the design effect: H⁻¹ naively, and H⁻¹ J H⁻¹ with lots as the units; CLIC =
// -2 ell + 2 tr(H⁻¹ J); the mean design effect of k parameters is tr(H⁻¹ J)/k.
//
// Godambe information: White (1982), Econometrica 50:1-25; Varin & Vidoni (2005),
// Biometrika 92:519-528.
func (f *CureFit) takeErrors(ctx context.Context, p *cureProblem, at peak) {
	f.Deff = 1
	factor, ok := p.information(at.shape, at.x)
	var naive mat.SymDense
	if !ok || factor.InverseTo(&naive) != nil {
		return
	}
	f.Naive = at.errors(&naive)
	if len(p.lots) < 2 {
		return
	}
	j := p.spread(ctx, at)
	var ratio, clustered mat.Dense
	ratio.Mul(&naive, j)
	trace := mat.Trace(&ratio)
	clic := -2*at.ell + 2*trace
	f.CLIC, f.Deff = &clic, max(1, trace/float64(len(at.x)))
	if len(p.lots) >= fewestClustered {
		clustered.Mul(&ratio, &naive)
		f.Clustered = at.errors(&clustered)
	}
}

// errors are those of logit pi and of log T50 by the delta method; nil where a
// variance is not one.
func (at peak) errors(v mat.Matrix) *CureErrors {
	m, k := at.shape.mixture(at.x), at.shape.shares()
	pi, half := make([]float64, len(at.x)), make([]float64, len(at.x))
	if k > 0 {
		pi[0] = 1
	}
	if k == 2 {
		pi[1] = -m.PiLoss / (m.PiLoss + m.PiNever)
	}
	half[k], half[k+1] = 1, m.Rooting.Sigma*m.Rooting.Family.quantile(0.5)
	ofPi, ofHalf := variance(v, pi), variance(v, half)
	if !(ofPi >= 0 && ofHalf > 0) || math.IsInf(ofPi, 0) || math.IsInf(ofHalf, 0) {
		return nil
	}
	return &CureErrors{LogitPiRoot: math.Sqrt(ofPi), LogT50: math.Sqrt(ofHalf)}
}

// variance is that of a sum of parameters with weights.
func variance(v mat.Matrix, weights []float64) float64 {
	w := mat.NewVecDense(len(weights), weights)
	return mat.Inner(w, v, w)
}

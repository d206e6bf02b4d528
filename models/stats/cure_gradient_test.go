package stats

import (
	"math"
	"testing"
)

// TestSlopesAgainstDifferences holds every derivative against central differences,
// for every family and part of the model.
func TestSlopesAgainstDifferences(t *testing.T) {
	cells := []cureCell{
		{FateRooted, math.Inf(-1), -0.4, 3}, {FateRooted, -0.4, 0.2, 8}, {FateRooted, 0.2, 0.9, 2},
		{FateOpen, 0.9, 0.9, 4}, {FateOpen, -0.4, 0.2, 2}, {FateOpen, math.Inf(-1), -0.4, 1},
	}
	lost := append(cells[:len(cells):len(cells)], cureCell{FateLost, math.Inf(-1), -0.4, 2}, cureCell{FateLost, 0.2, 0.9, 1})
	for _, family := range Families() {
		for _, never := range []bool{true, false} {
			for _, losses := range []lossPart{noLosses, heldLosses, freeLosses} {
				s := cureShape{family: family, losses: losses, never: never, held: Law{Weibull, 0.1, 1}}
				rows := cells
				if losses != noLosses {
					rows = lost
				}
				slopesAgree(t, s, rows)
			}
		}
	}
}

func slopesAgree(t *testing.T, s cureShape, cells []cureCell) {
	t.Helper()
	m := Mixture{PiRoot: 0.5, PiLoss: 0.2, PiNever: 0.3, Rooting: Law{s.family, 0.1, 0.4}, Losing: Law{Weibull, -0.2, 0.8}}
	x := s.free(m)
	gradient := make([]float64, s.size())
	s.logLikelihood(cells, x, gradient)
	for i := range x {
		const h = 1e-5
		held := x[i]
		x[i] = held + h
		up := s.logLikelihood(cells, x, nil)
		x[i] = held - h
		down := s.logLikelihood(cells, x, nil)
		x[i] = held
		if want := (up - down) / (2 * h); math.Abs(gradient[i]-want) > 1e-7*(1+math.Abs(want)) {
			t.Errorf("%+v, parameter %d: slope %v, by differences %v", s, i, gradient[i], want)
		}
	}
}

// TestLikelihoodInAnyUnit wants the same likelihood with and without dividing the
// days: chances of intervals have no unit.
func TestLikelihoodInAnyUnit(t *testing.T) {
	for _, family := range Families() {
		s := cureShape{family: family, losses: freeLosses, never: true}
		x := []float64{0.3, -0.5, 3.2, -0.9, 3, -0.2}
		shifted := []float64{0.3, -0.5, 3.2 - 3, -0.9, 0, -0.2}
		var days, units []cureCell
		for _, c := range []Cell{{FateRooted, 14, 28, 5}, {FateLost, 0, 14, 2}, {FateOpen, 28, 35, 3}} {
			days = append(days, (&cureProblem{}).cell(c))
			units = append(units, (&cureProblem{center: 3}).cell(c))
		}
		if a, b := s.logLikelihood(days, x, nil), s.logLikelihood(units, shifted, nil); math.Abs(a-b) > 1e-12*math.Abs(a) {
			t.Errorf("%s: %v in days, %v in units", family, a, b)
		}
	}
}

package rules

import (
	"math"

	"withybed/models"
	"withybed/models/stats"
)

// needPower is the chance to find a difference that a trial is planned for.
const needPower = 0.8

// need is how many batches each arm needs for a named difference to be found, with
// batches as large as those of the trial: nil where none is named, or nothing is
// known of the reference. The difference is the one that matters, never the one
// seen.
func (t *trial) need(difference float64, arms []models.TrialArm) *models.ComparisonNeed {
	if difference == 0 || len(arms) == 0 || arms[0].Rate == nil {
		return nil
	}
	batches, cuttings := 0, 0
	for _, a := range arms {
		batches, cuttings = batches+a.Batches, cuttings+a.Cuttings
	}
	need := &models.ComparisonNeed{
		Difference: difference, Rate: *arms[0].Rate, Power: needPower,
		Cuttings: int(math.Round(float64(cuttings) / float64(batches))), Rho: t.rho(),
	}
	other := need.Rate + difference
	if other > 1 || other < 0 {
		other = need.Rate - difference
	}
	if n, ok := stats.BatchesPerArm(other, need.Rate, need.Cuttings, need.Rho, needPower); ok && other >= 0 && other <= 1 {
		need.Batches = &n
	}
	return need
}

// rho is how alike two cuttings of a batch of one arm are: the mean over arms of
// which it can be told, or the usual one.
func (t *trial) rho() float64 {
	sum, n := 0.0, 0
	for i := range t.arms {
		o := overdispersionOf(t.arms[i].judged)
		if o.Rho != nil && o.Batches >= fewestForRho {
			sum, n = sum+*o.Rho, n+1
		}
	}
	if n == 0 {
		return stats.UsualRho
	}
	return sum / float64(n)
}

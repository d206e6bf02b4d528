package cli

import "withybed/models/stats"

// trialAnswer is how many batches each arm of a trial needs.
type trialAnswer struct {
	Rate       float64 `json:"rate"`
	Difference float64 `json:"difference"`
	Cuttings   int     `json:"cuttings_per_batch"`
	Rho        float64 `json:"rho"`
	RhoAssumed bool    `json:"rho_assumed"`
	Power      float64 `json:"power"`
	Batches    *int    `json:"batches_per_arm"` // null where out of reach

	law rateLaw
}

// usualTrialBatch is how many cuttings a batch of a trial has unless asked otherwise.
const usualTrialBatch = 30

func (n *need) forTrial() (a trialAnswer, err error) {
	if len(n.Step) > 0 {
		return a, usagef("step goes with plants: a trial finds a difference of one rate")
	}
	if a.law, err = n.law(); err != nil {
		return a, err
	}
	a.Rate, a.Rho, a.RhoAssumed = a.law.mean, a.law.rho, a.law.assumed
	a.Difference, a.Cuttings, a.Power = *n.Difference, usualTrialBatch, n.Power
	if n.Cuttings != nil {
		a.Cuttings = *n.Cuttings
	}
	if err := wantAtLeast("cuttings", a.Cuttings, 1, mostStuck); err != nil {
		return a, err
	}
	if err := wantShare("power", a.Power, false); err != nil {
		return a, err
	}
	if other := a.Rate + a.Difference; a.Difference == 0 || other < 0 || other > 1 {
		return a, usagef("difference is %s, and must lead from the rate %s to another between 0 and 1", number(a.Difference, 6), number(a.Rate, 6))
	}
	if b, ok := stats.BatchesPerArm(a.Rate+a.Difference, a.Rate, a.Cuttings, a.Rho, a.Power); ok {
		a.Batches = &b
	}
	return a, nil
}

func (s *session) sayTrial(a trialAnswer) {
	if a.Batches == nil {
		s.tell("Out of reach: it takes more batches than a trial can have.")
	} else {
		s.tell("%d batches of %d an arm to find %s against %s, with a chance of %s.", *a.Batches, a.Cuttings, percent(100*(a.Rate+a.Difference)), percent(100*a.Rate), percent(100*a.Power))
	}
	if note := a.law.note(""); note != "" {
		s.tell("%s.", capital(note))
	}
}

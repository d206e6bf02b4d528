package cli

import (
	"github.com/spf13/cobra"

	"withybed/models/stats"
)

// need is what a number of cuttings, or of batches for a trial, is worked out from.
type need struct {
	Plants     *int     `json:"plants"`
	Rate       *float64 `json:"rate"`
	Rho        *float64 `json:"rho"`
	Alpha      *float64 `json:"alpha"`
	Beta       *float64 `json:"beta"`
	Assurance  float64  `json:"assurance"`
	Batches    int      `json:"batches"`
	Difference *float64 `json:"difference"`
	Cuttings   int      `json:"cuttings"`
	Power      float64  `json:"power"`
}

// needAnswer is how many cuttings it takes for a number of plants.
type needAnswer struct {
	Plants     int     `json:"plants"`
	Rate       float64 `json:"rate"`
	Rho        float64 `json:"rho"`
	RhoAssumed bool    `json:"rho_assumed"`
	Assurance  float64 `json:"assurance"`
	Batches    int     `json:"batches"`
	Cuttings   *int    `json:"cuttings"`          // null where out of reach
	IfAlike    *int    `json:"cuttings_if_alike"` // if batches did not differ
	MeanRule   int     `json:"cuttings_mean_rule"`
}

// trialAnswer is how many batches each arm of a trial needs.
type trialAnswer struct {
	Rate       float64 `json:"rate"`
	Difference float64 `json:"difference"`
	Cuttings   int     `json:"cuttings_per_batch"`
	Rho        float64 `json:"rho"`
	RhoAssumed bool    `json:"rho_assumed"`
	Power      float64 `json:"power"`
	Batches    *int    `json:"batches_per_arm"` // null where out of reach
}

func newNeed(s *session) *cobra.Command {
	c := &calculator{session: s}
	n := &need{Assurance: 0.9, Batches: 1, Cuttings: 30, Power: 0.8}
	cmd := &cobra.Command{
		Use: "need", Short: "How many cuttings for so many plants, or batches for a trial",
		Long: `With --plants it gives the smallest number of cuttings of which so many root with a
chance of --assurance, where batches differ around a mean rate by a beta law: by its
mean and rho, or by its alpha and beta. The rate is the final one, losses included.
With --difference it gives how many batches each arm of a trial needs for that
difference from --rate to be found: name the difference that matters, not one seen.`,
		Example: examples("withy stats need --plants 100 --rate 0.6", "withy stats need --plants 20 --alpha 1 --beta 1 --assurance 0.9",
			"withy stats need --plants 100 --rate 0.6 --rho 0.05 --batches 4", "withy stats need --rate 0.6 --difference 0.15 --cuttings 30"),
	}
	optionalInt(cmd, &n.Plants, "plants", "plants wanted")
	optionalNumber(cmd, &n.Rate, "rate", "mean share that roots")
	optionalNumber(cmd, &n.Rho, "rho", "how alike two cuttings of a batch are; 0.08 if it is not known")
	optionalNumber(cmd, &n.Alpha, "alpha", "first parameter of the beta law of rates, instead of rate and rho")
	optionalNumber(cmd, &n.Beta, "beta", "second parameter of it")
	numberFlag(cmd, &n.Assurance, "assurance", "chance to have so many; 0.9 by default")
	intFlag(cmd, &n.Batches, "batches", "batches to spread the cuttings over; 1 by default")
	optionalNumber(cmd, &n.Difference, "difference", "difference of rates that a trial is to find")
	intFlag(cmd, &n.Cuttings, "cuttings", "cuttings of each batch of the trial; 30 by default")
	numberFlag(cmd, &n.Power, "power", "chance that the trial finds it; 0.8 by default")
	return c.command(cmd, n, func() error {
		switch {
		case (n.Plants == nil) == (n.Difference == nil):
			return usagef("give plants, for how many cuttings, or difference, for how many batches a trial needs: one of them")
		case n.Plants != nil:
			answer, err := n.forPlants()
			if err != nil {
				return err
			}
			return show(s, answer, s.sayNeed)
		}
		answer, err := n.forTrial()
		if err != nil {
			return err
		}
		return show(s, answer, s.sayTrial)
	})
}

// law is the mean and the spread of rates, and whether the spread was assumed.
func (n *need) law() (rate, rho float64, assumed bool, err error) {
	if n.Alpha != nil || n.Beta != nil {
		return n.beta()
	}
	if n.Rate == nil {
		return 0, 0, false, usagef("give rate, the share that roots, or alpha and beta of the law of rates")
	}
	rho, assumed = stats.UsualRho, n.Rho == nil
	if !assumed {
		rho = *n.Rho
	}
	if err := wantShare("rate", *n.Rate, false); err != nil {
		return 0, 0, false, err
	}
	if rho != 0 {
		err = wantShare("rho", rho, false)
	}
	return *n.Rate, rho, assumed, err
}

func (n *need) beta() (rate, rho float64, assumed bool, err error) {
	if n.Alpha == nil || n.Beta == nil || n.Rate != nil || n.Rho != nil {
		return 0, 0, false, usagef("give both alpha and beta, and neither rate nor rho beside them")
	}
	if err := wantOver("alpha", *n.Alpha); err != nil {
		return 0, 0, false, err
	}
	if err := wantOver("beta", *n.Beta); err != nil {
		return 0, 0, false, err
	}
	sum := *n.Alpha + *n.Beta
	return *n.Alpha / sum, 1 / (1 + sum), false, nil
}

const (
	mostPlants      = 100_000
	mostNeedBatches = 1000
)

func (n *need) forPlants() (a needAnswer, err error) {
	if a.Rate, a.Rho, a.RhoAssumed, err = n.law(); err != nil {
		return a, err
	}
	if err := wantAtLeast("plants", *n.Plants, 0, mostPlants); err != nil {
		return a, err
	}
	if err := wantAtLeast("batches", n.Batches, 1, mostNeedBatches); err != nil {
		return a, err
	}
	if err := wantShare("assurance", n.Assurance, false); err != nil {
		return a, err
	}
	a.Plants, a.Assurance, a.Batches = *n.Plants, n.Assurance, n.Batches
	a.MeanRule = stats.MeanRule(a.Plants, a.Rate)
	if k, ok := stats.CuttingsNeededOver(a.Batches, a.Plants, a.Rate, a.Rho, a.Assurance); ok {
		a.Cuttings = &k
	}
	if k, ok := stats.CuttingsNeeded(a.Plants, a.Rate, 0, a.Assurance); ok {
		a.IfAlike = &k
	}
	return a, nil
}

func (n *need) forTrial() (a trialAnswer, err error) {
	if a.Rate, a.Rho, a.RhoAssumed, err = n.law(); err != nil {
		return a, err
	}
	a.Difference, a.Cuttings, a.Power = *n.Difference, n.Cuttings, n.Power
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

func (s *session) sayNeed(a needAnswer) {
	if a.Cuttings == nil {
		s.tell("Out of reach: more than %d cuttings would be needed for %d plants.", stats.MostCuttings, a.Plants)
	} else {
		s.tell("%d cuttings in %s for %s, with a chance of %s.", *a.Cuttings, many(a.Batches, "batch", "batches"), many(a.Plants, "plant", "plants"), percent(100*a.Assurance))
	}
	if a.IfAlike != nil {
		s.tell("If batches did not differ %d would do; dividing by the rate gives %d, which is about an even chance.", *a.IfAlike, a.MeanRule)
	}
	s.sayAssumed(a.Rho, a.RhoAssumed)
}

func (s *session) sayTrial(a trialAnswer) {
	if a.Batches == nil {
		s.tell("Out of reach: it takes more batches than a trial can have.")
	} else {
		s.tell("%d batches of %d an arm to find %s against %s, with a chance of %s.", *a.Batches, a.Cuttings, percent(100*(a.Rate+a.Difference)), percent(100*a.Rate), percent(100*a.Power))
	}
	s.sayAssumed(a.Rho, a.RhoAssumed)
}

func (s *session) sayAssumed(rho float64, assumed bool) {
	if assumed {
		s.tell("How alike cuttings of a batch are was not given: rho %s is reckoned with.", number(rho, 2))
	}
}

package cli

import (
	"slices"

	"github.com/spf13/cobra"

	"withybed/models/stats"
)

// need is what a number of cuttings, or of batches for a trial, is worked out from.
type need struct {
	Plants     *int        `json:"plants"`
	Rate       *float64    `json:"rate"`
	Rho        *float64    `json:"rho"`
	Alpha      *float64    `json:"alpha"`
	Beta       *float64    `json:"beta"`
	Batch      lotShares   `json:"batch"`
	Step       []chainStep `json:"step"`
	Assurance  float64     `json:"assurance"`
	Batches    spread      `json:"batches"`
	Difference *float64    `json:"difference"`
	Cuttings   *int        `json:"cuttings"`
	Power      float64     `json:"power"`
}

func newNeed(s *session) *cobra.Command {
	c := &calculator{session: s}
	n := &need{Assurance: 0.9, Batches: spread{over: 1}, Power: 0.8}
	cmd := &cobra.Command{
		Use: "need", Short: "How many cuttings for so many plants, or batches for a trial",
		Long: `With --plants it gives the smallest number of cuttings of which so many root with a
chance of --assurance, where batches differ around a mean rate by a beta law. The law
is given by its mean and rho, or by its alpha and beta; or it is estimated from final
counts of batches, losses included, with --batch. Then the cuttings that it takes for
not knowing the law for certain are told apart from those for chance, and from those
that it takes since batches differ; with one batch rho is the usual 0.08. With --step
the cuttings go through several steps, each with batches that went through it, or with
its alpha and beta; the share of each is drawn once for the batch. With --cuttings the
chance of that number is told too. In JSON batch is written as pairs of rooted and
stuck, as in [[14,20],[9,20]], and step as texts, as in ["rooting=14/20","potting=45,5"].

With --difference it gives how many batches each arm of a trial needs for that
difference from --rate to be found: name the difference that matters, not one seen.`,
		Example: examples("withy stats need --plants 100 --rate 0.6", "withy stats need --plants 20 --alpha 1 --beta 1 --assurance 0.9",
			"withy stats need --plants 100 --rate 0.6 --rho 0.05 --batches 4", "withy stats need --plants 100 --batch 14/20 --batch 9/20 --batch 18/24",
			"withy stats need --plants 15 --step handling=18,2 --step rooting=14/20,17/20,9/20 --step potting=45,5 --cuttings 30",
			"withy stats need --rate 0.6 --difference 0.15 --cuttings 30"),
	}
	n.flags(cmd)
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

// flags are what a number is worked out from.
func (n *need) flags(cmd *cobra.Command) {
	optionalInt(cmd, &n.Plants, "plants", "plants wanted")
	optionalNumber(cmd, &n.Rate, "rate", "mean share that roots")
	optionalNumber(cmd, &n.Rho, "rho", "how alike two cuttings of a batch are; 0.08 if it is not known")
	optionalNumber(cmd, &n.Alpha, "alpha", "first parameter of the beta law of rates, instead of rate and rho")
	optionalNumber(cmd, &n.Beta, "beta", "second parameter of it")
	addValue(cmd, "batch", "rooted/stuck", "a batch that the law is estimated from; may be given again", func(text string) error {
		shares, err := parseShares(text)
		n.Batch = append(n.Batch, shares...)
		return err
	})
	addValue(cmd, "step", "name=...", "a step from a cutting to a plant, as in rooting=14/20,17/20 or rooting=14,6; may be given again", func(text string) error {
		step, err := parseStep(text)
		n.Step = append(n.Step, step)
		return err
	})
	numberFlag(cmd, &n.Assurance, "assurance", "chance to have so many; 0.9 by default")
	intFlag(cmd, &n.Batches.over, "batches", "batches to spread the cuttings over; 1 by default")
	optionalNumber(cmd, &n.Difference, "difference", "difference of rates that a trial is to find")
	optionalInt(cmd, &n.Cuttings, "cuttings", "cuttings whose chance is asked for; of a trial, cuttings of each batch, 30 by default")
	numberFlag(cmd, &n.Power, "power", "chance that the trial finds it; 0.8 by default")
}

// law is the law of rates, given in one of the ways there are.
func (n *need) law() (rateLaw, error) {
	beta, rate, seen := n.Alpha != nil || n.Beta != nil, n.Rate != nil || n.Rho != nil, n.seen()
	switch {
	case len(seen) > 0 && (beta || rate):
		return rateLaw{}, usagef("give batch, for a law estimated from batches, or the law itself, not both")
	case len(seen) > 0:
		return lawOf(seen)
	case beta && (n.Alpha == nil || n.Beta == nil || rate):
		return rateLaw{}, usagef("give both alpha and beta, and neither rate nor rho beside them")
	case beta:
		return lawOfBeta(*n.Alpha, *n.Beta)
	case n.Rate == nil:
		return rateLaw{}, usagef("give rate, the share that roots, alpha and beta of the law of rates, or batch, what rooted of batches")
	}
	law := rateLaw{mean: *n.Rate, rho: stats.UsualRho, assumed: n.Rho == nil}
	if err := wantShare("rate", law.mean, false); err != nil {
		return law, err
	}
	if n.Rho == nil {
		return law, nil
	}
	if law.rho = *n.Rho; law.rho == 0 {
		return law, nil
	}
	return law, wantShare("rho", law.rho, false)
}

// seen are the batches that the law is estimated from.
func (n *need) seen() lotShares { return slices.Concat(n.Batch, n.Batches.seen) }

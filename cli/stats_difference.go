package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"withybed/models/stats"
)

// difference is what two rates are held against each other from.
type difference struct {
	One   lotShares `json:"one"`
	Other lotShares `json:"other"`
	Level float64   `json:"level"`
}

type differenceAnswer struct {
	Estimate float64 `json:"estimate"`
	Lower    float64 `json:"lower"`
	Upper    float64 `json:"upper"`
	Level    float64 `json:"level"`
	DF       *int    `json:"df"`
	One      armRate `json:"one"`
	Other    armRate `json:"other"`
}

type armRate struct {
	Estimate float64 `json:"estimate"`
	Batches  int     `json:"batches"`
	Deff     float64 `json:"deff"`
	NEff     float64 `json:"n_eff"`

	RhoAssumed bool `json:"rho_assumed"` // none or all rooted
}

func newDifference(s *session) *cobra.Command {
	c, d := &calculator{session: s}, &difference{Level: 0.95}
	cmd := &cobra.Command{
		Use: "difference", Short: "The difference of two rooting rates, with its limits",
		Long: `Gives the difference of two rates with its limits (Newcombe 1998, method 10), with
effective numbers of cuttings and Student's t where there are several batches of
either. It says nothing of whether the batches were tried side by side.`,
		Example: examples("withy stats difference --one 56/70 --other 48/80", "withy stats difference --one 15/20,17/20,12/20 --other 9/20,12/20,11/20 --json"),
	}
	sharesFlag(cmd, &d.One, "one", "batches of one arm, rooted of stuck (needed)")
	sharesFlag(cmd, &d.Other, "other", "batches of the other arm (needed)")
	numberFlag(cmd, &d.Level, "level", "confidence of the limits; 0.95 by default")
	return c.command(cmd, d, func() error {
		if len(d.One) == 0 || len(d.Other) == 0 {
			return usagef("give the batches of both arms, one and other, as in --one 14/20 --other 9/20")
		}
		if err := wantShare("level", d.Level, false); err != nil {
			return err
		}
		return show(s, d.answer(), s.sayDifference)
	})
}

func (d *difference) answer() differenceAnswer {
	found, df := stats.RateDifference(d.One, d.Other, d.Level)
	a := differenceAnswer{Estimate: found.Estimate, Lower: found.Lower, Upper: found.Upper, Level: d.Level, One: rateOf(d.One, d.Level), Other: rateOf(d.Other, d.Level)}
	if df > 0 {
		a.DF = &df
	}
	return a
}

func rateOf(shares lotShares, level float64) armRate {
	r := stats.CrudeRate(shares, level)
	return armRate{Estimate: r.Estimate, Batches: len(shares), Deff: r.Deff, NEff: r.NEff, RhoAssumed: r.RhoAssumed}
}

func (s *session) sayDifference(a differenceAnswer) {
	s.tell("%s against %s: a difference of %s points, between %s and %s at %s.", percent(100*a.One.Estimate), percent(100*a.Other.Estimate),
		points(a.Estimate), points(a.Lower), points(a.Upper), percent(100*a.Level))
	if a.One.Batches == 1 || a.Other.Batches == 1 {
		s.tell("One batch in an arm: how far batches differ is not in the limits.")
	}
	if a.One.RhoAssumed || a.Other.RhoAssumed {
		s.tell("In an arm %s.", rhoAssumed)
	}
}

// points are percent points with their sign.
func points(x float64) string { return fmt.Sprintf("%+.1f", 100*x) }

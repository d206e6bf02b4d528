package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"withybed/models/stats"
)

// proportion is what a rate is worked out from: one batch, or several.
type proportion struct {
	Rooted   *int      `json:"rooted"`
	Cuttings *int      `json:"cuttings"`
	Batches  lotShares `json:"batches"`
	Level    float64   `json:"level"`
}

// proportionAnswer is a rate with its limits, and how far batches differ.
type proportionAnswer struct {
	Estimate float64   `json:"estimate"`
	Lower    float64   `json:"lower"`
	Upper    float64   `json:"upper"`
	Level    float64   `json:"level"`
	Method   string    `json:"method"`
	Batches  int       `json:"batches"`
	Cuttings int       `json:"cuttings"`
	Rooted   int       `json:"rooted"`
	Deff     float64   `json:"deff"`
	NEff     float64   `json:"n_eff"`
	DF       *int      `json:"df"`
	Spread   *spreadOf `json:"overdispersion"`

	RhoAssumed bool `json:"rho_assumed"` // none or all rooted
}

type spreadOf struct {
	Mu      float64 `json:"mu"`
	Rho     float64 `json:"rho"`
	TaroneZ float64 `json:"tarone_z"`
	TaroneP float64 `json:"tarone_p"`
}

func newProportion(s *session) *cobra.Command {
	c, p := &calculator{session: s}, &proportion{Level: 0.95}
	cmd := &cobra.Command{
		Use: "proportion", Short: "The limits of a rooting rate",
		Long: `Gives the share that rooted with its limits: of one batch (Wilson 1927), which hold
within that batch only, or of several, with an effective number of cuttings and
Student's t, since cuttings of one batch are alike.`,
		Example: examples("withy stats proportion --rooted 14 --cuttings 20", "withy stats proportion --batches 14/20,9/20,18/24,12/18",
			"withy stats proportion --input counts.json --json"),
	}
	optionalInt(cmd, &p.Rooted, "rooted", "cuttings that rooted, of one batch")
	optionalInt(cmd, &p.Cuttings, "cuttings", "cuttings stuck, of that batch")
	sharesFlag(cmd, &p.Batches, "batches", "several batches, rooted of stuck")
	numberFlag(cmd, &p.Level, "level", "confidence of the limits; 0.95 by default")
	return c.command(cmd, p, func() error {
		answer, err := p.answer()
		if err != nil {
			return err
		}
		return show(s, answer, s.sayProportion)
	})
}

func (p *proportion) answer() (a proportionAnswer, err error) {
	shares, err := p.shares()
	if err != nil {
		return a, err
	}
	if err := wantShare("level", p.Level, false); err != nil {
		return a, err
	}
	rate := stats.CrudeRate(shares, p.Level)
	a = proportionAnswer{
		Estimate: rate.Estimate, Lower: rate.Lower, Upper: rate.Upper, Level: p.Level, Method: "several_batches",
		Batches: len(shares), Deff: rate.Deff, NEff: rate.NEff, RhoAssumed: rate.RhoAssumed,
	}
	if len(shares) == 1 {
		a.Method = "one_batch"
	}
	for _, s := range shares {
		a.Rooted, a.Cuttings = a.Rooted+s.Rooted, a.Cuttings+s.Stuck
	}
	if rate.DF > 0 {
		a.DF = &rate.DF
	}
	if fit, err := stats.FitBetaBinomial(shares); err == nil {
		a.Spread = &spreadOf{fit.Mu, fit.Rho, fit.TaroneZ, fit.TaroneP}
	}
	return a, nil
}

// shares are the batches, of which there is one if they are given as counts.
func (p *proportion) shares() (lotShares, error) {
	switch {
	case len(p.Batches) > 0 && (p.Rooted != nil || p.Cuttings != nil):
		return nil, usagef("give either batches, or rooted and cuttings of one batch")
	case len(p.Batches) > 0:
		return p.Batches, nil
	case p.Rooted == nil || p.Cuttings == nil:
		return nil, usagef("give rooted and cuttings of one batch, or batches")
	}
	one := lotShares{{Rooted: *p.Rooted, Stuck: *p.Cuttings}}
	if err := one.check(); err != nil {
		return nil, usagef("the batch %s", err)
	}
	return one, nil
}

func (s *session) sayProportion(a proportionAnswer) {
	s.tell("%d of %d rooted, %s, %s at %s.", a.Rooted, a.Cuttings, percent(100*a.Estimate), limitsWords(a.Lower, a.Upper), percent(100*a.Level))
	if a.Batches == 1 {
		s.tell("One batch: the limits hold within it and say nothing of the next one.")
		return
	}
	s.tell("%d batches, design effect %s: worth %.0f cuttings that are independent.", a.Batches, number(a.Deff, 2), a.NEff)
	switch {
	case a.RhoAssumed:
		s.tell("%s.", capital(rhoAssumed))
	case a.Spread != nil:
		s.tell("Two cuttings of a batch are alike by %s (rho); p that batches do not differ %s (Tarone).", number(a.Spread.Rho, 3), fmt.Sprintf("%.2g", a.Spread.TaroneP))
	}
}

package cli

import (
	"math"

	"github.com/spf13/cobra"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/stats"
)

// potting is what a batch's day to pot is worked out from: how it stood at its last
// look, and the law of the days to root of batches like it.
type potting struct {
	Day       *int     `json:"day"`
	Rooted    int      `json:"rooted"`
	Lost      int      `json:"lost"`
	Open      *int     `json:"open"`
	Rate      *float64 `json:"rate"`
	Rho       *float64 `json:"rho"`
	Family    string   `json:"family"`
	T50       *float64 `json:"t50"`
	T90       *float64 `json:"t90"`
	Mu        *float64 `json:"mu"`
	Sigma     *float64 `json:"sigma"`
	LossRate  float64  `json:"loss_rate"`
	LossMu    *float64 `json:"loss_mu"`
	LossSigma *float64 `json:"loss_sigma"`
	Want      *int     `json:"want"`
	Chance    float64  `json:"chance"`
	Horizon   int      `json:"horizon"`
}

type pottingAnswer struct {
	Day           int            `json:"day"`
	Rooted        int            `json:"rooted"`
	ExpectedFinal float64        `json:"expected_final"`
	StillToRoot   float64        `json:"chance_open_one_roots"`
	Want          int            `json:"want"`
	Chance        float64        `json:"chance"`
	PotOn         *int           `json:"pot_day"` // days after sticking; null where not reached by the horizon
	Status        string         `json:"status"`  // now, reached or not_reached
	NextLook      *int           `json:"half_of_rest_day"`
	Horizon       int            `json:"horizon"`
	Days          []pottingPoint `json:"days"`
	Rho           float64        `json:"rho"`
	RhoAssumed    bool           `json:"rho_assumed"`
}

type pottingPoint struct {
	Day      int     `json:"day"`
	Expected float64 `json:"expected"`
	Lower    int     `json:"lower"`
	Upper    int     `json:"upper"`
}

func newPotting(s *session) *cobra.Command {
	c := &calculator{session: s}
	p := &potting{Family: string(stats.Weibull), Chance: 0.9, Horizon: 168}
	cmd := &cobra.Command{
		Use: "pot", Short: "When a batch will have so many rooted",
		Long: `From how a batch stood at its last look, the share that roots of batches like it and
the law of their days to root, it gives the first day by which the wanted number has
rooted with a chance, an 80 % band week by week, and the day by which half of those
still to root should have. The law is given by the days by which half and nine tenths
of those that root have rooted, or by mu and sigma of the log of days. Days count from
sticking. A forecast never says to pot up: look first.`,
		Example: examples("withy stats pot --day 21 --rooted 12 --lost 2 --open 22 --rate 0.75 --t50 24 --t90 40",
			"withy stats pot --day 0 --open 36 --rate 0.7 --family log_normal --t50 30 --t90 55 --want 20 --json"),
	}
	optionalInt(cmd, &p.Day, "day", "day of the last look, from sticking; 0 if there was none (needed)")
	intFlag(cmd, &p.Rooted, "rooted", "found rooted so far")
	intFlag(cmd, &p.Lost, "lost", "lost before rooting so far")
	optionalInt(cmd, &p.Open, "open", "still unrooted (needed)")
	optionalNumber(cmd, &p.Rate, "rate", "share that roots in the end, of batches like it (needed)")
	optionalNumber(cmd, &p.Rho, "rho", "how alike two cuttings of a batch are; 0.08 if it is not known")
	cmd.Flags().StringVar(&p.Family, "family", p.Family, "law of the days: weibull, log_logistic or log_normal")
	complete(cmd, "family", familyNames())
	optionalNumber(cmd, &p.T50, "t50", "day by which half of those that root have")
	optionalNumber(cmd, &p.T90, "t90", "day by which nine tenths of them have")
	optionalNumber(cmd, &p.Mu, "mu", "location of the log of days, instead of t50 and t90")
	optionalNumber(cmd, &p.Sigma, "sigma", "scale of the log of days")
	numberFlag(cmd, &p.LossRate, "loss-rate", "share that is lost in the end; 0 by default")
	optionalNumber(cmd, &p.LossMu, "loss-mu", "location of the log of the days to loss (Weibull)")
	optionalNumber(cmd, &p.LossSigma, "loss-sigma", "scale of the log of the days to loss")
	optionalInt(cmd, &p.Want, "want", "rooted cuttings wanted; 80 % of those expected in the end by default")
	numberFlag(cmd, &p.Chance, "chance", "chance to have them; 0.9 by default")
	intFlag(cmd, &p.Horizon, "horizon", "last day looked at; 168 by default")
	return c.command(cmd, p, func() error {
		answer, err := p.answer()
		if err != nil {
			return err
		}
		return show(s, answer, s.sayPotting)
	})
}

func familyNames() []string {
	var names []string
	for _, f := range stats.Families() {
		names = append(names, string(f))
	}
	return names
}

const mostDays = 3650 // days after sticking that are looked at

func (p *potting) answer() (a pottingAnswer, err error) {
	state, err := p.state()
	if err != nil {
		return a, err
	}
	mixture, err := p.mixture()
	if err != nil {
		return a, err
	}
	a.Rho, a.RhoAssumed = stats.UsualRho, p.Rho == nil
	if !a.RhoAssumed {
		a.Rho = *p.Rho
	}
	ahead, err := stats.Foretell(mixture, a.Rho, state)
	if err != nil {
		return a, usagef("%s", err)
	}
	a = p.lookAhead(a, ahead)
	if day, ok := mixture.Rooting.HalfAfter(*p.Day, p.Horizon); ok && *p.Open > 0 {
		a.NextLook = &day
	}
	return a, nil
}

func (p *potting) lookAhead(a pottingAnswer, ahead *stats.Prospect) pottingAnswer {
	a.Day, a.Rooted, a.Chance, a.Horizon, a.Status = *p.Day, p.Rooted, p.Chance, p.Horizon, "not_reached"
	a.ExpectedFinal, a.StillToRoot = ahead.Expected(math.Inf(1)), ahead.Chance(math.Inf(1))
	a.Want = rules.UsualWanted(ahead)
	if p.Want != nil {
		a.Want = *p.Want
	}
	if day, ok := ahead.FirstDay(a.Want, p.Chance, p.Horizon); ok {
		a.PotOn, a.Status = &day, "reached"
		if day <= *p.Day {
			a.Status = "now"
		}
	}
	for day := *p.Day; day <= p.Horizon; day += 7 {
		lower, upper, _ := ahead.Band(float64(day), 0.8)
		a.Days = append(a.Days, pottingPoint{day, ahead.Expected(float64(day)), lower, upper})
	}
	return a
}

// state is how the batch stood.
func (p *potting) state() (stats.LotState, error) {
	none := stats.LotState{}
	if p.Day == nil || p.Open == nil || p.Rate == nil {
		return none, usagef("give day, open and rate: when the batch was last looked at, how many were unrooted, and the share that roots")
	}
	for _, n := range []struct {
		name        string
		n, from, to int
	}{{"day", *p.Day, 0, mostDays}, {"rooted", p.Rooted, 0, mostPlants}, {"lost", p.Lost, 0, mostPlants}, {"open", *p.Open, 0, mostPlants}, {"horizon", p.Horizon, *p.Day, mostDays}} {
		if err := wantAtLeast(n.name, n.n, n.from, n.to); err != nil {
			return none, err
		}
	}
	if p.Want != nil {
		if err := wantAtLeast("want", *p.Want, 0, mostPlants); err != nil {
			return none, err
		}
	}
	return stats.LotState{Day: *p.Day, Rooted: p.Rooted, Lost: p.Lost, Open: *p.Open}, wantShare("chance", p.Chance, false)
}

// mixture is the share that roots, the share lost and their laws.
func (p *potting) mixture() (m stats.Mixture, err error) {
	if err := wantShare("rate", *p.Rate, true); err != nil || *p.Rate == 0 {
		return m, wantShare("rate", *p.Rate, false)
	}
	if p.Rho != nil && *p.Rho != 0 {
		if err := wantShare("rho", *p.Rho, false); err != nil {
			return m, err
		}
	}
	if p.LossRate < 0 || *p.Rate+p.LossRate > 1+1e-9 {
		return m, usagef("loss_rate is %s, and must be 0 or more and leave room for the rate of %s", number(p.LossRate, 6), number(*p.Rate, 6))
	}
	m = stats.Mixture{PiRoot: *p.Rate, PiLoss: p.LossRate, PiNever: max(0, 1-*p.Rate-p.LossRate)}
	if m.Rooting, err = p.law(); err != nil || p.LossRate == 0 {
		return m, err
	}
	if p.LossMu == nil || p.LossSigma == nil {
		return m, usagef("give loss_mu and loss_sigma with loss_rate: when losses come")
	}
	m.Losing = stats.Law{Family: stats.Weibull, Mu: *p.LossMu, Sigma: *p.LossSigma}
	return m, wantOver("loss_sigma", *p.LossSigma)
}

func (p *potting) law() (stats.Law, error) {
	law := stats.Law{Family: stats.Family(p.Family)}
	if _, err := parseWord(stats.Families())(p.Family); err != nil {
		return law, usagef("family is %q, and must be %s", p.Family, models.OneOf(stats.Families()))
	}
	switch {
	case p.Mu != nil && p.Sigma != nil && p.T50 == nil && p.T90 == nil:
		law.Mu, law.Sigma = *p.Mu, *p.Sigma
		return law, wantOver("sigma", law.Sigma)
	case p.T50 != nil && p.T90 != nil && p.Mu == nil && p.Sigma == nil:
	default:
		return law, usagef("give t50 and t90, the days by which half and nine tenths of those that root have, or mu and sigma")
	}
	if err := wantOver("t50", *p.T50); err != nil {
		return law, err
	}
	if !(*p.T90 > *p.T50) || math.IsInf(*p.T90, 0) {
		return law, usagef("t90 is %s, and must come after t50, %s", number(*p.T90, 2), number(*p.T50, 2))
	}
	unit := stats.Law{Family: law.Family, Sigma: 1}
	half, most := math.Log(unit.Quantile(0.5)), math.Log(unit.Quantile(0.9))
	law.Sigma = (math.Log(*p.T90) - math.Log(*p.T50)) / (most - half)
	law.Mu = math.Log(*p.T50) - law.Sigma*half
	return law, nil
}

func (s *session) sayPotting(a pottingAnswer) {
	switch a.Status {
	case "now":
		s.tell("%d rooted are there: %d were wanted.", a.Rooted, a.Want)
	case "reached":
		s.tell("%d rooted by day %d after sticking, with a chance of %s.", a.Want, *a.PotOn, percent(100*a.Chance))
	default:
		s.tell("%d rooted are not reached by day %d with a chance of %s.", a.Want, a.Horizon, percent(100*a.Chance))
	}
	s.tell("%s expected in the end; one that is still unrooted roots with a chance of %s.", number(a.ExpectedFinal, 1), percent(100*a.StillToRoot))
	if a.NextLook != nil {
		s.tell("Half of those still to root should have by day %d: a good day to look.", *a.NextLook)
	}
	s.sayAssumed(a.Rho, a.RhoAssumed)
	s.tell("A forecast never says to pot up: look first.")
}

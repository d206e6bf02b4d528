package cli

import (
	"encoding/json"
	"fmt"
	"strings"

	"withybed/models"
	"withybed/models/stats"
)

// rateLaw is the beta law of a share over batches: as it was given, or as batches
// tell it.
type rateLaw struct {
	mean, rho float64
	assumed   bool      // rho is the usual one
	seen      lotShares // batches it is estimated from; none where it was given
	reason    string    // why they do not tell rho
}

// The most batches that a law is estimated from, and cuttings in one of them.
const (
	mostSeen      = 1000
	mostInOneSeen = 10_000
)

// lawOf is the law that batches tell: the likeliest mean and rho, or the usual rho
// where they do not tell it. Where none or all came through the mean is that of
// Jeffreys' law, (r + 1/2) / (n + 1).
func lawOf(seen lotShares) (rateLaw, error) {
	if len(seen) > mostSeen {
		return rateLaw{}, usagef("there are %d batches, and there may be %d", len(seen), mostSeen)
	}
	rooted, stuck := 0, 0
	for _, s := range seen {
		if s.Stuck > mostInOneSeen {
			return rateLaw{}, usagef("has a batch of %d, and a batch may have %d", s.Stuck, mostInOneSeen)
		}
		rooted, stuck = rooted+s.Rooted, stuck+s.Stuck
	}
	fit, err := stats.FitBetaBinomial(seen)
	if err == nil {
		return rateLaw{mean: fit.Mu, rho: fit.Rho, seen: seen}, nil
	}
	law := rateLaw{mean: float64(rooted) / float64(stuck), rho: stats.UsualRho, assumed: true, seen: seen, reason: err.Error()}
	if rooted == 0 || rooted == stuck {
		law.mean = (float64(rooted) + 0.5) / (float64(stuck) + 1)
	}
	return law, nil
}

// What the parameters of a beta law may be.
const (
	leastBeta = 0.001
	mostBeta  = 1e9
)

// lawOfBeta is the law with two parameters.
func lawOfBeta(alpha, beta float64) (rateLaw, error) {
	for _, p := range []struct {
		name  string
		value float64
	}{{"alpha", alpha}, {"beta", beta}} {
		if !(p.value >= leastBeta && p.value <= mostBeta) {
			return rateLaw{}, usagef("%s is %s, and must be from %g to %.0f", p.name, number(p.value, 6), leastBeta, mostBeta)
		}
	}
	law := stats.BetaLaw{A: alpha, B: beta}
	return rateLaw{mean: law.Mean(), rho: law.Rho()}, nil
}

// beta is the law by its parameters. Batches that do not differ are taken to differ
// by next to nothing.
func (l *rateLaw) beta() stats.BetaLaw {
	sum := 1/max(l.rho, 1e-9) - 1
	return stats.BetaLaw{A: l.mean * sum, B: (1 - l.mean) * sum}
}

// weighed is the law of a batch to come: with all that the batches behind it leave
// open, where there are any.
func (l *rateLaw) weighed() stats.BetaLaw {
	if len(l.seen) == 0 {
		return l.beta()
	}
	return stats.Alike(stats.Posterior(l.seen))
}

// spread is over how many batches cuttings are spread. In JSON pairs of rooted and
// stuck in its place are batches that the law is estimated from, as in other
// calculators.
type spread struct {
	over int
	seen lotShares
}

// UnmarshalJSON reads a number, or pairs.
func (b *spread) UnmarshalJSON(text []byte) error {
	if json.Unmarshal(text, &b.over) == nil {
		return nil
	}
	return b.seen.UnmarshalJSON(text)
}

// chainStep is one of the steps from a cutting to a plant. It is written
// rooting=14/20,17/20, with the batches that went through it, or rooting=14,6, with
// the parameters of its beta law.
type chainStep struct {
	name string
	law  rateLaw
}

func parseStep(text string) (chainStep, error) {
	name, shares, ok := strings.Cut(text, "=")
	step := chainStep{name: models.Clean(name)}
	if !ok || step.name == "" {
		return step, usagef("is %q, and a step is written name=rooted/stuck,... or name=alpha,beta, as in rooting=14/20,17/20 or rooting=14,6", text)
	}
	var err error
	if step.law, err = parseLaw(shares); err != nil {
		return step, usagef("%s %s", step.name, err)
	}
	return step, nil
}

func parseLaw(text string) (rateLaw, error) {
	if strings.Contains(text, "/") {
		seen, err := parseShares(text)
		if err != nil {
			return rateLaw{}, err
		}
		return lawOf(seen)
	}
	alpha, beta, ok := strings.Cut(text, ",")
	a, err := parseNumber(strings.TrimSpace(alpha))
	b, err2 := parseNumber(strings.TrimSpace(beta))
	if !ok || err != nil || err2 != nil {
		return rateLaw{}, usagef("is %q, and must be batches, as in 14/20,17/20, or the two parameters of a beta law, as in 14,6", text)
	}
	return lawOfBeta(a, b)
}

// UnmarshalJSON reads a step as it is written in a flag.
func (c *chainStep) UnmarshalJSON(text []byte) error {
	var written string
	err := json.Unmarshal(text, &written)
	if err == nil {
		*c, err = parseStep(written)
	}
	if err != nil {
		return usagef("step %s", err)
	}
	return nil
}

// note says how a law was come by, where that is not plain from what was asked, after
// the name of its step.
func (l *rateLaw) note(name string) string {
	if name != "" {
		name += ": "
	}
	switch {
	case l.reason != "":
		return fmt.Sprintf("%show alike cuttings of a batch are cannot be estimated (%s): rho %s is reckoned with", name, l.reason, number(l.rho, 2))
	case l.assumed:
		return assumedWords(l.rho)
	case len(l.seen) > 0:
		return fmt.Sprintf("%sthe mean, %s, and rho, %s, are estimated from %s", name, percent(100*l.mean), number(l.rho, 3), many(len(l.seen), "batch", "batches"))
	}
	return ""
}

func assumedWords(rho float64) string {
	return fmt.Sprintf("how alike cuttings of a batch are was not given: rho %s is reckoned with", number(rho, 2))
}

func (s *session) sayAssumed(rho float64, assumed bool) {
	if assumed {
		s.tell("%s.", capital(assumedWords(rho)))
	}
}

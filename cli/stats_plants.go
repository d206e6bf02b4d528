package cli

import (
	"fmt"
	"strings"

	"withybed/models/stats"
)

// needAnswer is how many cuttings it takes for a number of plants. What is out of
// reach is null.
type needAnswer struct {
	Plants     int        `json:"plants"`
	Rate       float64    `json:"rate"` // of a chain, the product of those of its steps
	Rho        *float64   `json:"rho"`  // null for a chain
	RhoAssumed bool       `json:"rho_assumed"`
	Seen       int        `json:"batches_seen"` // that the law is estimated from; 0 where it was given
	Steps      []needStep `json:"steps,omitempty"`
	Assurance  float64    `json:"assurance"`
	Batches    int        `json:"batches"`

	MeanRule *int `json:"cuttings_mean_rule"` // gives about an even chance
	IfAlike  *int `json:"cuttings_if_alike"`  // if batches did not differ
	IfKnown  *int `json:"cuttings_if_known"`  // if the law were known for certain
	Cuttings *int `json:"cuttings"`           // with all that is not known

	Chance  *int `json:"for_chance"`         // beyond the mean rule
	Differ  *int `json:"for_batches_differ"` // beyond that
	Unknown *int `json:"for_not_knowing"`    // beyond that; null where the law was given

	Given *needGiven `json:"given,omitempty"`
	Notes []string   `json:"notes"`

	most int // cuttings that were looked for
}

// needStep is a step of a chain.
type needStep struct {
	Name       string  `json:"name"`
	Rate       float64 `json:"rate"`
	Rho        float64 `json:"rho"`
	RhoAssumed bool    `json:"rho_assumed"`
	Seen       int     `json:"batches_seen"`
}

// needGiven is the chance that a number of cuttings gives the plants.
type needGiven struct {
	Cuttings int     `json:"cuttings"`
	Chance   float64 `json:"chance"`
}

const (
	mostPlants      = 100_000
	mostNeedBatches = 1000
	mostSteps       = 12
)

func (n *need) forPlants() (a needAnswer, err error) {
	if err := n.check(); err != nil {
		return a, err
	}
	a = needAnswer{Plants: *n.Plants, Assurance: n.Assurance, Batches: n.Batches.over, Notes: []string{}}
	var y yield
	if len(n.Step) > 0 {
		y, err = n.inSteps(&a)
	} else {
		y, err = n.atRate(&a)
	}
	if err != nil {
		return a, err
	}
	if err := n.give(&a, y); err != nil {
		return a, err
	}
	a.take(y)
	return a, nil
}

func (n *need) check() error {
	if err := wantAtLeast("plants", *n.Plants, 0, mostPlants); err != nil {
		return err
	}
	if err := wantAtLeast("batches", n.Batches.over, 1, mostNeedBatches); err != nil {
		return err
	}
	return wantShare("assurance", n.Assurance, false)
}

// yield is how plants come of cuttings: the mean share, and the chance of the plants
// that are wanted by the number of cuttings.
type yield struct {
	mean   float64
	known  func(cuttings int) float64 // with the law as it was given or estimated
	unsure func(cuttings int) float64 // with all that it may be; nil where it was given
	most   int                        // cuttings that can be looked for
}

// atRate is the yield of batches by the law of one rate.
func (n *need) atRate(a *needAnswer) (yield, error) {
	law, err := n.law()
	if err != nil {
		return yield{}, err
	}
	a.Rate, a.Rho, a.RhoAssumed, a.Seen = law.mean, &law.rho, law.assumed, len(law.seen)
	a.note(&law, "")
	over := func(laws []stats.RateLaw) func(int) float64 {
		return func(k int) float64 { return stats.AtLeastOver(laws, n.Batches.over, *n.Plants, k) }
	}
	y := yield{mean: law.mean, known: over([]stats.RateLaw{{Mean: law.mean, Rho: law.rho, Weight: 1}}), most: stats.MostCuttings}
	if len(law.seen) > 0 {
		y.unsure = over(stats.Posterior(law.seen))
	}
	return y, nil
}

// inSteps is the yield of one batch through a chain of steps.
func (n *need) inSteps(a *needAnswer) (yield, error) {
	switch {
	case n.Rate != nil || n.Rho != nil || n.Alpha != nil || n.Beta != nil || len(n.seen()) > 0:
		return yield{}, usagef("step says it all: leave out rate, rho, alpha, beta and batch")
	case n.Batches.over != 1:
		return yield{}, usagef("batches is %d, and steps are reckoned for one batch", n.Batches.over)
	case len(n.Step) > mostSteps:
		return yield{}, usagef("there are %d steps, and there may be %d", len(n.Step), mostSteps)
	}
	through := func(steps []stats.BetaLaw) func(int) float64 {
		return func(k int) float64 { return stats.AtLeastInChain(*n.Plants, k, steps) }
	}
	y := yield{mean: 1, most: stats.MostChained}
	var known, unsure []stats.BetaLaw
	for i := range n.Step {
		name, law := n.Step[i].name, &n.Step[i].law
		a.Steps = append(a.Steps, needStep{name, law.mean, law.rho, law.assumed, len(law.seen)})
		a.note(law, name)
		a.RhoAssumed, a.Seen = a.RhoAssumed || law.assumed, a.Seen+len(law.seen)
		y.mean *= law.mean
		known, unsure = append(known, law.beta()), append(unsure, law.weighed())
	}
	a.Rate, y.known = y.mean, through(known)
	if a.Seen > 0 {
		y.unsure = through(unsure)
	}
	return y, nil
}

func (a *needAnswer) note(l *rateLaw, name string) {
	if note := l.note(name); note != "" {
		a.Notes = append(a.Notes, note)
	}
}

// give works out the chance of the cuttings that were named.
func (n *need) give(a *needAnswer, y yield) error {
	if n.Cuttings == nil {
		return nil
	}
	if err := wantAtLeast("cuttings", *n.Cuttings, 0, y.most); err != nil {
		return err
	}
	chance := y.known
	if y.unsure != nil {
		chance = y.unsure
	}
	a.Given = &needGiven{*n.Cuttings, chance(*n.Cuttings)}
	return nil
}

// take works out how many cuttings it takes, and what for. Not knowing the law never
// makes them fewer.
func (a *needAnswer) take(y yield) {
	a.most = y.most
	if k := stats.MeanRule(a.Plants, y.mean); k < stats.MostCuttings {
		a.MeanRule = &k
	}
	a.IfAlike = reached(stats.CuttingsNeeded(a.Plants, y.mean, 0, a.Assurance))
	a.IfKnown = reached(stats.Smallest(a.Plants, y.most, a.Assurance, y.known))
	a.Cuttings = a.IfKnown
	if a.IfKnown != nil && y.unsure != nil {
		a.Cuttings = reached(stats.Smallest(*a.IfKnown, y.most, a.Assurance, y.unsure))
		a.Unknown = more(a.Cuttings, a.IfKnown)
	}
	a.Chance, a.Differ = more(a.IfAlike, a.MeanRule), more(a.IfKnown, a.IfAlike)
}

func reached(n int, ok bool) *int {
	if !ok {
		return nil
	}
	return &n
}

// more is how many more one number is than another, where both are reached.
func more(n, than *int) *int {
	if n == nil || than == nil {
		return nil
	}
	d := *n - *than
	return &d
}

func (s *session) sayNeed(a needAnswer) {
	if a.Cuttings == nil {
		s.tell("Out of reach: more than %d cuttings would be needed for %s.", a.most, many(a.Plants, "plant", "plants"))
	} else {
		s.tell("%d cuttings in %s for %s, with a chance of %s.", *a.Cuttings, many(a.Batches, "batch", "batches"), many(a.Plants, "plant", "plants"), percent(100*a.Assurance))
	}
	if parts := needParts(&a); len(parts) > 0 {
		s.tell("%s.", strings.Join(parts, "; "))
	}
	if g := a.Given; g != nil {
		s.tell("%d cuttings give %s or more with a chance of %s.", g.Cuttings, many(a.Plants, "plant", "plants"), percent(100*g.Chance))
	}
	if len(a.Steps) > 0 {
		s.tell("%s of the cuttings come through %s on average. The share of each step is drawn once for the batch.", percent(100*a.Rate), many(len(a.Steps), "step", "steps"))
	}
	for _, note := range a.Notes {
		s.tell("%s.", capital(note))
	}
}

// needParts say what so many cuttings are needed for.
func needParts(a *needAnswer) []string {
	var parts []string
	if a.Plants == 0 {
		return nil
	}
	if a.MeanRule != nil {
		parts = append(parts, fmt.Sprintf("Dividing by the mean share gives %d, which is about an even chance", *a.MeanRule))
	}
	for _, p := range []struct {
		n   *int
		why string
	}{{a.Chance, "for chance"}, {a.Differ, "since batches differ"}, {a.Unknown, "for not knowing mean and rho for certain"}} {
		switch {
		case p.n == nil:
		case *p.n < 0: // with little assurance
			parts = append(parts, fmt.Sprintf("%d fewer %s", -*p.n, p.why))
		default:
			parts = append(parts, fmt.Sprintf("%d more %s", *p.n, p.why))
		}
	}
	return parts
}

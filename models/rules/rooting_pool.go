package rules

import (
	"context"
	"fmt"
	"math"
	"strings"

	"withybed/models"
	"withybed/models/stats"
)

// The levels at which the search for a pool may stop.
const (
	levelTreatment = "taxon_kind_treatment"
	levelKind      = "taxon_kind"
	levelTaxon     = "taxon"
	levelPrior     = "prior"
)

// ForecastLevels are the levels at which the search for the batches behind a
// forecast may stop, the narrowest first.
var ForecastLevels = []string{levelTreatment, levelKind, levelTaxon, levelPrior}

// toldBy are what the batches of a pool have in common at each level.
var toldBy = map[string][]string{
	levelTreatment: {"taxon", "kind", "treatment", "heated"},
	levelKind:      {"taxon", "kind"},
	levelTaxon:     {"taxon"},
}

// fewestForRho is how many closed batches it takes to reckon with how far they
// differ.
const fewestForRho = 5

// poolKey is a level and the values that the batches of a pool share.
type poolKey struct{ level, values string }

func keyAt(level string, w *Watched) poolKey {
	values := make([]string, 0, len(toldBy[level]))
	for _, name := range toldBy[level] {
		value := w.Keys[name]
		if value == "" {
			value = NotRecorded
		}
		values = append(values, models.NameKey(value))
	}
	return poolKey{level, strings.Join(values, "\x00")}
}

// backing is what stands behind a forecast: the law of a pool, or why it has none.
type backing struct {
	view   models.ForecastPool
	law    stats.Mixture
	reason string // why the pool cannot be used; empty where it can
	doubt  string // what the looks of the pool do not tell
}

// forecaster makes forecasts from batches as they were known on one day. Each pool
// is fitted once, when it is first asked for.
type forecaster struct {
	pools map[poolKey][]Watched
	fits  map[poolKey]*backing
}

func newForecaster(batches []Watched) *forecaster {
	f := &forecaster{map[poolKey][]Watched{}, map[poolKey]*backing{}}
	for i := range batches {
		if !batches[i].Lot.Seen() {
			continue
		}
		for level := range toldBy {
			key := keyAt(level, &batches[i])
			f.pools[key] = append(f.pools[key], batches[i])
		}
	}
	return f
}

// behind is what stands behind the forecast of a batch: the narrowest pool with a
// law of its own, or the prior of its genus. It fails where ctx ends.
func (f *forecaster) behind(ctx context.Context, w *Watched) (backing, error) {
	wider := []string{}
	for _, level := range ForecastLevels[:len(ForecastLevels)-1] {
		b, err := f.fit(ctx, level, w)
		if err != nil {
			return backing{}, err
		}
		if b.reason == "" {
			found := *b
			found.view.Wider = wider
			return found, nil
		}
		wider = append(wider, fmt.Sprintf("%s: %s", b.view.Basis, b.reason))
	}
	prior := priorOf(w)
	prior.view.Wider = wider
	return prior, nil
}

func (f *forecaster) fit(ctx context.Context, level string, w *Watched) (*backing, error) {
	key := keyAt(level, w)
	if known := f.fits[key]; known != nil {
		return known, nil
	}
	fitted, err := fitBacking(ctx, level, w, f.pools[key])
	if err != nil {
		return nil, err
	}
	f.fits[key] = fitted
	return fitted, nil
}

// fitBacking fits a pool. Where the looks tell the days to root but not the share
// that never roots, the pool is used all the same, with a word: it is nearer than
// general experience.
func fitBacking(ctx context.Context, level string, w *Watched, batches []Watched) (*backing, error) {
	b := &backing{view: models.ForecastPool{Level: level, Basis: poolBasis(level, w), Batches: len(batches)}}
	pool := Pool{Batches: batches}
	best, reason, err := bestFit(ctx, pool.Lots())
	if b.reason = reason; err != nil || reason != "" {
		return b, err
	}
	b.law = best.Mixture
	if best.Status == stats.PiNotIdentified {
		b.doubt = "the looks at the pool do not tell the share that never roots: the further ahead, the more hangs on the family of its law"
	}
	b.settle(batches)
	return b, nil
}

// settle works out how much the closed batches of the pool differ, and shows the
// law.
func (b *backing) settle(batches []Watched) {
	var closed []stats.Share
	for i := range batches {
		if batches[i].Closed() {
			closed = append(closed, batches[i].share())
		}
	}
	b.view.Closed = len(closed)
	b.view.Rho, b.view.RhoAssumed = rhoOf(closed)
	b.show()
}

// rhoOf is how much closed batches differ, or what is usual where they are too few
// or do not tell.
func rhoOf(closed []stats.Share) (rho float64, assumed bool) {
	if len(closed) < fewestForRho {
		return stats.UsualRho, true
	}
	fit, err := stats.FitBetaBinomial(closed)
	if err != nil {
		return stats.UsualRho, true
	}
	return fit.Rho, false
}

func (b *backing) show() {
	b.view.Family, b.view.PiRoot = string(b.law.Rooting.Family), b.law.PiRoot
	b.view.Mu, b.view.Sigma = b.law.Rooting.Mu, b.law.Rooting.Sigma
}

// poolBasis is the pool of a batch in words.
func poolBasis(level string, w *Watched) string {
	var parts []string
	for _, name := range toldBy[level] {
		switch value := w.Keys[name]; {
		case value == "" && name == "taxon":
			parts = append(parts, "any taxon")
		case value == "":
			parts = append(parts, name+" not recorded")
		case name == "treatment":
			parts = append(parts, "treatment "+value)
		case name == "heated":
			parts = append(parts, "bottom heat "+value)
		default:
			parts = append(parts, strings.ReplaceAll(value, "_", " "))
		}
	}
	return strings.Join(parts, ", ")
}

// priorDays are the days within which the middle four fifths of the cuttings that
// root are taken to do so, by genus, and the words for it.
type priorDays struct {
	genus    string
	from, to float64
	basis    string
}

// priors stand in where the nursery's own records do not tell: the weeks to root
// that nursery manuals give for kinds of the Pacific slope. A genus that is not
// here roots within the span of them all.
var priors = []priorDays{
	{"salix", 7, 21, "willows root in 1 to 3 weeks"},
	{"populus", 14, 28, "cottonwoods root in 2 to 4 weeks"},
	{"cornus", 21, 56, "dogwoods root in 3 to 8 weeks"},
	{"physocarpus", 28, 56, "ninebarks root in 4 to 8 weeks"},
	{"lonicera", 21, 42, "twinberries root in 3 to 6 weeks"},
	{"symphoricarpos", 21, 42, "snowberries root in 3 to 6 weeks"},
	{"rubus", 28, 56, "salmonberries root in 4 to 8 weeks"},
	{"sambucus", 28, 90, "elderberries take up to 3 months to root"},
}

var anyPrior = priorDays{"", 14, 90, "shrubs and trees from cuttings root in 2 weeks to 3 months"}

// priorRoots is the share taken to root: a nursery usually loses 5 to 50 % of what
// is stuck, and this is the middle.
const priorRoots = 0.725

// priorOf is the prior of a batch: log-normal days with a tenth before the first
// and a tenth after the last day of the span of its genus. How fast the others are
// lost is not known, so they are taken to stand.
func priorOf(w *Watched) backing {
	name, _, _ := strings.Cut(models.NameKey(w.Keys["taxon"]), " ")
	span := anyPrior
	for _, p := range priors {
		if p.genus == name {
			span = p
		}
	}
	z := stats.NormalQuantile(0.8) // two-sided: a tenth on each side
	law := stats.Law{Family: stats.LogNormal, Mu: math.Log(span.from*span.to) / 2, Sigma: math.Log(span.to/span.from) / (2 * z)}
	b := backing{law: stats.Mixture{PiRoot: priorRoots, PiNever: 1 - priorRoots, Rooting: law}}
	b.view = models.ForecastPool{
		Level: levelPrior, Rho: stats.UsualRho, RhoAssumed: true,
		Basis: fmt.Sprintf("no records of this nursery: %s, and %.1f %% of what is stuck, the middle of usual losses of 5 to 50 %%", span.basis, 100*priorRoots),
	}
	b.show()
	return b
}

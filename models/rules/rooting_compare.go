package rules

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"withybed/models"
	"withybed/models/stats"
)

// CompareAsk asks whether arms differ.
type CompareAsk struct {
	By         string  // what is compared, one of Comparable; treatment if empty
	Reference  string  // the arm the others are held against; the first by name if empty
	Difference float64 // a difference of rates to find, for how many batches that takes; 0 for none
	Draw       stats.Drawing
}

// ByPerson compares who stuck the batches. It is for leads alone, and leaves the
// house in no form.
const ByPerson = "person"

// contrast is one thing arms can be told apart by. An empty value was not
// recorded, and is in no arm.
type contrast struct {
	name string
	of   func(*Watched) string
	dose func(amount float64) float64 // where values are doses
}

var contrasts = []contrast{
	{"treatment", keyed("treatment"), nil},
	{"medium", keyed("medium"), nil},
	{"season", keyed("season"), nil},
	{"stand", keyed("stand"), nil},
	{"kind", keyed("kind"), nil},
	{"heated", keyed("heated"), nil},
	{"bench", keyed("bench"), nil},
	{"willow_water", withWillowWater, nil},
	{"soak_days", func(w *Watched) string { return doseWords(w.parts().SoakDays) }, plainDose},
	{"auxin_ppm", auxinPPM, logDose},
	{ByPerson, func(w *Watched) string { return models.Clean(w.Person) }, nil},
}

func keyed(name string) func(*Watched) string {
	return func(w *Watched) string { return w.Keys[name] }
}

// parts are those of a batch's treatment, none where none were recorded.
func (w *Watched) parts() models.Treatment {
	if w.Treatment == nil {
		return models.Treatment{}
	}
	return *w.Treatment
}

func withWillowWater(w *Watched) string {
	switch t := w.parts(); {
	case t.WillowWaterGPerL != nil || t.WillowWaterHours != nil:
		return "with"
	case t.Name != "":
		return "" // a name may stand for it
	}
	return "without"
}

func auxinPPM(w *Watched) string {
	switch t := w.parts(); {
	case t.AuxinPPM != nil:
		return doseWords(t.AuxinPPM)
	case t.AuxinPercent != nil:
		ppm := *t.AuxinPercent * models.PPMPerPercent
		return doseWords(&ppm)
	case t.Auxin != "" || t.Name != "":
		return "" // of a strength that is not known, or a name that may stand for one
	}
	return doseWords(nil)
}

func doseWords(x *float64) string {
	if x == nil {
		return "0"
	}
	return strconv.FormatFloat(*x, 'f', -1, 64)
}

func plainDose(dose float64) float64 { return dose }

// logDose is the usual scale of a strength in ppm: log(ppm + 100), on which none
// has a place.
func logDose(ppm float64) float64 { return math.Log(ppm + 100) }

// Comparable are the names of everything arms can be told apart by.
func Comparable() []string {
	names := make([]string, len(contrasts))
	for i, c := range contrasts {
		names[i] = c.name
	}
	return names
}

// Compare holds the arms of a trial against each other: their rates, the
// difference, and a test over the whole curve that relabels whole batches, within
// blocks where batches were split from one harvest or named as a block. It answers
// honestly where that cannot be had: too few batches, not side by side, not enough
// yet.
//
// It fails with a models.Error, kind Invalid, codes unknown-grouping and
// unknown-arm, and where ctx ends.
func Compare(ctx context.Context, batches []Watched, ask CompareAsk) (models.Comparison, error) {
	by, err := contrastBy(ask.By)
	if err != nil {
		return models.Comparison{}, err
	}
	if !(ask.Difference >= 0 && ask.Difference < 1) {
		return models.Comparison{}, models.InvalidQuestion("out-of-range", "difference", fmt.Sprint(ask.Difference), "is %v, and must be a share from 0 to below 1", ask.Difference)
	}
	t := newTrial(batches, by, ask.Draw)
	if err := t.refer(ask.Reference); err != nil {
		return models.Comparison{}, err
	}
	t.settle()
	c := models.Comparison{By: by.name, BatchScores: t.scores, SideBySide: t.blocked()}
	if len(t.arms) > 0 {
		c.Reference = t.arms[0].name
	}
	if err := t.answer(ctx, &c); err != nil {
		return models.Comparison{}, err
	}
	c.Need = t.need(ask.Difference, c.Arms)
	c.Notes = t.notes()
	return c, nil
}

func contrastBy(name string) (contrast, error) {
	name = cmp.Or(name, "treatment")
	i := slices.IndexFunc(contrasts, func(c contrast) bool { return c.name == name })
	if i >= 0 {
		return contrasts[i], nil
	}
	err := models.InvalidQuestion("unknown-grouping", "by", name, "is %q, and batches are compared by %s", name, models.OneOf(Comparable()))
	err.Suggestions = Near(name, Comparable())
	return contrast{}, err
}

// answer fills in what is answered of two arms, or of more.
func (t *trial) answer(ctx context.Context, c *models.Comparison) error {
	var err error
	if c.Arms, err = t.rates(ctx); err != nil {
		return err
	}
	switch {
	case len(t.arms) < 2:
	case len(t.arms) == 2:
		pair, err := t.pair(ctx, 1)
		if err != nil {
			return err
		}
		c.Difference, c.Test = &pair.Difference, &pair.Test
	default:
		if err := t.pairs(ctx, c); err != nil {
			return err
		}
	}
	c.Heading = t.heading(c)
	return nil
}

// pairs holds each of several arms against the reference, scored anew within the
// pair.
func (t *trial) pairs(ctx context.Context, c *models.Comparison) (err error) {
	if c.Overall, err = t.overall(ctx); err != nil {
		return err
	}
	var tested []int
	var ps []float64
	for arm := 1; arm < len(t.arms); arm++ {
		two := t.only(0, arm)
		pair, err := two.pair(ctx, 1)
		if err != nil {
			return err
		}
		t.short += two.short
		if p := pair.Test.PPermutation; p != nil {
			tested, ps = append(tested, len(c.Pairs)), append(ps, *p)
		}
		c.Pairs = append(c.Pairs, pair)
	}
	for i, p := range stats.Holm(ps) {
		c.Pairs[tested[i]].PHolm = &p
	}
	c.Trend, err = t.trend(ctx)
	return err
}

// heading is the answer in a sentence.
func (t *trial) heading(c *models.Comparison) string {
	switch text := t.verdict(c); {
	case len(t.arms) < 2 || t.blocked() || strings.HasPrefix(text, notYet):
		return text
	default:
		return "not a side-by-side trial: " + text
	}
}

// notYet begins the answer where it is too early to compare anything.
const notYet = "not enough yet"

func (t *trial) verdict(c *models.Comparison) string {
	switch {
	case len(t.arms) < 2:
		return fmt.Sprintf("nothing to compare: %s with a recorded %s", models.Counted(len(t.arms), "arm"), strings.ReplaceAll(t.by.name, "_", " "))
	case t.unseen() != "":
		return fmt.Sprintf(notYet+": nobody has looked at the roots of %s", t.unseen())
	case t.alone() != "":
		return fmt.Sprintf(notYet+": %s is one batch only, and what it shows may be that of the batch", t.alone())
	case t.early():
		return fmt.Sprintf(notYet+": all arms are watched to day %d only, and a final rate is that of day %d", t.day, t.final)
	case c.Test != nil:
		return testWords(c.Test, t.arms[1].name, t.arms[0].name)
	}
	if c.Overall.PPermutation == nil {
		return c.Overall.Reason
	}
	if p := *c.Overall.PPermutation; p <= usualAlpha {
		return fmt.Sprintf("the %d arms do not all root alike (p = %s)", len(t.arms), pWords(p))
	}
	return fmt.Sprintf("no difference shown between the %d arms (p = %s)", len(t.arms), pWords(*c.Overall.PPermutation))
}

const usualAlpha = 0.05

func testWords(t *models.ArmTest, arm, minus string) string {
	switch {
	case t.PPermutation == nil:
		return t.Reason
	case *t.PPermutation > usualAlpha:
		return fmt.Sprintf("no difference shown between %s and %s (p = %s)", arm, minus, pWords(*t.PPermutation))
	case *t.Z > 0:
		return fmt.Sprintf("%s rooted earlier or more than %s (p = %s)", arm, minus, pWords(*t.PPermutation))
	}
	return fmt.Sprintf("%s rooted later or less than %s (p = %s)", arm, minus, pWords(*t.PPermutation))
}

func pWords(p float64) string { return strconv.FormatFloat(p, 'g', 2, 64) }

package cli

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"unicode"
	"unicode/utf8"

	"withybed/models"
)

// capital begins a text with a capital.
func capital(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	if size == 0 {
		return text
	}
	return string(unicode.ToUpper(first)) + text[size:]
}

// differenceWords is the difference of two rates, by its day and basis.
func differenceWords(d *models.ArmDifference) string {
	what := fmt.Sprintf("%s minus %s", d.Arm, d.Minus)
	if d.Estimate == nil || d.Day == nil {
		return what + ": no difference can be had yet."
	}
	text := fmt.Sprintf("%s: %+.1f points by day %d", what, 100**d.Estimate, *d.Day)
	switch {
	case d.Lower == nil || d.Upper == nil:
		text += ", without limits"
	case d.DF == nil:
		text += fmt.Sprintf(", 95 %% limits %+.1f to %+.1f", 100**d.Lower, 100**d.Upper)
	default:
		text += fmt.Sprintf(", 95 %% limits %+.1f to %+.1f (df %d)", 100**d.Lower, 100**d.Upper, *d.DF)
	}
	return text + ", " + basisWords[d.Basis] + "."
}

var basisWords = map[string]string{
	"crude_closed": "counted over batches that are all final",
	"npmle_at_day": "read off the curves",
	"blocks":       "within blocks",
}

// testWords is the test of two arms over the whole curve.
func testWords(t *models.ArmTest) string {
	if t.PPermutation == nil {
		return capital(t.Reason) + "."
	}
	text := fmt.Sprintf("Test over the whole curve: p = %s, %s", pWords(*t.PPermutation), labelingWords(t.Method, t.Labelings, t.Seed))
	if t.Blocks > 0 {
		text += fmt.Sprintf(" within %s", many(t.Blocks, "block", "blocks"))
	}
	return text + "."
}

func labelingWords(method string, labelings float64, seed uint64) string {
	switch method {
	case "exact":
		return fmt.Sprintf("over all %.0f labelings of batches", labelings)
	case "draws":
		return fmt.Sprintf("over drawn labelings of batches (seed %d)", seed)
	}
	return "by the normal distribution"
}

// overallWords is the test over more than two arms.
func overallWords(t *models.ArmsTest) string {
	if t.PPermutation == nil {
		return capital(t.Reason) + "."
	}
	return fmt.Sprintf("Test over all arms: p = %s, %s.", pWords(*t.PPermutation), labelingWords(t.Method, t.Labelings, t.Seed))
}

// trendHeading names what is dosed, and the doses.
func trendHeading(t *models.DoseTest) string {
	doses := slices.Sorted(maps.Values(t.Doses))
	texts := make([]string, len(doses))
	for i, dose := range doses {
		texts[i] = strconv.FormatFloat(dose, 'f', -1, 64)
	}
	return fmt.Sprintf("Trend over %s, at %s:", words(t.Dose), listWords(texts))
}

// trendWords is the test for a trend over doses.
func trendWords(t *models.DoseTest) string {
	if t.PPermutation == nil {
		return capital(t.Reason) + "."
	}
	what := "No trend shown"
	switch {
	case *t.PPermutation > usualAlpha:
	case *t.Z > 0:
		what = "Higher doses rooted earlier or more"
	default:
		what = "Higher doses rooted later or less"
	}
	return fmt.Sprintf("%s: p = %s, %s.", what, pWords(*t.PPermutation), labelingWords(t.Method, t.Labelings, t.Seed))
}

// usualAlpha is the p up to which a test shows something.
const usualAlpha = 0.05

// needWords is how many batches a named difference takes.
func needWords(n *models.ComparisonNeed) string {
	what := fmt.Sprintf("To find a difference of %s points from %s, with batches of %d that are alike by %.2f (rho) and a chance of %.0f %%",
		number(100*n.Difference, 1), percent(100*n.Rate), n.Cuttings, n.Rho, 100*n.Power)
	if n.Batches == nil {
		return what + ", more batches are needed than can be had."
	}
	return what + fmt.Sprintf(", it takes %s in each arm.", many(*n.Batches, "batch", "batches"))
}

package cli

import (
	"testing"

	"withybed/models"
)

func of[T any](v T) *T { return &v }

func dosed(z, p float64) *models.DoseTest {
	return &models.DoseTest{Dose: "soak_days", Z: &z, PPermutation: &p, Method: "exact", Labelings: 90}
}

func TestComparisonWords(t *testing.T) {
	difference := models.ArmDifference{Arm: "talc", Minus: "none", Estimate: of(-0.125), Lower: of(-0.3), Upper: of(0.05), Basis: "npmle_at_day", Day: of(84), DF: of(6)}
	normal, bare, blank := difference, difference, models.ArmDifference{Arm: "talc", Minus: "none"}
	normal.DF, bare.Lower, bare.Basis = nil, nil, "blocks"
	test := models.ArmTest{PPermutation: of(0.0286), Method: "exact", Labelings: 70, Blocks: 1}
	drawn := models.ArmTest{PPermutation: of(0.0004), Method: "draws", Seed: 7, Blocks: 3}
	need := models.ComparisonNeed{Difference: 0.15, Rate: 0.6, Cuttings: 30, Rho: 0.08, Power: 0.8, Batches: of(18)}
	never := need
	never.Batches = nil
	for got, want := range map[string]string{
		differenceWords(&difference): "talc minus none: -12.5 points by day 84, 95 % limits -30.0 to +5.0 (df 6), read off the curves.",
		differenceWords(&normal):     "talc minus none: -12.5 points by day 84, 95 % limits -30.0 to +5.0, read off the curves.",
		differenceWords(&bare):       "talc minus none: -12.5 points by day 84, without limits, within blocks.",
		differenceWords(&blank):      "talc minus none: no difference can be had yet.",
		testWords(&test):             "Test over the whole curve: p = 0.029, over all 70 labelings of batches within 1 block.",
		testWords(&drawn):            "Test over the whole curve: p = 0.0004, over drawn labelings of batches (seed 7) within 3 blocks.",
		testWords(&models.ArmTest{Reason: "too few batches to test"}):                                                    "Too few batches to test.",
		overallWords(&models.ArmsTest{PPermutation: of(0.2), Method: "exact", Labelings: 90}):                            "Test over all arms: p = 0.2, over all 90 labelings of batches.",
		overallWords(&models.ArmsTest{Reason: "too few batches to test"}):                                                "Too few batches to test.",
		trendHeading(&models.DoseTest{Dose: "auxin_ppm", Doses: map[string]float64{"3000": 3000, "0": 0, "1000": 1000}}): "Trend over auxin ppm, at 0, 1000 and 3000:",
		trendWords(&models.DoseTest{Reason: "too few batches to test"}):                                                  "Too few batches to test.",
		trendWords(dosed(2, 0.01)):  "Higher doses rooted earlier or more: p = 0.01, over all 90 labelings of batches.",
		trendWords(dosed(-2, 0.01)): "Higher doses rooted later or less: p = 0.01, over all 90 labelings of batches.",
		trendWords(dosed(2, 0.3)):   "No trend shown: p = 0.3, over all 90 labelings of batches.",
		needWords(&need):            "To find a difference of 15 points from 60.0 %, with batches of 30 that are alike by 0.08 (rho) and a chance of 80 %, it takes 18 batches in each arm.",
		needWords(&never):           "To find a difference of 15 points from 60.0 %, with batches of 30 that are alike by 0.08 (rho) and a chance of 80 %, more batches are needed than can be had.",
	} {
		if got != want {
			t.Errorf("%s\nwant %s", got, want)
		}
	}
}

// A share that cannot be told is in no table.
func TestSharesThatCannotBeToldAreLeftOut(t *testing.T) {
	parameters := &models.FitParameters{PiRoot: 0.625}
	for status, want := range map[string]string{"converged": "62.5 %", "pi_not_identified": "-", "declined": "-"} {
		f := models.RootingFit{Status: status, Parameters: parameters}
		if status == "declined" {
			f.Parameters = nil
		}
		if got := rootsWords(&f); got != want || fitWords[status] == "" {
			t.Errorf("%s: %q as %q", status, got, fitWords[status])
		}
	}
}

func TestGroupsAreNamedByThemselves(t *testing.T) {
	by := []string{"taxon", "treatment", "heated", "mist", "kind"}
	for want, key := range map[string]models.RootingKey{
		"Rosa nutkana, no treatment, heated, under mist, live stake":    {"taxon": "Rosa nutkana", "treatment": "none", "heated": "yes", "mist": "yes", "kind": "live_stake"},
		"Rosa nutkana, talc, heat not recorded, without mist, hardwood": {"taxon": "Rosa nutkana", "treatment": "talc", "heated": "not recorded", "mist": "no", "kind": "hardwood"},
	} {
		if got := keyWords(by, key); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	if keyWords(nil, nil) != "all batches" || len(keyColumns(by)) != 1 || len(keyColumns(nil)) != 0 {
		t.Error("groups are not told in one column")
	}
}

package rules

import (
	"fmt"

	"withybed/models"
	"withybed/models/stats"
)

// EffectiveParents is how many plants of equal share would vary as little as those of a
// batch, (Σc)² ÷ Σc² over the cuttings from each, or over the stems where the cuttings
// of any are not told; nil where no plant is known by its tag.
//
// Kimura & Crow (1963), Evolution 17:279-288.
func EffectiveParents(parents []models.Parent) *float64 {
	if len(parents) == 0 {
		return nil
	}
	counts, _ := givenBy(parents)
	n := stats.EffectiveNumber(counts)
	return &n
}

// givenBy is what each plant gave, and the word for it: cuttings where all tell them,
// stems otherwise.
func givenBy(parents []models.Parent) (counts []int, noun string) {
	cuttings, stems := make([]int, len(parents)), make([]int, len(parents))
	told := true
	for i, p := range parents {
		cuttings[i], stems[i] = p.Cuttings, p.Stems
		told = told && p.Cuttings > 0
	}
	if told {
		return cuttings, "cutting"
	}
	return stems, "stem"
}

// ParentWarnings are what to look at again in the plants of a batch that are known one
// by one: that they are few, that one gave a large part, and, of a taxon with female
// and male plants, that the sex of none is told or that all are of one.
func ParentWarnings(taxon *models.Taxon, parents []models.Parent, t *models.Thresholds) []string {
	if len(parents) == 0 {
		return nil
	}
	var warnings []string
	if n := len(parents); n < t.FewParents {
		warnings = append(warnings, fmt.Sprintf("cut from %s, and fewer than %d are few: what grows of it will be much alike; take a few stems from many plants, far apart",
			models.Counted(n, "plant"), t.FewParents))
	}
	if text := largeDonor(parents, t.DonorShare); text != "" {
		warnings = append(warnings, text)
	}
	if text := oneSex(taxon, parents); text != "" {
		warnings = append(warnings, text)
	}
	return warnings
}

// largeDonor says that one plant of several gave more than a share of all.
func largeDonor(parents []models.Parent, share models.Decimal) string {
	counts, noun := givenBy(parents)
	all, most := 0, 0
	for i, count := range counts {
		all += count
		if count > counts[most] {
			most = i
		}
	}
	if len(parents) == 1 || models.DecimalOf(counts[most]) <= share*models.Decimal(all) {
		return ""
	}
	return fmt.Sprintf("plant %s gave %d of the %s, more than a share of %s: take similar numbers from each",
		parents[most].Tag, counts[most], models.Counted(all, noun), share)
}

// oneSex says of a taxon with female and male plants what is missing.
func oneSex(taxon *models.Taxon, parents []models.Parent) string {
	if !taxon.Dioecious {
		return ""
	}
	of := map[models.Sex]int{}
	for _, p := range parents {
		of[p.Sex]++
	}
	told := of[models.Female] + of[models.Male]
	switch {
	case told == 0:
		return fmt.Sprintf("%s has female and male plants, a cutting keeps the sex of its parent, and the sex of none of the plants cut from is told", taxon.ScientificName)
	case of[models.Male] == 0:
		return sexWords(taxon, models.Female, models.Male, told, len(parents))
	case of[models.Female] == 0:
		return sexWords(taxon, models.Male, models.Female, told, len(parents))
	}
	return ""
}

func sexWords(taxon *models.Taxon, has, lacks models.Sex, told, plants int) string {
	return fmt.Sprintf("%s has female and male plants, and the %d of %s whose sex is told %s %s: cut from %s ones too",
		taxon.ScientificName, told, models.Counted(plants, "plant"), models.Are(told), has, lacks)
}

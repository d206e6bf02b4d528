package rules

import (
	"cmp"
	"fmt"
	"slices"

	"withybed/models"
)

// ParentDays are the days over which the plants of a stand are looked at: a growth
// year, as in 2025/26, or, without one, the window that ends on a day.
func ParentDays(stand *models.StandRecord, season string, on models.Date) (from, to models.Date, err error) {
	if season == "" {
		return on.Add(1 - RuleOn(stand.Rules, on).WindowDays), on, nil
	}
	if err := CheckSeason("season", season); err != nil {
		return from, to, err
	}
	from, to = seasonDays(season)
	return from, to, nil
}

// StandParents adds up what batches took of the tagged plants of a stand over some days,
// of the stems they took in all. Days and stand are left to the caller.
func StandParents(taxon *models.Taxon, tallies []models.ParentTally, stems int, t *models.Thresholds) models.StandParents {
	answer := models.StandParents{Stems: stems, Untagged: stems, Plants: []models.PlantTaken{}, Warnings: []string{}}
	at := map[string]int{}
	for i := range tallies {
		p := &tallies[i]
		n, known := at[p.TagKey]
		if !known {
			n = len(answer.Plants)
			at[p.TagKey] = n
			answer.Plants = append(answer.Plants, models.PlantTaken{Tag: p.Tag, Sex: models.NotDetermined})
		}
		plant := &answer.Plants[n]
		plant.Stems, plant.Cuttings, plant.Batches = plant.Stems+p.Stems, plant.Cuttings+p.Cuttings, plant.Batches+1
		plant.LastOn = models.Later(plant.LastOn, p.TakenOn)
		answer.Untagged -= p.Stems
		if text := tellSex(plant, p.Sex); text != "" {
			answer.Warnings = append(answer.Warnings, text)
		}
	}
	parents := make([]models.Parent, len(answer.Plants))
	for i := range answer.Plants {
		plant := &answer.Plants[i]
		if stems > 0 {
			plant.Share = float64(plant.Stems) / float64(stems)
		}
		parents[i] = models.Parent{Tag: plant.Tag, Stems: plant.Stems, Cuttings: toldCuttings(tallies, plant), Sex: plant.Sex}
	}
	answer.EffectiveParents = EffectiveParents(parents)
	answer.Warnings = append(answer.Warnings, ParentWarnings(taxon, parents, t)...)
	slices.SortStableFunc(answer.Plants, func(a, b models.PlantTaken) int {
		return cmp.Or(cmp.Compare(b.Stems, a.Stems), cmp.Compare(a.Tag, b.Tag))
	})
	return answer
}

// toldCuttings are the cuttings made from a plant, or 0 where they are not told of every
// time it was cut.
func toldCuttings(tallies []models.ParentTally, plant *models.PlantTaken) int {
	for i := range tallies {
		if tallies[i].TagKey == models.NameKey(plant.Tag) && tallies[i].Cuttings == 0 {
			return 0
		}
	}
	return plant.Cuttings
}

// tellSex notes the sex of a plant where it is told, and warns where it was told to be
// another before.
func tellSex(plant *models.PlantTaken, sex models.Sex) string {
	if sex == models.NotDetermined || sex == plant.Sex {
		return ""
	}
	before := plant.Sex
	plant.Sex = sex
	if before == models.NotDetermined {
		return ""
	}
	return fmt.Sprintf("plant %s was told to be %s, and later %s: look at it again", plant.Tag, before, sex)
}

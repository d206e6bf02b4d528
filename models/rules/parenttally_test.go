package rules_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/rules"
)

func TestEffectiveParents(t *testing.T) {
	for _, c := range []struct {
		name    string
		parents []models.Parent
		want    float64
	}{
		{"one", []models.Parent{{Stems: 4}}, 1},
		{"even cuttings of uneven stems", []models.Parent{{Stems: 1, Cuttings: 6}, {Stems: 3, Cuttings: 6}}, 2},
		{"uneven cuttings", []models.Parent{{Stems: 2, Cuttings: 18}, {Stems: 2, Cuttings: 2}, {Stems: 2, Cuttings: 2}, {Stems: 2, Cuttings: 2}}, 576.0 / 336},
		{"stems where the cuttings of one are not told", []models.Parent{{Stems: 2, Cuttings: 18}, {Stems: 2}}, 2},
	} {
		if got := rules.EffectiveParents(c.parents); got == nil || math.Abs(*got-c.want) > 1e-12 {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
	if got := rules.EffectiveParents(nil); got != nil {
		t.Errorf("of none: %v", *got)
	}
}

func TestParentWarnings(t *testing.T) {
	plants := func(stems ...int) []models.Parent {
		var all []models.Parent
		for i, n := range stems {
			all = append(all, models.Parent{Tag: string(rune('A' + i)), Stems: n, Sex: models.NotDetermined})
		}
		return all
	}
	of := func(parents []models.Parent, sexes ...models.Sex) []models.Parent {
		for i, s := range sexes {
			parents[i].Sex = s
		}
		return parents
	}
	dogwood, willow := models.Taxon{ScientificName: "Cornus sericea"}, models.Taxon{ScientificName: "Salix scouleriana", Dioecious: true}
	cuttings := plants(1, 1, 1, 1, 1)
	for i := range cuttings {
		cuttings[i].Cuttings = 2
	}
	cuttings[2].Cuttings = 9
	for _, c := range []struct {
		name    string
		taxon   models.Taxon
		parents []models.Parent
		want    []string
	}{
		{"none known", willow, nil, nil},
		{"five alike", dogwood, plants(2, 2, 2, 2, 2), nil},
		{"four", dogwood, plants(2, 2, 2, 2), []string{"cut from 4 plants, and fewer than 5 are few"}},
		{"one alone", dogwood, plants(2), []string{"cut from 1 plant,"}},
		{"one with half of all", dogwood, plants(1, 1, 1, 1, 4), nil},
		{"one with more than half", dogwood, plants(1, 1, 1, 1, 5), []string{"plant E gave 5 of the 9 stems, more than a share of 0.5"}},
		{"one with more than half of the cuttings", dogwood, cuttings, []string{"plant C gave 9 of the 17 cuttings"}},
		{"sex of none", willow, plants(1, 1, 1, 1, 1), []string{"the sex of none of the plants cut from is told"}},
		{"females alone", willow, of(plants(1, 1, 1, 1, 1), models.Female, models.Female), []string{"the 2 of 5 plants whose sex is told are female: cut from male ones too"}},
		{"a male alone", willow, of(plants(1, 1, 1, 1, 1), models.Male), []string{"the 1 of 5 plants whose sex is told is male: cut from female ones too"}},
		{"both", willow, of(plants(1, 1, 1, 1, 1), models.Female, models.Male), nil},
		{"of another kind of plant", dogwood, of(plants(1, 1, 1, 1, 1), models.Female), nil},
		{"all at once", willow, plants(1, 3), []string{"cut from 2 plants", "plant B gave 3 of the 4 stems", "sex of none"}},
	} {
		set := rules.DefaultSettings()
		got := rules.ParentWarnings(&c.taxon, c.parents, &set.Thresholds)
		same := slices.EqualFunc(got, c.want, strings.Contains)
		if !same {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

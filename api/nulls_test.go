package api

import (
	"slices"
	"testing"

	"withybed/models"
)

func TestNullsOfAMergePatch(t *testing.T) {
	for _, c := range []struct {
		body  string
		edit  any
		wrong []string
	}{
		{`{"place":null,"latitude":null,"longitude":null}`, &models.StandEdit{}, nil},
		{`{"closures":null}`, &models.StandEdit{}, []string{"closures"}},
		{`{"harvest_rule": null ,"name":"Lower bank"}`, &models.StandEdit{}, []string{"harvest_rule"}},
		{`{"harvest_rule":{"stand_cap":0.1,"window_days":null,"basis":null}}`, &models.StandEdit{}, []string{"harvest_rule.basis", "harvest_rule.window_days"}},
		{`{"closures":[{"from":"04-15","to":"07-31","every_year":true,"reason":null}],"why":null}`, &models.StandEdit{}, []string{"why"}},
		{`{"thresholds":{"check_every":null},"bases":{"check_every":null}}`, &models.NurseryEdit{}, []string{"thresholds.check_every"}},
		{`{"thresholds":null}`, &models.NurseryEdit{}, []string{"thresholds"}},
		{`{"soak_days":null}`, &models.TaxonEdit{}, nil},
		{`{"stand":"TW-1","reason":null,"parent_plants":null}`, &models.NewBatch{}, nil},
	} {
		err := unmarshalStrict([]byte(c.body), c.edit)
		var names []string
		if err != nil {
			faults, _ := unpack(err.Error())
			for _, fault := range faults {
				names = append(names, fault.Name)
			}
			slices.Sort(names)
		}
		if !slices.Equal(names, c.wrong) {
			t.Errorf("%s has wrong nulls in %q, want %q", c.body, names, c.wrong)
		}
	}
}

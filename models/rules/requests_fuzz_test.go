package rules

import (
	"encoding/json"
	"testing"
	"time"

	"withybed/models"
)

// FuzzRequests reads any text as each request that begins a record: it is refused
// with a code, or makes a record that can be kept and edited.
func FuzzRequests(f *testing.F) {
	for _, seed := range []string{
		`{"code":"MB-03","name":"Mallow Bend","taxon":"Cornus sericea","closures":[{"kind":"closed","from":"04-15","to":"07-31","every_year":true,"reason":"nests"}]}`,
		`{"code":"MB-03","name":"a","closures":[{"from":"02-29","to":"02-29","every_year":true},{"from":"2026-13-01","to":""}],"harvest_rule":{"stand_cap":1e4,"window_days":-1}}`,
		`{"code":"MB-03","name":"a","latitude":91,"longitude":-181,"coordinate_uncertainty_m":1e308,"sensitivity":"x"}`,
		`{"surveyed_on":"2025-09-12","method":"plots","plots":{"plot_area_m2":1e-300,"stand_area_m2":1e300,"counts":[1,2],"placement":"random"}}`,
		`{"surveyed_on":"2025-09-12","method":"clumps","clumps":{"total":9223372036854775807,"stems_on_sample":[0,-1,9223372036854775807]}}`,
		`{"on":"2026-01-01","stems":-1,"reason":"\u0000"}`,
		`{"code":"RQ","name":"R","email":"a@b\r\nBcc: c@d","mail":["bench","bench"]}`,
		`{"name":" ","role":"manager","ends_on":"9999-12-31","land_manager":"x"}`,
		`{"scientific_name":"  ","soak_days":-1}`,
		`{"number":"WV 12/a","kind":"permit","issuer":" Parks","taxa":["a","A "],"quantity":120.5,"unit":"kg","people":["rq; OP",",",""],"valid_from":"2026-11-01","valid_to":"2027-03-31"}`,
		`{"number":"../","kind":"consent","issuer":"b","quantity":-1e3,"unit":"stems","authority":"c","valid_from":"2026-11-01","valid_to":"2026-10-31"}`,
	} {
		f.Add([]byte(seed))
	}
	today := dayOf("2026-01-17")
	f.Fuzz(func(t *testing.T, text []byte) {
		coded := func(what string, err error) bool {
			if e := models.AsError(err); err != nil && (e == nil || e.Code == "" || e.Kind == models.Internal) {
				t.Fatalf("%s of %s: %v", what, text, err)
			}
			return err == nil
		}
		var stand models.NewStand
		if json.Unmarshal(text, &stand) == nil {
			made, rule, closures, err := EnterStand(stand, DefaultSettings().HarvestRule, today)
			if coded("the stand", err) {
				record := &models.StandRecord{Stand: made, Rules: []models.RuleVersion{rule}, Closures: []models.ClosureVersion{closures}}
				_, _, _, err := EditStand(record, models.StandEdit{}, today)
				coded("an idle edit", err)
				_, _, _, err = EditStand(record, models.StandEdit{Closures: &stand.Closures}, today)
				coded("the same closures", err)
				_, err = AddClosures(record, &models.NewClosures{Closures: stand.Closures}, today)
				coded("the closures added again", err)
				ClosuresOn(record.Closures, today)
			}
		}
		var survey models.NewSurvey
		if json.Unmarshal(text, &survey) == nil {
			_, _, err := EnterSurvey(survey, 9000, today)
			coded("the survey", err)
		}
		var disturbance models.NewDisturbance
		if json.Unmarshal(text, &disturbance) == nil {
			_, err := EnterDisturbance(disturbance, today)
			coded("the disturbance", err)
		}
		var others models.NewOthersCut
		if json.Unmarshal(text, &others) == nil {
			_, _, err := EnterOthersCut(others, today)
			coded("the cut of others", err)
		}
		var person models.NewPerson
		if json.Unmarshal(text, &person) == nil {
			made, err := EnterPerson(person)
			if coded("the person", err) {
				_, err := EditPerson(made, models.PersonEdit{})
				coded("an idle edit", err)
			}
		}
		var permit models.NewPermit
		if json.Unmarshal(text, &permit) == nil {
			covered := []models.CoveredStand{{ID: "a", Code: "MB-03", Taxon: "Cornus sericea"}}
			made, _, err := EnterPermit(permit, covered)
			if coded("the permit", err) {
				_, changed, _, err := EditPermit(made, covered, covered, models.PermitEdit{Why: "idle"}, time.Time{})
				if coded("an idle edit", err) && changed {
					t.Fatalf("an idle edit changes the permit of %s", text)
				}
				PermitView(&made, nil, today)
			}
		}
		var token models.NewToken
		if json.Unmarshal(text, &token) == nil {
			_, err := EnterToken(token, false, today, time.UTC)
			coded("the token", err)
		}
		var taxon models.NewTaxon
		if json.Unmarshal(text, &taxon) == nil {
			_, err := EnterTaxon(taxon)
			coded("the taxon", err)
		}
		var batch models.NewBatch
		if json.Unmarshal(text, &batch) == nil {
			coded("the batch", CheckForm(batch, today))
		}
	})
}

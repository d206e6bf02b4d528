package rules_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"withybed/models"
	"withybed/models/rules"
)

func placeFrom(from string, list ...models.Closure) models.PlaceClosureVersion {
	return models.PlaceClosureVersion{ID: "place from " + from + fmt.Sprint(len(list)), InForceFrom: date(from), Closures: list}
}

func placeShut(from string, list ...models.Closure) func(*models.StandRecord) {
	return func(r *models.StandRecord) { r.PlaceClosures = append(r.PlaceClosures, placeFrom(from, list...)) }
}

// A place is closed by the list in force on a day, and by none before its first one.
func TestClosuresOfAPlaceCloseItsStands(t *testing.T) {
	lent := models.Closure{From: "02-01", To: "02-28", EveryYear: true, Reason: "lambs", Kind: models.Closed}
	stand := standOf(counted("2026-01-01", "800"), placeShut("2026-02-10", lent), placeShut("2026-02-20"), shut(models.Closure{From: "2026-02-25", To: "2026-02-26", Kind: models.Closed}))
	for on, says := range map[string]string{
		"2026-02-09": "", "2026-02-10": "the whole place is closed from 02-01 to 02-28 every year (lambs)", "2026-02-19": "the whole place", "2026-02-20": "",
		"2026-02-25": "closed from 2026-02-25",
	} {
		got := rules.Allowance(stand, rules.Cut{On: date(on), Stems: 1})
		if closed := got.Binding.Code == rules.RuleClosure; closed != (says != "") || !strings.Contains(got.Binding.Detail, says) {
			t.Errorf("on %s: %s", on, got.Binding.Detail)
		}
	}
	if got := rules.Allowance(stand, rules.Cut{On: date("2026-02-25"), Stems: 1}).Binding.Detail; strings.Contains(got, "place") {
		t.Errorf("a closure of the stand is told as one of the place: %s", got)
	}
}

func TestClosuresOfAPlaceAreEntered(t *testing.T) {
	versions := []models.PlaceClosureVersion{placeFrom("2026-01-01", nesting), placeFrom("2026-06-01", nesting, lambing)}
	loose := nesting
	loose.Reason, loose.Kind = " birds  nest here ", ""
	for _, c := range []struct {
		name  string
		req   models.NewPlaceClosures
		after []models.Closure // nil where nothing changes
		says  string
	}{
		{"added", models.NewPlaceClosures{Closures: []models.Closure{works}}, []models.Closure{nesting, works}, "without 2026-11-20..2026-12-05: add it with in_force_from 2026-06-01 too"},
		{"added later", models.NewPlaceClosures{Closures: []models.Closure{works}, InForceFrom: date("2026-06-01")}, []models.Closure{nesting, lambing, works}, ""},
		{"added before the first", models.NewPlaceClosures{Closures: []models.Closure{works}, InForceFrom: date("2025-06-01")}, []models.Closure{works}, "in force from 2026-01-01 on"},
		{"there already", models.NewPlaceClosures{Closures: []models.Closure{loose}}, nil, "no new version"},
		{"the whole list", models.NewPlaceClosures{Closures: []models.Closure{works}, WholeList: true, InForceFrom: date("2026-07-01")}, []models.Closure{works}, "no longer closed: 04-15..07-31 (birds nest here), 02-01..02-28 (lambs)"},
		{"opened", models.NewPlaceClosures{WholeList: true, InForceFrom: date("2026-07-01")}, []models.Closure{}, "no longer closed"},
		{"the same list", models.NewPlaceClosures{Closures: []models.Closure{nesting}, WholeList: true}, nil, "no new version"},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.req.Why, c.req.By = "asked for ", " parks"
			version, warnings, err := rules.EnterPlaceClosures(versions, &c.req, standDay)
			if err != nil {
				t.Fatal(err)
			}
			if told := strings.Join(warnings, "; "); !strings.Contains(told, c.says) || c.says == "" && told != "" {
				t.Errorf("it warns of %q", told)
			}
			if version == nil {
				if c.after != nil {
					t.Error("nothing changes")
				}
				return
			}
			if diff := cmp.Diff(c.after, version.Closures); diff != "" || version.Why != "asked for" || version.SetBy != "parks" {
				t.Errorf("%+v %s", version, diff)
			}
		})
	}
	if _, warnings, err := rules.EnterPlaceClosures(nil, &models.NewPlaceClosures{Closures: []models.Closure{works}}, standDay); err != nil || len(warnings) != 1 || !strings.Contains(warnings[0], "give why and by") {
		t.Errorf("without a why it warns of %q, %v", warnings, err)
	}
}

func TestClosuresOfAPlaceThatCannotBe(t *testing.T) {
	full := []models.PlaceClosureVersion{placeFrom("2026-01-01", make([]models.Closure, models.MaxClosures)...)}
	for _, c := range []struct {
		name   string
		req    models.NewPlaceClosures
		code   string
		fields []string
	}{
		{"none", models.NewPlaceClosures{}, "invalid", []string{"closures"}},
		{"no day", models.NewPlaceClosures{Closures: []models.Closure{{From: "04-31", To: "05-01", EveryYear: true}}, InForceFrom: date("2025-12-31")}, "bad-date", []string{"closures[0].from"}},
		{"no day in the whole list", models.NewPlaceClosures{WholeList: true, Closures: []models.Closure{{From: "2026-04-01", To: "05-01"}}}, "bad-date", []string{"closures[0].to"}},
		{"too many", models.NewPlaceClosures{Closures: []models.Closure{works}}, "invalid", []string{"closures"}},
		{"too many in the whole list", models.NewPlaceClosures{WholeList: true, Closures: manyClosures(models.MaxClosures + 1)}, "invalid", []string{"closures"}},
		{"much to say", models.NewPlaceClosures{WholeList: true, Why: strings.Repeat("x", 2001), By: strings.Repeat("x", 81)}, "invalid", []string{"why", "by"}},
	} {
		_, _, err := rules.EnterPlaceClosures(full, &c.req, standDay)
		t.Run(c.name, func(t *testing.T) { wantFault(t, err, c.code, c.fields...) })
	}
}

func manyClosures(n int) []models.Closure {
	var list []models.Closure
	for i := range n {
		day := date("2026-01-01").Add(i).String()
		list = append(list, models.Closure{From: day, To: day})
	}
	return list
}

package rules_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

var (
	nesting = models.Closure{From: "04-15", To: "07-31", EveryYear: true, Reason: "birds nest here", Kind: models.Closed}
	lambing = models.Closure{From: "02-01", To: "02-28", EveryYear: true, Reason: "lambs", Kind: models.Closed}
	works   = models.Closure{From: "2026-11-20", To: "2026-12-05", Kind: models.Closed}
)

// closedFrom is a version of a list of closures; the first of a stand holds from
// the beginning.
func closedFrom(day string, list ...models.Closure) models.ClosureVersion {
	return models.ClosureVersion{ID: "from " + day + fmt.Sprint(len(list)), InForceFrom: date(day), Closures: list}
}

func TestClosuresAreAddedToThoseInForce(t *testing.T) {
	stand := standOf(func(r *models.StandRecord) {
		r.Closures = []models.ClosureVersion{closedFrom("2026-01-01", nesting), closedFrom("2026-06-01", nesting, lambing)}
	})
	loose := models.Closure{From: "04-15", To: "07-31", EveryYear: true, Reason: " birds  nest here "}
	for _, c := range []struct {
		from       string
		add, after []models.Closure
	}{
		{"", []models.Closure{works}, []models.Closure{nesting, works}},
		{"2026-05-31", []models.Closure{works, works}, []models.Closure{nesting, works}},
		{"2026-06-01", []models.Closure{loose, works}, []models.Closure{nesting, lambing, works}},
		{"", []models.Closure{loose}, []models.Closure{nesting}},
	} {
		req := models.NewClosures{Closures: c.add, Why: "asked for", By: "parks"}
		if c.from != "" {
			req.InForceFrom = date(c.from)
		}
		edit, err := rules.AddClosures(stand, &req, standDay)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(c.after, *edit.Closures); diff != "" || edit.Why != "asked for" || edit.By != "parks" {
			t.Errorf("from %q: %+v %s", c.from, edit, diff)
		}
		_, rule, version, err := rules.EditStand(stand, edit, standDay)
		if err != nil || rule != nil || (version == nil) != (len(c.after) == 1) {
			t.Errorf("from %q: %+v %+v %v", c.from, rule, version, err)
		}
		if told := rules.EditWarnings(stand, &edit, nil, version); version != nil && len(told) != 0 {
			t.Errorf("from %q: %q", c.from, told)
		}
	}
	if diff := cmp.Diff([]models.Closure{nesting}, stand.Closures[0].Closures); diff != "" {
		t.Errorf("the list there was is another: %s", diff)
	}
}

func TestClosuresThatCannotBeAdded(t *testing.T) {
	full := standOf(func(r *models.StandRecord) {
		r.Closures = []models.ClosureVersion{closedFrom("2026-01-01", make([]models.Closure, models.MaxClosures)...)}
	})
	for _, c := range []struct {
		name   string
		stand  *models.StandRecord
		add    []models.Closure
		code   string
		fields []string
	}{
		{"none", standOf(), nil, "invalid", []string{"closures"}},
		{"no day", standOf(), []models.Closure{nesting, {From: "04-31", To: "05-01", EveryYear: true}}, "bad-date", []string{"closures[1].from"}},
		{"too many", full, []models.Closure{works}, "invalid", []string{"closures"}},
	} {
		_, err := rules.AddClosures(c.stand, &models.NewClosures{Closures: c.add}, standDay)
		t.Run(c.name, func(t *testing.T) { wantFault(t, err, c.code, c.fields...) })
	}
}

func TestWhatIsNoLongerClosedIsSaid(t *testing.T) {
	look, other := nesting, nesting
	look.Kind, other.Reason = models.NestCheck, "herons"
	for _, c := range []struct {
		before, after []models.Closure
		said          string
	}{
		{[]models.Closure{nesting, lambing, works}, []models.Closure{lambing}, "no longer closed: 04-15..07-31 (birds nest here), 2026-11-20..2026-12-05"},
		{[]models.Closure{nesting}, []models.Closure{other, works}, ""},
		{[]models.Closure{nesting}, []models.Closure{look}, "no longer closed: 04-15..07-31 (birds nest here)"},
		{[]models.Closure{look}, []models.Closure{nesting}, ""},
	} {
		stand := standOf(func(r *models.StandRecord) {
			r.Closures = []models.ClosureVersion{closedFrom("2026-01-01", c.before...)}
		})
		version := models.ClosureVersion{Closures: c.after, InForceFrom: standDay, Why: "so", SetBy: "OP"}
		if told := strings.Join(rules.EditWarnings(stand, &models.StandEdit{Closures: &c.after}, nil, &version), "; "); told != c.said {
			t.Errorf("%v after %v: %q", c.after, c.before, told)
		}
	}
}

func TestALaterListWithoutAClosureIsWarnedOf(t *testing.T) {
	stand := standOf(func(r *models.StandRecord) {
		r.Closures = []models.ClosureVersion{
			closedFrom("2026-01-01", nesting), closedFrom("2026-06-01"), closedFrom("2026-06-01", nesting), closedFrom("2026-09-01", nesting, works),
		}
	})
	for from, want := range map[string]string{"2026-03-01": "in force from 2026-06-01 on, without 2026-11-20..2026-12-05: add it with in_force_from 2026-06-01", "2026-06-01": "", "2026-10-01": ""} {
		told := rules.OpenLater(stand, &models.NewClosures{Closures: []models.Closure{works}, InForceFrom: date(from)}, standDay)
		if (want == "") != (len(told) == 0) || len(told) > 1 || !strings.Contains(strings.Join(told, ""), want) {
			t.Errorf("from %s: %q", from, told)
		}
	}
}

// However often and by whom closures are added, none is lost and none is there
// twice.
func TestAddingLosesNoClosure(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stand := standOf(func(r *models.StandRecord) { r.Closures = []models.ClosureVersion{{}} })
		day := rapid.Custom(func(t *rapid.T) models.Closure {
			on := fmt.Sprintf("%02d-01", rapid.IntRange(1, 12).Draw(t, "month"))
			return models.Closure{From: on, To: on, EveryYear: true, Kind: rapid.SampledFrom([]models.ClosureKind{"", models.Closed, models.NestCheck}).Draw(t, "kind")}
		})
		var given []models.Closure
		for _, add := range rapid.SliceOfN(rapid.SliceOfN(day, 1, 4), 1, 6).Draw(t, "adding") {
			given = append(given, add...)
			edit, err := rules.AddClosures(stand, &models.NewClosures{Closures: add}, standDay)
			if err != nil {
				t.Fatal(err)
			}
			_, _, version, err := rules.EditStand(stand, edit, standDay)
			if err != nil {
				t.Fatal(err)
			}
			if version != nil {
				stand.Closures = append(stand.Closures, *version)
			}
		}
		list := rules.ClosuresOn(stand.Closures, standDay).Closures
		for i, c := range given {
			if c.Kind == "" {
				given[i].Kind = models.Closed
			}
			if !slices.Contains(list, given[i]) {
				t.Fatalf("%v is lost of %v", c, list)
			}
		}
		for i, c := range list {
			if slices.Contains(list[i+1:], c) || !slices.Contains(given, c) {
				t.Fatalf("%v is there twice, or from nowhere", c)
			}
		}
	})
}

package cli

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store/storetest"
	"withybed/testdata"
)

// openExample is the door to the example nursery in a database, on the morning
// of the demo, with what was warned of while it was loaded.
func openExample(t *testing.T, dialect string) (*door, []string) {
	t.Helper()
	d := &demo{session: &session{}, url: storetest.New(t, dialect)}
	x, err := readExample()
	if err != nil {
		t.Fatal(err)
	}
	within, err := d.inside(demoTell, io.Discard)
	if err != nil {
		t.Fatal(err)
	}
	door, err := within.openHere(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := door.close(); err != nil {
			t.Error(err)
		}
	})
	var warned []string
	entering := loader{Client: door.Client, passed: func(int, int) {}, warned: func(what string, warnings []string) {
		for _, w := range warnings {
			warned = append(warned, what+": "+w)
		}
	}}
	if err := entering.load(t.Context(), x); err != nil {
		t.Fatal(err)
	}
	return door, warned
}

func eachDialect(t *testing.T, body func(t *testing.T, d *door, warned []string)) {
	for _, dialect := range storetest.Dialects {
		t.Run(dialect, func(t *testing.T) {
			d, warned := openExample(t, dialect)
			body(t, d, warned)
		})
	}
}

func TestExampleNursery(t *testing.T) {
	eachDialect(t, func(t *testing.T, d *door, warned []string) {
		want := []string{
			"KB-01-2024-1/checks: 1 with a black base, which may be a disease: keep the tray apart, share no water with it, and tell the lead",
			"KB-03-2026-1: recorded against a rule and to be reviewed by the coordinator; may be stuck, checked and potted meanwhile",
		}
		if !slices.Equal(warned, want) {
			t.Errorf("warned of:\n%s", strings.Join(warned, "\n"))
		}
		t.Run("stands", func(t *testing.T) { exampleStands(t, d) })
		t.Run("places", func(t *testing.T) { examplePlaces(t, d) })
		t.Run("batches", func(t *testing.T) { exampleBatches(t, d) })
		t.Run("due", func(t *testing.T) { exampleDue(t, d) })
		t.Run("day sheet", func(t *testing.T) { exampleSheet(t, d) })
	})
}

// tally counts what is seen, by name.
type tally map[string]int

func (n tally) want(t *testing.T, name string, least int) {
	t.Helper()
	if n[name] < least {
		t.Errorf("%d of %s, at least %d are wanted", n[name], name, least)
	}
}

func exampleStands(t *testing.T, d *door) {
	seen, taxa, places := tally{}, tally{}, tally{}
	for stand, err := range d.Stands(t.Context(), nursery.StandQuery{}) {
		if err != nil {
			t.Fatal(err)
		}
		taxa[stand.Taxon]++
		places[stand.Place]++
		seen["stands"]++
		seen[string(stand.Sensitivity)]++
		for _, closure := range stand.Closures {
			seen[string(closure.Kind)]++
			seen[fmt.Sprint("every year ", closure.EveryYear)]++
		}
		for survey, err := range d.Surveys(t.Context(), stand.Code) {
			if err != nil {
				t.Fatal(err)
			}
			seen[string(survey.Method)]++
			seen[fmt.Sprint("surveys of ", survey.SurveyedOn.Year())]++
		}
		noteAllowance(t, d, stand.Code, seen)
	}
	if len(taxa) != 5 || len(places) != 4 {
		t.Errorf("taxa %v, places %v", taxa, places)
	}
	seen.want(t, "stands", 9)
	for _, method := range models.Methods {
		seen.want(t, string(method), 1)
	}
	for _, what := range []string{"low", "medium", "high", "extreme", "closed", "nest_check", "every year true", "every year false",
		"surveys of 2024", "surveys of 2025", "over 80 percent", "a few left", "survey", "stand"} {
		seen.want(t, what, 1)
	}
}

func noteAllowance(t *testing.T, d *door, stand string, seen tally) {
	t.Helper()
	a, err := d.Allowance(t.Context(), stand, nursery.AllowanceQuery{})
	if err != nil {
		t.Fatal(err)
	}
	seen[a.Binding.Code]++
	if a.Taken > a.Limit {
		t.Errorf("%s: %d of %d stems are taken", stand, a.Taken, a.Limit)
	}
	switch {
	case a.Taken*10 > a.Limit*8:
		seen["over 80 percent"]++
	case a.Allowed > 0 && a.Allowed <= 3:
		seen["a few left"]++
	}
}

func exampleBatches(t *testing.T, d *door) {
	seen := tally{}
	for batch, err := range d.Batches(t.Context(), nursery.BatchQuery{}) {
		if err != nil {
			t.Fatal(err)
		}
		seen["batches"]++
		seen[string(batch.State)]++
		seen[string(batch.Stage)]++
		seen[batch.CollectedOn.Season()]++
		seen[batch.Treatment]++
		view, err := d.Batch(t.Context(), batch.Code)
		if err != nil {
			t.Fatal(err)
		}
		seen["potted"] += view.Counts.Potted
		seen["sisters"] += len(view.Sisters)
		seen["purpose "+string(view.Purpose)]++
	}
	for what, least := range map[string]int{
		"batches": 40, "2024/25": 15, "2025/26": 15, "closed": 10, "to_review": 1, "cut": 1, "soaking": 1, "stored": 1,
		"stuck": 1, "rooting": 1, "potted": 200, "sisters": 8, "none": 5, "IBA 3000 ppm talc": 3, "willow water 100 g/L 24 h": 3,
		"purpose live_stakes": 1, "purpose fascines": 1,
	} {
		seen.want(t, what, least)
	}
}

func exampleDue(t *testing.T, d *door) {
	list, err := d.Due(t.Context(), nursery.DueQuery{})
	if err != nil {
		t.Fatal(err)
	}
	seen := tally{}
	for _, item := range list.Items {
		seen[string(item.Flag)]++
	}
	for _, flag := range []models.Flag{models.FlagStick, models.FlagSoak, models.FlagCheck, models.FlagPotUp, models.FlagDecide} {
		seen.want(t, string(flag), 1)
	}
	if list.On != models.MustDate(demoDay) {
		t.Errorf("it is %s", list.On)
	}
}

// The day sheet can be entered on the example nursery.
func exampleSheet(t *testing.T, d *door) {
	sheet, err := testdata.Files.ReadFile("day.csv")
	if err != nil {
		t.Fatal(err)
	}
	made, err := d.LogDay(t.Context(), sheet)
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range made.Batches {
		if len(b.Warnings) > 0 || b.CollectedOn != models.MustDate("2026-01-17") {
			t.Errorf("%s of %s: %v", b.Code, b.CollectedOn, b.Warnings)
		}
	}
	if len(made.Batches) != 4 {
		t.Errorf("%d batches", len(made.Batches))
	}
}

// What is shown of stands of high and extreme sensitivity gives no place away.
func examplePlaces(t *testing.T, d *door) {
	answer, err := d.http.Get(d.base + "/v1/stands")
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(text), `"BS-01"`) {
		t.Fatalf("no stands in %s", text)
	}
	tellsNoPlace(t, string(text))
}

// tellsNoPlace wants nothing of a hidden place in a text: no exact coordinate,
// and no locality of a stand that is withheld.
func tellsNoPlace(t *testing.T, text string) {
	t.Helper()
	x, err := readExample()
	if err != nil {
		t.Fatal(err)
	}
	hidden := 0
	for _, stand := range x.stands {
		if stand.Sensitivity != models.HighSensitivity && stand.Sensitivity != models.ExtremeSensitivity {
			continue
		}
		hidden++
		for _, degrees := range []float64{*stand.Latitude, *stand.Longitude} {
			if short := fmt.Sprintf("%.2f", degrees); strings.Contains(text, short) {
				t.Errorf("%s is at %s", stand.Code, short)
			}
		}
		if stand.Sensitivity == models.ExtremeSensitivity && strings.Contains(text, stand.Locality) {
			t.Errorf("%s is %s", stand.Code, stand.Locality)
		}
	}
	if hidden < 3 {
		t.Errorf("only %d stands to hide", hidden)
	}
}

func TestExampleIsReadStrictly(t *testing.T) {
	var stands []models.NewStand
	if err := strictly([]byte(`[{"code":"MB-03","colour":"red"}]`), &stands); err == nil {
		t.Error("an unknown field passed")
	}
	l := loader{}
	if err := l.enter(t.Context(), exampleEntry{Path: "MB-03-2026-1/paintings"}); err == nil {
		t.Error("an unknown entry passed")
	}
}

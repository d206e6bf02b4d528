package api

import (
	"fmt"
	"slices"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// must is the value of a call that cannot fail here.
func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func all[T any](t *testing.T, list All[T]) []T {
	t.Helper()
	var items []T
	for item, err := range list {
		if err != nil {
			t.Fatal(err)
		}
		items = append(items, item)
	}
	return items
}

// begun is a house in which the beginning of the story has been told.
func begun(t *testing.T, s *store.Store) house {
	t.Helper()
	h := openHouse(t, s)
	for _, step := range beginning {
		if status, _, body := h.ask(t, step.method, step.path, step.body, step.headers...); status != step.status {
			t.Fatalf("%s: %d %s", step.name, status, body)
		}
	}
	return h
}

// The client gives back what was sent and worked out, through every method.
func TestClientLogsAndReads(t *testing.T) {
	ctx := t.Context()
	h := begun(t, storetest.Open(t, store.SQLite))
	c := h.client
	day := models.MustDate

	heat := models.BottomHeat{Recorded: true, Heated: true, Celsius: 21.5}
	treatment := models.Treatment{Auxin: "IBA", AuxinPPM: new(float64), SoakDays: new(float64)}
	*treatment.AuxinPPM, *treatment.SoakDays = 3000, 2.5
	batch := must(c.LogBatch(ctx, models.NewBatch{Stand: "MB-03", CollectedOn: day("2025-12-01"), StemsCut: 9, Cuttings: 30, CollectedBy: "RQ"}))
	must(c.Move(ctx, batch.Code, models.NewMove{On: day("2025-12-01"), To: models.ToSoak, Count: 30}))
	split := must(c.Split(ctx, batch.Code, models.NewSplit{On: day("2025-12-03"), Arms: []models.Arm{{Count: 10, Tray: models.Tray{Treatment: &models.Treatment{}}}}}))
	if len(split.Sisters) != 1 || split.Sisters[0].SplitFrom != batch.Code || split.Batch.Version != 3 {
		t.Errorf("split: %+v", split)
	}
	stuck := must(c.Stick(ctx, batch.Code, models.NewSticking{StuckOn: day("2025-12-03"), Count: 20, Tray: models.Tray{Treatment: &treatment, BottomHeat: &heat}}))
	if got := stuck.Sticking; got.Treatment.Label() != treatment.Label() || *got.BottomHeat != heat {
		t.Errorf("sticking: %+v", got)
	}
	rooted := 12
	checked := must(c.Check(ctx, batch.Code, models.NewCheck{CheckedOn: day("2026-01-02"), Rooted: &rooted, Lost: models.Losses{models.Mould: 2, models.RottedBase: 1}}))
	if checked.Counts.LostByCause[models.Mould] != 2 || checked.Rooting.Percent != 60 || checked.Rooting.On != day("2026-01-02") {
		t.Errorf("check: %+v %+v", checked.Counts, checked.Rooting)
	}
	potted := must(c.Pot(ctx, batch.Code, models.NewPotting{PottedOn: day("2026-01-16"), Count: 12}))
	decided := must(c.Decide(ctx, batch.Code, models.NewDecision{On: day("2026-01-17"), Action: models.CloseBatch, Why: "the last five are for the compost"}))
	if potted.Counts.Potted != 12 || decided.State != models.Ended || decided.Counts.UnrootedAtEnd != 5 {
		t.Errorf("potted %+v, decided %+v", potted.Counts, decided.Counts)
	}
	over := must(c.LogBatch(ctx, models.NewBatch{Stand: "MB-03", CollectedOn: day("2026-01-10"), StemsCut: 50, Cuttings: 50, CollectedBy: "TS", AlreadyCut: true, Reason: "cut by mistake"}))
	if seen := must(c.Review(ctx, over.Code, models.NewReview{Accept: true, Reason: "counted again"})); seen.ToReview || !over.ToReview {
		t.Errorf("review: %+v", seen)
	}
	if again := must(c.Batch(ctx, "mb-03-2025-1")); again.Code != batch.Code || again.Version != 7 {
		t.Errorf("batch: %+v", again)
	}

	rate := must(c.RootingRate(ctx, nursery.RootingQuery{RootingPick: nursery.RootingPick{Stand: "MB-03"}, By: []string{"taxon", "treatment"}}))
	if len(rate.Groups) != 2 || !slices.Equal(rate.By, []string{"taxon", "treatment"}) {
		t.Errorf("rooting: %+v", rate)
	}
	due := must(c.Due(ctx, nursery.DueQuery{On: day("2026-02-01"), Flag: models.FlagCheck}))
	if due.On != day("2026-02-01") || slices.ContainsFunc(due.Items, func(i models.DueItem) bool { return i.Flag != models.FlagCheck }) {
		t.Errorf("due: %+v", due)
	}
	plants := 5
	allowance := must(c.Allowance(ctx, "rs-1", nursery.AllowanceQuery{On: day("2026-01-20"), Stems: 3, Parents: &plants}))
	if allowance.Stems != 3 || allowance.On != day("2026-01-20") || allowance.Allowed == 0 {
		t.Errorf("allowance: %+v", allowance)
	}
	if lines := all(t, c.Ledger(ctx, "MB-03", models.Date{})); len(lines) != 2 || lines[0].Batch != over.Code || lines[1].Stems != 9 {
		t.Errorf("ledger: %+v", lines)
	}
	if seasons := must(c.Seasons(ctx, "MB-03", models.Date{})); len(seasons) != 1 || seasons[0].Stems != 59 {
		t.Errorf("seasons: %+v", seasons)
	}
}

func TestClientKeepsStands(t *testing.T) {
	ctx := t.Context()
	h := openHouse(t, storetest.Open(t, store.SQLite))
	c := h.client
	taxon := must(c.AddTaxon(ctx, models.NewTaxon{ScientificName: "Lonicera involucrata", SlowToRoot: true}))
	edited := must(c.EditTaxon(ctx, taxon.ScientificName, taxon.Version, models.TaxonEdit{Family: models.SetTo("Caprifoliaceae"), SlowToRoot: models.SetTo(false)}))
	if got := must(c.Taxon(ctx, "lonicera INVOLUCRATA")); got != edited || got.SlowToRoot || got.Version != 2 {
		t.Errorf("taxon: %+v", got)
	}
	lat, lon := 46.51234, -122.61234
	stand := must(c.AddStand(ctx, models.NewStand{Code: "TW-1", Name: "Twin Alders", Taxon: taxon.ScientificName, Latitude: &lat, Longitude: &lon}))
	cap4, limit := models.MustDecimal("0.0333"), 100
	after := must(c.EditStand(ctx, "tw-1", stand.Version, models.StandEdit{
		Name: models.SetTo("Twin Alders, ford"), Sensitivity: models.SetTo(models.LowSensitivity),
		HarvestRule: &models.NewHarvestRule{StandCap: &cap4, WindowDays: &limit}, Why: "the manager's terms", InForceFrom: models.MustDate("2026-01-17")}))
	if after.HarvestRule.StandCap != cap4 || after.HarvestRule.WindowDays != 100 || *after.Latitude == lat {
		t.Errorf("stand: %+v", after)
	}
	if exact := must(c.Stand(ctx, "TW-1", true)); *exact.Latitude != lat || *exact.Longitude != lon {
		t.Errorf("exact: %v %v", *exact.Latitude, *exact.Longitude)
	}
	if versions := must(c.StandVersions(ctx, "TW-1")); len(versions.HarvestRules) != 2 || len(versions.Closures) != 1 {
		t.Errorf("versions: %+v", versions)
	}
	plants, stems := 20, 200
	survey := must(c.AddSurvey(ctx, "TW-1", models.NewSurvey{SurveyedOn: models.MustDate("2025-10-01"), Method: models.Census, Plants: &plants, Stems: &stems}))
	if list := all(t, c.Surveys(ctx, "TW-1")); len(list) != 1 || list[0].ID != survey.ID || list[0].LowerBound != models.DecimalOf(200) {
		t.Errorf("surveys: %+v", list)
	}
	must(c.AddDisturbance(ctx, "TW-1", models.NewDisturbance{On: models.MustDate("2026-01-03"), Kind: "beaver"}))
	if list := must(c.Disturbances(ctx, "TW-1")); len(list) != 1 || list[0].Kind != "beaver" {
		t.Errorf("disturbances: %+v", list)
	}
	view := must(c.Nursery(ctx))
	if changed := must(c.EditNursery(ctx, view.Version, models.NurseryEdit{Name: models.SetTo("Wrenlow"), Confidence: models.SetTo(models.MustDecimal("0.95"))})); changed.Name != "Wrenlow" || changed.Version != 2 {
		t.Errorf("nursery: %+v", changed)
	}
	first := must(c.Remind(ctx, models.NewReminder{}))
	second := must(c.Remind(ctx, models.NewReminder{On: models.MustDate("2026-01-06")}))
	if list := all(t, c.Reminders(ctx)); !first.Made || len(list) != 2 || list[1].Week != second.Week || must(c.Reminder(ctx, first.Week)).ID != first.ID {
		t.Errorf("reminders: %+v", list)
	}
}

func TestClientListsStandsInPages(t *testing.T) {
	ctx := t.Context()
	h := begun(t, storetest.Open(t, store.SQLite))
	for i := range 205 {
		must(h.client.AddStand(ctx, models.NewStand{Code: fmt.Sprintf("P-%03d", i), Name: "Pond", Taxon: "Cornus sericea", Place: "Pond"}))
	}
	for _, c := range []struct {
		query nursery.StandQuery
		want  int
	}{
		{nursery.StandQuery{}, 207},
		{nursery.StandQuery{Place: "POND"}, 205},
		{nursery.StandQuery{Place: "Pond", Page: models.Page{Limit: 201}}, 201},
		{nursery.StandQuery{Page: models.Page{Limit: 3}}, 3},
		{nursery.StandQuery{Taxon: "Salix scouleriana", Exact: true}, 1},
	} {
		if got := len(all(t, h.client.Stands(ctx, c.query))); got != c.want {
			t.Errorf("%+v: %d stands, want %d", c.query, got, c.want)
		}
	}
	seen := map[string]bool{}
	for taxon, err := range pages[models.Taxon](ctx, h.client, pathOf("taxa"), asking("limit", "1")) {
		seen[must(taxon, err).ScientificName] = true
	}
	if len(seen) != 2 {
		t.Errorf("page by page: %v", seen)
	}
}

func TestClientSendsDaySheets(t *testing.T) {
	ctx := t.Context()
	h := begun(t, storetest.Open(t, store.SQLite))
	const columns = "stand,collected_on,stems_cut,cuttings,collected_by,record_number,bottom_heat\n"
	day := must(h.client.LogDay(ctx, []byte(columns+"MB-03,2026-01-16,3,9,RQ,T-1,\nmb-03,2026-01-16,2,6,TS,T-2,\n")))
	if len(day.Batches) != 2 || day.Batches[1].Code != "MB-03-2026-2" || day.Batches[0].RecordNumber != "T-1" {
		t.Errorf("day: %+v", day)
	}
	before := h.holds(t)
	_, err := h.client.LogDay(ctx, []byte(columns+"MB-03,2026-01-16,3,9,RQ,T-3,hot\nMB-99,2026-01-16,3,9,RQ,T-4,\nMB-03,0206-01-16,-3,9,,T-5,\n"))
	e := models.AsError(err)
	if e == nil || e.Kind != models.Invalid {
		t.Fatalf("%v", err)
	}
	var names []string
	for _, field := range e.Fields {
		names = append(names, field.Name)
	}
	want := []string{"line 2: bottom_heat", "line 3: stand", "line 4: collected_on", "line 4: collected_by", "line 4: stems_cut"}
	slices.Sort(names)
	slices.Sort(want)
	if !slices.Equal(names, want) {
		t.Errorf("faults of %v", names)
	}
	if after := h.holds(t); after != before {
		t.Errorf("changed from\n%s\nto\n%s", before, after)
	}
}

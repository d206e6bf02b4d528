package api

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// refusal is a request that cannot be, and what is said of it.
type refusal struct {
	name, method, path, body string
	headers                  []string
	status                   int
	code                     string
	field, value             string // the one at fault and its value as JSON; empty where there is none
}

// batchWith is a batch that could be logged, but for what is put in its place.
func batchWith(changes ...string) string {
	fields := []string{`"stand":"MB-03"`, `"collected_on":"2026-01-16"`, `"stems_cut":3`, `"cuttings":9`, `"collected_by":"RQ"`}
	for _, change := range changes {
		name, _, _ := strings.Cut(change, ":")
		fields = slices.DeleteFunc(fields, func(f string) bool { return strings.HasPrefix(f, name+":") })
		fields = append(fields, change)
	}
	return "{" + strings.Join(fields, ",") + "}"
}

func stickingWith(more string) string { return `{"stuck_on":"2026-01-15","count":20,` + more + `}` }

const (
	batches  = "/v1/batches"
	waiting  = "/v1/batches/MB-03-2026-1"
	stuckOne = "/v1/batches/MB-03-2025-1"
	surveys  = "/v1/stands/MB-03/surveys"
)

// prepared is what the refusals need besides the beginning of the story: a batch
// in the tray, one that waits, and stands that may not be cut.
var prepared = []step{
	{name: "stuck", method: "POST", path: batches, status: 201, headers: []string{"Idempotency-Key", "used"},
		body: batchWith(`"collected_on":"2025-12-20"`, `"cuttings":40`, `"record_number":"T-1"`, `"stuck_on":"2025-12-22"`)},
	{name: "waiting", method: "POST", path: batches, status: 201, body: batchWith(`"collected_on":"2026-01-10"`, `"cuttings":20`)},
	{name: "old", method: "POST", path: "/v1/stands", status: 201, body: `{"code":"OS-1","name":"Old Slough","taxon":"Cornus sericea"}`},
	{name: "old_survey", method: "POST", path: "/v1/stands/OS-1/surveys", status: 201, body: `{"surveyed_on":"2024-03-01","method":"census","plants":30,"stems":300}`},
	{name: "shut", method: "POST", path: "/v1/stands", status: 201,
		body: `{"code":"SH-1","name":"Shut Hollow","taxon":"Cornus sericea","closures":[{"from":"01-10","to":"01-20","every_year":true,"reason":"eagles"}]}`},
	{name: "shut_survey", method: "POST", path: "/v1/stands/SH-1/surveys", status: 201, body: `{"surveyed_on":"2025-10-01","method":"census","plants":30,"stems":300}`},
	{name: "rare", method: "POST", path: "/v1/taxa", status: 201, body: `{"scientific_name":"Sambucus racemosa","protected":true}`},
	{name: "rare_stand", method: "POST", path: "/v1/stands", status: 201, body: `{"code":"EL-1","name":"Elder Bank","taxon":"Sambucus racemosa"}`},
	{name: "rare_survey", method: "POST", path: "/v1/stands/EL-1/surveys", status: 201, body: `{"surveyed_on":"2025-10-01","method":"ocular","low":100,"high":200}`},
	{name: "never", method: "POST", path: "/v1/stands", status: 201, body: `{"code":"NV-1","name":"Never Counted","taxon":"Cornus sericea"}`},
}

var refusals = []refusal{
	{"unknown_field", "POST", batches, batchWith(`"stem_cut":3`), nil, 422, "invalid", "stem_cut", "3"},
	{"unknown_field_in_treatment", "POST", waiting + "/stickings", stickingWith(`"treatment":{"auxin":"IBA","colour":"red"}`), nil, 422, "invalid", "treatment", ""},
	{"unknown_field_in_closure", "POST", "/v1/stands", `{"code":"X","name":"X","taxon":"Cornus sericea","closures":[{"from":"04-01","to":"05-01","everyyear":true}]}`, nil, 422, "invalid", "closures[0].everyyear", "true"},
	{"unknown_field_in_edit", "PATCH", "/v1/stands/MB-03", `{"harvest_rule":{"stand_cop":0.1}}`, []string{"If-Match", `"3"`}, 422, "invalid", "harvest_rule.stand_cop", "0.1"},
	{"unknown_field_in_plots", "POST", surveys, `{"surveyed_on":"2026-01-10","method":"plots","plots":{"plot_area_m2":4,"stand_area_m2":400,"counts":[1,2,3],"shape":"round"}}`, nil, 422, "invalid", "plots.shape", `"round"`},
	{"unknown_setting", "PATCH", "/v1/nursery", `{"thresholds":{"check_evry":10}}`, []string{"If-Match", `"2"`}, 422, "unknown-setting", "thresholds.check_evry", ""},
	{"wrong_type", "POST", batches, batchWith(`"stems_cut":"three"`), nil, 422, "invalid", "stems_cut", `"three"`},
	{"wrong_type_half", "POST", batches, batchWith(`"stems_cut":2.5`), nil, 422, "invalid", "stems_cut", "2.5"},
	{"wrong_type_in_treatment", "POST", waiting + "/stickings", stickingWith(`"treatment":{"auxin_ppm":"strong"}`), nil, 422, "invalid", "treatment", ""},
	{"wrong_type_of_treatment", "POST", waiting + "/stickings", stickingWith(`"treatment":7`), nil, 422, "invalid", "treatment", "7"},
	{"wrong_type_of_heat", "POST", waiting + "/stickings", stickingWith(`"bottom_heat":"warm"`), nil, 422, "invalid", "bottom_heat", `"warm"`},
	{"wrong_type_of_loss", "POST", stuckOne + "/checks", `{"checked_on":"2026-01-10","lost":{"mould":"two"}}`, nil, 422, "invalid", "lost.mould", `"two"`},
	{"wrong_case", "POST", batches, batchWith(`"Stems_Cut":3`), nil, 422, "invalid", "Stems_Cut", "3"},
	{"duplicate_key", "POST", batches, `{"stand":"MB-03","stand":"RS-1"}`, nil, 400, "malformed", "stand", `"RS-1"`},
	{"two_values", "POST", batches, batchWith() + batchWith(), nil, 400, "malformed", "body", ""},
	{"not_json", "POST", batches, `stand=MB-03`, nil, 400, "malformed", "body", ""},
	{"too_large", "POST", batches, batchWith(`"note":"` + strings.Repeat("x", 17<<10) + `"`), nil, 413, "too-large", "", ""},
	{"sheet_too_large", "POST", "/v1/days", strings.Repeat("stand,", 3<<10), []string{"Content-Type", "text/csv"}, 413, "too-large", "", ""},
	{"negative", "POST", batches, batchWith(`"stems_cut":-4`), nil, 422, "invalid", "stems_cut", "-4"},
	{"absurd", "POST", batches, batchWith(`"cuttings":10000001`), nil, 422, "invalid", "cuttings", "10000001"},
	{"negative_in_arm", "POST", waiting + "/splits", `{"on":"2026-01-11","arms":[{"count":5},{"count":-5}]}`, nil, 422, "invalid", "arms[1].count", "-5"},
	{"negative_in_losses", "POST", stuckOne + "/checks", `{"checked_on":"2026-01-10","lost":{"mould":-2}}`, nil, 422, "invalid", "lost.mould", "-2"},
	{"negative_in_treatment", "POST", waiting + "/stickings", stickingWith(`"treatment":{"auxin_ppm":-1}`), nil, 422, "invalid", "treatment.auxin_ppm", "-1"},
	{"unknown_cause", "POST", stuckOne + "/checks", `{"checked_on":"2026-01-10","lost":{"gremlins":2}}`, nil, 422, "unknown-word", "lost", `"gremlins"`},
	{"hot", "POST", waiting + "/stickings", stickingWith(`"bottom_heat":99`), nil, 422, "invalid", "bottom_heat", "99"},
	{"cuttings_without_stems", "POST", batches, batchWith(`"stems_cut":0`), nil, 422, "no-stems", "stems_cut", "0"},
	{"no_cutter", "POST", batches, batchWith(`"collected_by":"  "`), nil, 422, "invalid", "collected_by", ""},
	{"future", "POST", batches, batchWith(`"collected_on":"2026-01-18"`), nil, 422, "in-the-future", "collected_on", `"2026-01-18"`},
	{"future_survey", "POST", surveys, `{"surveyed_on":"2026-02-01","method":"ocular","low":1,"high":2}`, nil, 422, "in-the-future", "surveyed_on", `"2026-02-01"`},
	{"before_first_survey", "POST", batches, batchWith(`"collected_on":"2025-09-11"`), nil, 422, "before-first-survey", "collected_on", `"2025-09-11"`},
	{"never_surveyed", "POST", batches, batchWith(`"stand":"NV-1"`), nil, 422, "before-first-survey", "collected_on", `"2026-01-16"`},
	{"year_0206", "POST", batches, batchWith(`"collected_on":"0206-01-16"`), nil, 422, "invalid", "collected_on", `"0206-01-16"`},
	{"year_0206_asked", "GET", "/v1/due?on=0206-01-16", "", nil, 422, "invalid", "on", `"0206-01-16"`},
	{"no_day", "GET", "/v1/stands/MB-03/allowance?on=2026-02-30", "", nil, 422, "invalid", "on", `"2026-02-30"`},
	{"no_week", "GET", "/v1/reminders/soon", "", nil, 422, "invalid", "week", `"soon"`},
	{"check_before_sticking", "POST", stuckOne + "/checks", `{"checked_on":"2025-12-21","rooted":1}`, nil, 422, "before-sticking", "checked_on", `"2025-12-21"`},
	{"check_of_unstuck", "POST", waiting + "/checks", `{"checked_on":"2026-01-16","rooted":1}`, nil, 422, "before-sticking", "checked_on", `"2026-01-16"`},
	{"unbalanced", "POST", stuckOne + "/checks", `{"checked_on":"2026-01-10","rooted":10,"unrooted":20,"lost":{"mould":3}}`, nil, 422, "unbalanced", "unrooted", "20"},
	{"more_potted_than_live", "POST", stuckOne + "/pottings", `{"potted_on":"2026-01-12","count":41}`, nil, 422, "too-many-potted", "count", "41"},
	{"more_stuck_than_made", "POST", waiting + "/stickings", `{"stuck_on":"2026-01-15","count":21}`, nil, 422, "too-many-cuttings", "count", "21"},
	{"stuck_twice", "POST", stuckOne + "/stickings", `{"stuck_on":"2026-01-15","count":2}`, nil, 422, "already-stuck", "stuck_on", `"2026-01-15"`},
	{"nothing_to_review", "POST", waiting + "/reviews", `{"accept":true,"reason":"fine"}`, nil, 422, "not-to-review", "", ""},
	{"unknown_stand", "POST", batches, batchWith(`"stand":"MB-3"`), nil, 422, "unknown-stand", "", ""},
	{"unknown_stand_asked", "GET", "/v1/batches?stand=MB-3", "", nil, 422, "unknown-stand", "", ""},
	{"no_such_stand", "GET", "/v1/stands/MB-30", "", nil, 404, "no-such-stand", "", ""},
	{"no_such_batch", "GET", "/v1/batches/MB-03-2026-11", "", nil, 404, "no-such-batch", "", ""},
	{"no_such_taxon", "GET", "/v1/taxa/Cornus%20sericia", "", nil, 404, "no-such-taxon", "", ""},
	{"unknown_taxon", "POST", "/v1/stands", `{"code":"X","name":"X","taxon":"Cornus sericia"}`, nil, 422, "unknown-taxon", "", ""},
	{"no_such_reminder", "GET", "/v1/reminders/2025-01-06", "", nil, 404, "no-such-reminder", "", ""},
	{"taken", "POST", "/v1/stands", `{"code":"mb-03","name":"X","taxon":"Cornus sericea"}`, nil, 409, "taken", "", ""},
	{"tag_taken", "POST", batches, batchWith(`"collected_on":"2025-12-20"`, `"record_number":"t-1"`), nil, 409, "record-number-taken", "record_number", `"t-1"`},
	{"other_taxon", "POST", batches, batchWith(`"taxon":"Salix scouleriana"`), nil, 422, "taxon-misfit", "taxon", `"Salix scouleriana"`},
	{"parents_missing", "POST", batches, batchWith(`"stand":"RS-1"`, `"collected_on":"2025-09-25"`), nil, 422, "parents-missing", "parent_plants", ""},
	{"over", "POST", batches, batchWith(`"stems_cut":31`), nil, 409, "over-allowance", "", ""},
	{"closed_season", "POST", batches, batchWith(`"stand":"SH-1"`, `"parent_plants":3`), nil, 409, "closed-season", "", ""},
	{"expired_survey", "POST", batches, batchWith(`"stand":"OS-1"`, `"parent_plants":3`), nil, 409, "survey-expired", "", ""},
	{"protected", "POST", batches, batchWith(`"stand":"EL-1"`), nil, 409, "protected", "", ""},
	{"without_reason", "POST", batches, batchWith(`"stems_cut":31`, `"already_cut":true`), nil, 422, "invalid", "reason", ""},
	{"stale", "PATCH", "/v1/stands/MB-03", `{"place":"X"}`, []string{"If-Match", `"1"`}, 412, "stale", "", ""},
	{"stale_taxon", "PATCH", dogwood, `{"family":"X"}`, []string{"If-Match", `"9"`}, 412, "stale", "", ""},
	{"stale_nursery", "PATCH", "/v1/nursery", `{"name":"X"}`, []string{"If-Match", `"1"`}, 412, "stale", "", ""},
	{"no_if_match", "PATCH", "/v1/stands/MB-03", `{"place":"X"}`, nil, 428, "if-match-missing", "", ""},
	{"any_if_match", "PATCH", "/v1/taxa/Cornus%20sericea", `{"family":"X"}`, []string{"If-Match", "*"}, 428, "if-match-missing", "", ""},
	{"reused_key", "POST", batches, batchWith(), []string{"Idempotency-Key", "used"}, 409, "key-reused", "", ""},
	{"bad_key", "POST", batches, batchWith(), []string{"Idempotency-Key", strings.Repeat("k", 256)}, 422, "invalid", "Idempotency-Key", ""},
	{"plots_beyond_stand", "POST", surveys, `{"surveyed_on":"2026-01-10","method":"plots","plots":{"plot_area_m2":200,"stand_area_m2":400,"counts":[1,2,3],"placement":"random"}}`, nil, 422, "plots-beyond-stand", "plots.plot_area_m2", ""},
	{"one_plot", "POST", surveys, `{"surveyed_on":"2026-01-10","method":"plots","plots":{"plot_area_m2":4,"stand_area_m2":400,"counts":[12],"placement":"random"}}`, nil, 422, "too-few-plots", "plots.counts", ""},
	{"unknown_grouping", "GET", "/v1/rooting/rate?by=taxon,colour", "", nil, 422, "unknown-grouping", "by", `"colour"`},
	{"bad_cursor", "GET", "/v1/taxa?after=WyJ4Il0", "", nil, 422, "bad-cursor", "after", `"WyJ4Il0"`},
	{"page_too_long", "GET", "/v1/taxa?limit=201", "", nil, 422, "invalid", "limit", "201"},
	{"no_parents", "GET", "/v1/stands/RS-1/allowance?parents=0", "", nil, 422, "invalid", "parents", "0"},
	{"unknown_flag", "GET", "/v1/due?flag=water", "", nil, 422, "invalid", "flag", `"water"`},
	{"packed_body", "POST", batches, batchWith(), []string{"Content-Encoding", "gzip"}, 415, "unsupported-media-type", "Content-Encoding", `"gzip"`},
	{"sheet_as_json", "POST", "/v1/days", batchWith(), []string{"Content-Type", "application/json"}, 415, "unsupported-media-type", "Content-Type", `"application/json"`},
	{"no_sheet", "POST", "/v1/days", "", []string{"Content-Type", "text/csv"}, 400, "malformed", "", ""},
	{"sheet_of_nothing", "POST", "/v1/days", "stand\n", []string{"Content-Type", "text/csv"}, 422, "invalid", "collected_by", ""},
	{"unknown_field_in_changes", "POST", stuckOne + "/corrections", `{"changes":{"stem_cut":3},"why":"a slip"}`, nil, 422, "invalid", "changes.stem_cut", "3"},
	{"wrong_type_in_changes", "POST", stuckOne + "/corrections", `{"changes":{"stems_cut":"three"},"why":"a slip"}`, nil, 422, "invalid", "changes.stems_cut", `"three"`},
	{"wrong_treatment_in_changes", "POST", stuckOne + "/corrections", `{"entry":1,"changes":{"treatment":{"colour":"red"}},"why":"a slip"}`, nil, 422, "invalid", "changes.treatment", ""},
	{"change_of_another_entry", "POST", stuckOne + "/corrections", `{"changes":{"rooted":3},"why":"a slip"}`, nil, 422, "invalid", "changes.rooted", ""},
	{"nothing_changes", "POST", stuckOne + "/corrections", `{"changes":{"cuttings":40},"why":"a slip"}`, nil, 422, "nothing-changes", "changes", ""},
	{"correct_no_entry", "POST", stuckOne + "/corrections", `{"entry":9,"changes":{"count":3},"why":"a slip"}`, nil, 422, "unknown-entry", "entry", `"9"`},
	{"correct_without_why", "POST", stuckOne + "/corrections", `{"changes":{"cuttings":41}}`, nil, 422, "invalid", "why", ""},
	{"correct_stale", "POST", stuckOne + "/corrections", `{"changes":{"cuttings":41},"why":"a slip","version":9}`, nil, 412, "stale", "", ""},
	{"correct_over", "POST", waiting + "/corrections", `{"changes":{"stems_cut":41},"why":"a slip"}`, nil, 409, "over-allowance", "", ""},
	{"correct_against_later", "POST", stuckOne + "/corrections", `{"changes":{"cuttings":39},"why":"a slip"}`, nil, 422, "later-entry", "changes", ""},
	{"correct_no_batch", "POST", "/v1/batches/MB-03-2026-11/corrections", `{"changes":{"cuttings":41},"why":"a slip"}`, nil, 404, "no-such-batch", "", ""},
	{"void_without_why", "POST", stuckOne + "/voids", `{}`, nil, 422, "invalid", "why", ""},
	{"determine_unknown", "POST", stuckOne + "/determinations", `{"taxon":"Salix scoulerana","on":"2026-01-10","by":"OP"}`, nil, 422, "unknown-taxon", "taxon", `"Salix scoulerana"`},
	{"determine_before_the_cut", "POST", stuckOne + "/determinations", `{"taxon":"Salix scouleriana","on":"2025-12-19","by":"OP"}`, nil, 422, "out-of-order", "on", `"2025-12-19"`},
	{"correct_no_survey", "POST", surveys + "/s-1/corrections", `{"void":true,"why":"a slip"}`, nil, 404, "no-such-survey", "", ""},
	{"void_no_record", "POST", "/v1/stands/MB-03/corrections", `{"subject":"rest","subject_id":"r-1","why":"a slip"}`, nil, 422, "unknown-record", "subject_id", `"r-1"`},
	{"sheet_refused", "POST", "/v1/days", "stand,collected_on,stems_cut,cuttings,collected_by\nMB-03,2026-01-16,20,9,RQ\nMB-03,2026-01-16,20,9,TS\n", []string{"Content-Type", "text/csv"}, 409, "over-allowance", "line 3: stems_cut", "20"},
}

// What cannot be is refused with the field, the value and the right code, and
// changes nothing.
func TestRefusals(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h, want := begun(t, s), goldenAnswers(t, "refusals")
		for _, step := range prepared {
			if status, _, body := h.ask(t, step.method, step.path, step.body, step.headers...); status != step.status {
				t.Fatalf("%s: %d %s", step.name, status, body)
			}
		}
		before := h.holds(t)
		for _, r := range refusals {
			t.Run(r.name, func(t *testing.T) {
				status, header, body := h.ask(t, r.method, r.path, r.body, append(r.headers, "X-Request-Id", "r-1")...)
				r.check(t, status, header.Get("Content-Type"), body)
				want.hold(t, r.name, body)
				if after := h.holds(t); after != before {
					t.Errorf("changed from\n%s\nto\n%s", before, after)
				}
			})
		}
	})
}

func (r refusal) check(t *testing.T, status int, kind, body string) {
	t.Helper()
	var p Problem
	if err := json.Unmarshal([]byte(body), &p); err != nil {
		t.Fatalf("%v: %s", err, body)
	}
	if status != r.status || kind != problemType || p.Code != r.code || p.Kind != Catalogue[r.code].Kind || p.Type != "/problems/"+r.code {
		t.Errorf("%d %s %s of kind %s, want %d %s: %s", status, kind, p.Code, p.Kind, r.status, r.code, body)
	}
	if p.Kind == models.Refused && (p.Allowed == nil || p.Binding == nil || p.Binding.Detail == "") {
		t.Errorf("a refusal without its numbers: %s", body)
	}
	if strings.Contains(body, "json:") || strings.Contains(body, "Go ") {
		t.Errorf("speaks of the program: %s", body)
	}
	if r.field == "" {
		return
	}
	i := slices.IndexFunc(p.Errors, func(f models.Field) bool { return f.Name == r.field })
	if i < 0 {
		t.Fatalf("%s is not named: %s", r.field, body)
	}
	if p.Errors[i].Detail == "" {
		t.Errorf("nothing is said of %s: %s", r.field, body)
	}
	value, err := json.Marshal(p.Errors[i].Value)
	if err != nil || (r.value != "" && string(value) != r.value) {
		t.Errorf("the value is %s, want %s: %s", value, r.value, body)
	}
}

// Near names are suggested, the nearest first.
func TestNearNamesAreSuggested(t *testing.T) {
	h := begun(t, storetest.Open(t, store.SQLite))
	for path, want := range map[string]string{
		"/v1/stands/MB-3":                      "MB-03",
		"/v1/stands/rs1":                       "RS-1",
		"/v1/taxa/Cornus%20sericia":            "Cornus sericea",
		"/v1/batches?stand=MB-30":              "MB-03",
		"/v1/batches?taxon=Salix%20scoulerana": "Salix scouleriana",
	} {
		_, _, body := h.ask(t, "GET", path, "")
		var p Problem
		if err := json.Unmarshal([]byte(body), &p); err != nil {
			t.Fatal(err)
		}
		if len(p.Suggestions) == 0 || p.Suggestions[0] != want {
			t.Errorf("%s: %s", path, fmt.Sprint(p.Suggestions))
		}
	}
}

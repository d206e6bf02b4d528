package api

import (
	"slices"
	"strings"
	"testing"

	"withybed/models/store"
	"withybed/models/store/storetest"
)

// step is one request of the story and what it is answered with. What is not
// given is not looked at; every body is held against its golden one.
type step struct {
	name, method, path, body string
	status                   int
	headers                  []string // of the request
	etag, location           string   // of the answer
}

const dogwood = "/v1/taxa/Cornus%20sericea"

var beginning = []step{
	{name: "nursery", method: "GET", path: "/v1/nursery", status: 200, etag: `"1"`},
	{name: "nursery_edit", method: "PATCH", path: "/v1/nursery", status: 200, headers: []string{"If-Match", `"1"`}, etag: `"2"`,
		body: `{"name":"Wrenlow Valley Native Plants","reminder_hour":6,"thresholds":{"check_every":10},"bases":{"check_every":"our own records"}}`},
	{name: "taxon", method: "POST", path: "/v1/taxa", status: 201, etag: `"1"`, location: dogwood,
		body: `{"scientific_name":" Cornus  sericea","common_name":"red-osier dogwood","family":"Cornaceae","soak_days":10}`},
	{name: "taxon_upland_willow", method: "POST", path: "/v1/taxa", status: 201,
		body: `{"scientific_name":"Salix scouleriana","common_name":"Scouler willow","dioecious":true}`},
	{name: "taxon_show", method: "GET", path: "/v1/taxa/CORNUS%20SERICEA", status: 200, etag: `"1"`},
	{name: "taxon_edit", method: "PATCH", path: dogwood, status: 200, headers: []string{"If-Match", `"1"`}, etag: `"2"`,
		body: `{"common_name":"red twig dogwood","soak_days":null}`},
	{name: "taxa", method: "GET", path: "/v1/taxa?limit=1", status: 200},
	{name: "stand", method: "POST", path: "/v1/stands", status: 201, etag: `"1"`, location: "/v1/stands/MB-03",
		body: `{"code":"MB-03","name":"Mallow Bend, upper bank","taxon":"cornus sericea","place":"Mallow Bend","locality":"left bank, above the footbridge",
		"land_manager":"Wrenlow Valley Parks","latitude":46.12345,"longitude":-122.54321,"coordinate_uncertainty_m":15,"sensitivity":"medium",
		"harvest_rule":{"stand_cap":0.05,"basis":"agreed with the land manager"},
		"closures":[{"from":"04-15","to":"07-31","every_year":true,"reason":"birds nest in the thicket"}]}`},
	{name: "stand_plain", method: "POST", path: "/v1/stands", status: 201, body: `{"code":"RS-1","name":"Rook Slope","taxon":"Salix scouleriana","sensitivity":"extreme","latitude":46.2,"longitude":-122.4}`},
	{name: "stand_show", method: "GET", path: "/v1/stands/mb-03", status: 200, etag: `"1"`},
	{name: "stand_exact", method: "GET", path: "/v1/stands/MB-03?exact=true", status: 200, etag: `"1"`},
	{name: "stand_edit", method: "PATCH", path: "/v1/stands/MB-03", status: 200, headers: []string{"If-Match", `"1"`}, etag: `"2"`,
		body: `{"sensitivity":"high","locality":null,"harvest_rule":{"per_plant_cap":0.08},"in_force_from":"2026-02-01","why":"asked for by the land manager","by":"OP"}`},
	{name: "stand_open", method: "PATCH", path: "/v1/stands/MB-03", status: 200, headers: []string{"If-Match", `"2"`}, etag: `"3"`,
		body: `{"closures":[],"in_force_from":"2026-03-01","why":"the thicket was cleared"}`},
	{name: "stand_closed", method: "POST", path: "/v1/stands/MB-03/closures", status: 201, etag: `"4"`, location: "/v1/stands/MB-03",
		body: `{"closures":[{"from":"2026-05-01","to":"2026-05-14","reason":"bank works"}],"why":"asked for by the land manager","by":"parks"}`},
	{name: "stands", method: "GET", path: "/v1/stands?taxon=Cornus%20sericea&place=mallow%20bend&exact=true&limit=1", status: 200},
	{name: "stand_versions", method: "GET", path: "/v1/stands/MB-03/versions", status: 200},
	{name: "survey_plots", method: "POST", path: "/v1/stands/MB-03/surveys", status: 201,
		body: `{"surveyed_on":"2025-09-12","method":"plots","surveyed_by":"OP","plots":{"plot_area_m2":4,"stand_area_m2":400,"counts":[12,7,0,15,9,4,11,6,8,13],"placement":"systematic"}}`},
	{name: "survey_clumps", method: "POST", path: "/v1/stands/RS-1/surveys", status: 201,
		body: `{"surveyed_on":"2025-09-20","method":"clumps","clumps":{"total":37,"stems_on_sample":[22,35,14,28,41,19,30,25]}}`},
	{name: "survey_ocular", method: "POST", path: "/v1/stands/RS-1/surveys", status: 201,
		body: `{"surveyed_on":"2025-10-05","method":"ocular","low":400,"high":700}`},
	{name: "surveys", method: "GET", path: "/v1/stands/RS-1/surveys?limit=1", status: 200},
	{name: "allowance", method: "GET", path: "/v1/stands/MB-03/allowance?on=2026-01-17&stems=24", status: 200},
	{name: "stand_gathering_place", method: "PATCH", path: "/v1/stands/RS-1", status: 200, headers: []string{"If-Match", `"1"`}, etag: `"2"`,
		body: `{"permit_required":"no","permit_reason":"agreed with the owner","gathering_place_of":"the Sedge River people"}`},
	{name: "permit", method: "POST", path: "/v1/permits", status: 201, etag: `"1"`, location: "/v1/permits/WV-2026-12",
		body: `{"number":"WV-2026-12","kind":"permit","issuer":"Wrenlow Valley Parks","land_manager":"Wrenlow Valley Parks","parcels":"WV 114 and 115",
		"taxa":["cornus sericea","Salix scouleriana"],"quantity":120,"people":["RQ","TS"],"valid_from":"2025-11-01","valid_to":"2026-03-31",
		"conditions":"hand tools only","authority":"valley conservation board","paper":"folder 3","stands":["mb-03","RS-1"],"by":"OP"}`},
	{name: "consent", method: "POST", path: "/v1/permits", status: 201, etag: `"1"`,
		body: `{"number":"SR 4/2026","kind":"consent","issuer":"the Sedge River people","valid_from":"2025-11-01","conditions":"ask again each autumn","stands":["RS-1"]}`},
	{name: "permit_show", method: "GET", path: "/v1/permits/wv-2026-12", status: 200, etag: `"1"`},
	{name: "consent_show", method: "GET", path: "/v1/permits/SR%204%2F2026", status: 200, etag: `"1"`},
	{name: "permit_edit", method: "PATCH", path: "/v1/permits/WV-2026-12", status: 200, headers: []string{"If-Match", `"1"`}, etag: `"2"`,
		body: `{"quantity":100,"people":null,"valid_to":"2026-04-15","why":"a new paper came","by":"OP"}`},
	{name: "permits", method: "GET", path: "/v1/permits?stand=rs-1&on=2026-01-17&limit=1", status: 200},
	{name: "allowance_of_plants", method: "GET", path: "/v1/stands/RS-1/allowance?parents=12", status: 200},
}

var working = []step{
	{name: "batch", method: "POST", path: "/v1/batches", status: 201, etag: `"1"`, location: "/v1/batches/MB-03-2025-1",
		body: `{"stand":"mb-03","collected_on":"2025-11-15","stems_cut":20,"cuttings":60,"collected_by":"RQ","taxon":"Cornus sericea","identified_by":"OP",
		"identification":"confirmed","record_number":"T-017","purpose":"rooting","kind":"hardwood","length_cm":20,"diameter_mm":8.5,"nodes":4,"wood_age_years":1,
		"health":"sound","hours_to_water":1.5,"note":"north end only"}`},
	{name: "batch_stuck_at_once", method: "POST", path: "/v1/batches", status: 201, etag: `"1"`,
		body: `{"stand":"RS-1","collected_on":"2026-01-10","stems_cut":5,"cuttings":15,"collected_by":"RQ","parents":[{"tag":"D-1","stems":1,"cuttings":5,"sex":"female"},{"tag":"D-2","stems":1,"cuttings":4},
		{"tag":"D-3","stems":1,"cuttings":2},{"tag":"D-4","stems":1,"cuttings":2,"sex":"not_determined"},{"tag":"D-5","stems":1,"cuttings":2}],
		"stuck_on":"2026-01-11","treatment":"none","medium":"water","bench":"B1","bottom_heat":false}`},
	{name: "batch_already_cut", method: "POST", path: "/v1/batches", status: 201,
		body: `{"stand":"MB-03","collected_on":"2026-01-16","stems_cut":40,"cuttings":90,"collected_by":"TS","already_cut":true,"reason":"two crews cut on the same morning"}`},
	{name: "review", method: "POST", path: "/v1/batches/MB-03-2026-1/reviews", status: 201, etag: `"2"`, location: "/v1/batches/MB-03-2026-1",
		body: `{"accept":true,"reason":"both crews counted again","by":"OP"}`},
	{name: "move", method: "POST", path: "/v1/batches/MB-03-2025-1/moves", status: 201, etag: `"2"`, body: `{"on":"2025-11-15","to":"soak","count":60}`},
	{name: "move_lost", method: "POST", path: "/v1/batches/mb-03-2025-1/moves", status: 201, etag: `"3"`, body: `{"on":"2025-11-16","to":"lost","count":4,"cause":"dried"}`},
	{name: "split", method: "POST", path: "/v1/batches/MB-03-2025-1/splits", status: 201,
		body: `{"on":"2025-11-17","arms":[{"count":16,"treatment":{"auxin":"IBA","auxin_percent":0.3,"auxin_form":"talc"},"medium":"perlite","bench":"B2","bottom_heat":21},{"count":8}]}`},
	{name: "stick", method: "POST", path: "/v1/batches/MB-03-2025-1/stickings", status: 201, etag: `"5"`, location: "/v1/batches/MB-03-2025-1",
		body: `{"stuck_on":"2025-11-17","count":32,"treatment":{"willow_water_g_per_l":100,"willow_water_hours":24,"wound":"two shallow strips"},"medium":"perlite","container":"deep flat","bench":"B2","bottom_heat":true,"mist":true,"stuck_by":"RQ"}`},
	{name: "check", method: "POST", path: "/v1/batches/MB-03-2025-1/checks", status: 201, etag: `"6"`,
		body: `{"checked_on":"2025-12-08","rooted":10,"potting_roots":3,"unrooted":20,"lost":{"rotted_base":2},"checked_by":"RQ","method":"tug"}`},
	{name: "check_later", method: "POST", path: "/v1/batches/MB-03-2025-1/checks", status: 201, etag: `"7"`,
		body: `{"checked_on":"2026-01-05","rooted":24,"potting_roots":20,"lost":{"mould":1},"lost_rooted":{"eaten":1},"method":"lift"}`},
	{name: "pot_up", method: "POST", path: "/v1/batches/MB-03-2025-1/pottings", status: 201, etag: `"8"`,
		body: `{"potted_on":"2026-01-12","count":12,"container":"1-gallon pot","medium":"bark and compost","bench":"Yard 1","potted_by":"RQ"}`},
	{name: "decide", method: "POST", path: "/v1/batches/MB-03-2025-1/decisions", status: 201, etag: `"9"`,
		body: `{"on":"2026-01-17","action":"keep","until":"2026-02-14","by":"OP","why":"callus on most of them"}`},
	{name: "batch_show", method: "GET", path: "/v1/batches/mb-03-2025-1", status: 200, etag: `"9"`},
	{name: "batch_sister", method: "GET", path: "/v1/batches/MB-03-2025-2", status: 200, etag: `"1"`},
	{name: "day", method: "POST", path: "/v1/days", status: 201, headers: []string{"Content-Type", "text/csv; charset=utf-8"},
		body: "stand,collected_on,stems_cut,cuttings,collected_by,parent_plants,record_number,treatment.auxin_ppm,stuck_on\n" +
			"RS-1,2026-01-17,2,6,RQ,2,T-1,,\nRS-1,2026-01-17,1,3,TS,1,T-2,3000,2026-01-17\n"},
	{name: "batches", method: "GET", path: "/v1/batches?stand=MB-03&limit=2&from=2025-11-01&to=2026-01-31&active=true", status: 200},
	{name: "batches_of_kind", method: "GET", path: "/v1/batches?taxon=cornus%20sericea&bench=b2&kind=hardwood&to_review=false", status: 200},
	{name: "share", method: "POST", path: "/v1/stands/rs-1/shares", status: 201,
		body: `{"crew":"C","stems":1,"parents":1,"from":"2026-01-17","to":"2026-01-20","note":"north bank, no signal there","by":"OP"}`},
	{name: "shares_held", method: "GET", path: "/v1/shares?limit=1", status: 200},
	{name: "disturbance", method: "POST", path: "/v1/stands/RS-1/disturbances", status: 201, body: `{"on":"2026-01-17","kind":"flood","by":"OP"}`},
	{name: "shares", method: "GET", path: "/v1/stands/RS-1/shares?limit=1", status: 200},
	{name: "share_returned", method: "POST", path: "/v1/stands/RS-1/shares/c/returns", status: 201, body: `{"by":"RQ","why":"the river was too high"}`},
	{name: "disturbances", method: "GET", path: "/v1/stands/RS-1/disturbances", status: 200},
	{name: "allowance_after_flood", method: "GET", path: "/v1/stands/RS-1/allowance?on=2026-01-17", status: 200},
	{name: "ledger", method: "GET", path: "/v1/stands/MB-03/ledger?limit=1", status: 200},
	{name: "seasons", method: "GET", path: "/v1/stands/MB-03/seasons", status: 200},
	{name: "others_cut", method: "POST", path: "/v1/stands/mb-03/others-cuts", status: 201,
		body: `{"from":"2026-01-03","to":"2026-01-05","low":5,"high":12,"cut_by":"valley basket weavers","evidence":"cut stubs seen on the bank","by":"OP"}`},
	{name: "others_cuts", method: "GET", path: "/v1/stands/MB-03/others-cuts?limit=1", status: 200},
	{name: "sheet", method: "GET", path: "/v1/stands/MB-03/sheet?on=2026-11-20&stems=50&crew=C", status: 200},
	{name: "sheet_after_flood", method: "GET", path: "/v1/stands/RS-1/sheet?on=2026-01-18&stems=5&crew=C", status: 200},
	{name: "board", method: "GET", path: "/v1/board?on=2026-01-18", status: 200},
	{name: "board_of_land", method: "GET", path: "/v1/board?land_manager=wrenlow%20valley%20parks&place=mallow%20bend&taxon=cornus%20sericea", status: 200},
	{name: "stand_plot", method: "GET", path: "/v1/stands/mb-03/plot?from=2025-07-01&to=2026-12-31", status: 200},
	{name: "land", method: "GET", path: "/v1/land?land_manager=wrenlow%20valley%20parks&from=2025-07-01&to=2026-06-30", status: 200},
	{name: "land_at_place", method: "GET", path: "/v1/land?place=Mallow%20Bend", status: 200},
	{name: "stand_parents", method: "GET", path: "/v1/stands/rs-1/parents?season=2025/26", status: 200},
	{name: "stand_parents_of_window", method: "GET", path: "/v1/stands/RS-1/parents?on=2026-01-16", status: 200},
	{name: "changes", method: "GET", path: "/v1/changes?limit=2", status: 200},
	{name: "due", method: "GET", path: "/v1/due", status: 200},
	{name: "due_on", method: "GET", path: "/v1/due?on=2026-02-16&bench=b2&flag=pot_up", status: 200},
	{name: "rooting", method: "GET", path: "/v1/rooting/rate?by=taxon,treatment,season&on=2026-01-17&kind=hardwood&from=2025-07-01&to=2026-06-30", status: 200},
	{name: "rooting_of_stand", method: "GET", path: "/v1/rooting/rate?stand=rs-1&taxon=Salix%20scouleriana", status: 200},
	{name: "rooting_curve", method: "GET", path: "/v1/rooting/curve?treatment=none&medium=perlite&heated=no&replicates=100&seed=2", status: 200},
	{name: "rooting_forecast", method: "GET", path: "/v1/rooting/forecast?taxon=Cornus%20sericea&wanted=20", status: 200},
	{name: "rooting_calibration", method: "GET", path: "/v1/rooting/calibration?origins=20", status: 200},
	{name: "rooting_days", method: "GET", path: "/v1/rooting/days?by=taxon&season=2025/26&bench=B2&replicates=0", status: 200},
	{name: "rooting_compared", method: "GET", path: "/v1/rooting/compare?by=medium&stand=MB-03&replicates=0", status: 200},
	{name: "rooting_fitted", method: "GET", path: "/v1/rooting/fit?by=taxon&kind=hardwood", status: 200},
	{name: "reminder", method: "POST", path: "/v1/reminders", status: 201, location: "/v1/reminders/2026-01-12"},
	{name: "reminder_found", method: "POST", path: "/v1/reminders", status: 200, body: `{}`, location: "/v1/reminders/2026-01-12"},
	{name: "reminder_of_day", method: "POST", path: "/v1/reminders", status: 201, body: `{"on":"2026-01-06"}`, location: "/v1/reminders/2026-01-05"},
	{name: "reminders", method: "GET", path: "/v1/reminders?limit=1", status: 200},
	{name: "reminder_show", method: "GET", path: "/v1/reminders/2026-01-12", status: 200},
	{name: "batch_on_permit", method: "POST", path: "/v1/batches", status: 201,
		body: `{"stand":"RS-1","collected_on":"2026-01-16","stems_cut":1,"cuttings":3,"collected_by":"RQ","parent_plants":1,"permit":"wv-2026-12"}`},
	{name: "person", method: "POST", path: "/v1/people", status: 201, etag: `"1"`, location: "/v1/people/RQ",
		body: `{"code":"RQ","name":"Rowan Quill","email":"rowan@wrenlow.example","phone":"555 0117","note":"Saturdays only","mail":["bench","stands"]}`},
	{name: "person_bare", method: "POST", path: "/v1/people", status: 201, etag: `"1"`, body: `{"code":"TY-2","name":"Tam Yarrow"}`},
	{name: "person_show", method: "GET", path: "/v1/people/rq", status: 200, etag: `"1"`},
	{name: "person_edit", method: "PATCH", path: "/v1/people/RQ", status: 200, headers: []string{"If-Match", `"1"`}, etag: `"2"`,
		body: `{"email":"rowan@mail.example","phone":null,"mail":["bench"]}`},
	{name: "batch_by_people", method: "POST", path: "/v1/batches", status: 201,
		body: `{"stand":"MB-03","collected_on":"2026-01-17","stems_cut":1,"cuttings":3,"collected_by":"rq; ty-2","identified_by":"a passer-by","already_cut":true,"reason":"broken by snow"}`},
	{name: "ledger_of_people", method: "GET", path: "/v1/stands/MB-03/ledger?limit=2", status: 200},
	{name: "person_erased", method: "POST", path: "/v1/people/RQ/erasures", status: 201, etag: `"3"`, location: "/v1/people/RQ"},
	{name: "people", method: "GET", path: "/v1/people?limit=1", status: 200},
	{name: "mail", method: "GET", path: "/v1/mail?limit=1", status: 200},
}

// shutting makes the first token, after which nobody comes in without one.
var shutting = []step{
	{name: "token", method: "POST", path: "/v1/tokens", status: 201, body: `{"name":"OP","role":"coordinator"}`},
	{name: "no_token", method: "GET", path: "/v1/taxa", status: 401},
	{name: "wrong_token", method: "GET", path: "/v1/taxa", status: 401, headers: []string{"Authorization", "Bearer " + storySecret + "x"}},
	{name: "tokens", method: "GET", path: "/v1/tokens?all=true", status: 200, headers: []string{"Authorization", "Bearer " + storySecret}},
	{name: "token_revoked", method: "POST", path: "/v1/tokens/op/revocations", status: 201, headers: []string{"Authorization", "Bearer " + storySecret}},
}

func (s step) take(t *testing.T, h house, want *answers) {
	t.Helper()
	status, header, body := h.ask(t, s.method, s.path, s.body, append(s.headers, "X-Request-Id", "r-1")...)
	if status != s.status {
		t.Fatalf("%s: status %d: %s", s.name, status, body)
	}
	for name, value := range map[string]string{"ETag": s.etag, "Location": s.location} {
		if value != "" && header.Get(name) != value {
			t.Errorf("%s: %s is %q, not %q", s.name, name, header.Get(name), value)
		}
	}
	want.hold(t, s.name, body)
}

// The same story is answered alike on both databases, and goes through every
// route.
func TestStory(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h, want, seen := openHouse(t, s), goldenAnswers(t, "story"), map[string]bool{"health": true, "ready": true}
		for _, step := range slices.Concat(beginning, working, resting, correcting, shutting) {
			step.take(t, h, want)
			path, _, _ := strings.Cut(step.path, "?")
			for _, op := range h.operations {
				seen[op.id] = seen[op.id] || op.is(step.method, path)
			}
		}
		for id, was := range seen {
			if !was {
				t.Errorf("%s is not in the story", id)
			}
		}
	})
}

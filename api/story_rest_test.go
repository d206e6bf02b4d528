package api

import (
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// resting is the part of the story in which a stand is left alone, salvaged, looked
// over for nests and closed with its whole place.
var resting = []step{
	{name: "rest", method: "POST", path: "/v1/stands/mb-03/rests", status: 201,
		body: `{"from":"2026-02-01","to":"2026-10-31","why":"browsed hard in the winter","by":"OP"}`},
	{name: "rest_open", method: "POST", path: "/v1/stands/RS-1/rests", status: 201, body: `{"why":"the willows leafed out twice"}`},
	{name: "rest_before_its_day", method: "POST", path: "/v1/stands/MB-03/rests", status: 422, body: `{"from":"2026-03-01","to":"2026-02-28","why":"x"}`},
	{name: "rest_end_of_none", method: "POST", path: "/v1/stands/MB-03/rests/r-1/ends", status: 404, body: `{"to":"2026-06-30","why":"it grew well"}`},
	{name: "rests", method: "GET", path: "/v1/stands/MB-03/rests?limit=1", status: 200},
	{name: "allowance_at_rest", method: "GET", path: "/v1/stands/MB-03/allowance?on=2026-02-01&stems=2", status: 200},
	{name: "salvage", method: "POST", path: "/v1/stands/MB-03/salvages", status: 201,
		body: `{"from":"2026-01-17","to":"2026-01-24","authority":"Wrenlow Valley Roads","why":"the bank is dug away","by":"OP"}`},
	{name: "salvages", method: "GET", path: "/v1/stands/MB-03/salvages?limit=1", status: 200},
	{name: "allowance_of_salvage", method: "GET", path: "/v1/stands/MB-03/allowance?on=2026-01-18&stems=400", status: 200},
	{name: "place_closed", method: "POST", path: "/v1/places/mallow%20%20bend/closures", status: 201,
		body: `{"closures":[{"from":"01-10","to":"01-31","every_year":true,"reason":"owls nest early","kind":"nest_check"}],"why":"owls called","by":"parks"}`},
	{name: "place_closed_again", method: "POST", path: "/v1/places/Mallow%20Bend/closures", status: 201,
		body: `{"closures":[{"from":"01-10","to":"01-31","every_year":true,"reason":"owls nest early","kind":"nest_check"}],"why":"owls called","by":"parks"}`},
	{name: "place_elsewhere", method: "POST", path: "/v1/places/Mallow%20Bent/closures", status: 404, body: `{"closures":[{"from":"2026-02-01","to":"2026-02-02"}]}`},
	{name: "place", method: "GET", path: "/v1/places/MALLOW%20BEND/closures", status: 200},
	{name: "stand_of_closed_place", method: "GET", path: "/v1/stands/MB-03", status: 200},
	{name: "nest_check", method: "POST", path: "/v1/stands/MB-03/nest-checks", status: 201, body: `{"on":"2026-01-10","nests_found":true,"by":"TS","note":"in the old alder"}`},
	{name: "nest_check_of_place", method: "POST", path: "/v1/places/Mallow%20Bend/nest-checks", status: 201, body: `{"nests_found":false,"by":"OP"}`},
	{name: "nest_checks", method: "GET", path: "/v1/stands/MB-03/nest-checks?limit=2", status: 200},
	{name: "tool_cleaning", method: "POST", path: "/v1/stands/MB-03/tool-cleanings", status: 201, body: `{"by":"TS","how":"brushed, then alcohol on blades and soles"}`},
	{name: "tool_cleanings", method: "GET", path: "/v1/stands/MB-03/tool-cleanings?limit=1", status: 200},
	{name: "stand_told_whole", method: "GET", path: "/v1/stands/MB-03", status: 200},
	{name: "place_open_again", method: "POST", path: "/v1/places/Mallow%20Bend/closures", status: 201,
		body: `{"closures":[],"whole_list":true,"in_force_from":"2026-02-01","why":"the owls moved","by":"OP"}`},
}

// A rest is given its end through the client, by its identifier, and a batch over a
// limit begins one that its review ends.
func TestRestsAreEndedThroughTheDoor(t *testing.T) {
	h := begun(t, storetest.Open(t, store.SQLite))
	ctx := t.Context()
	rest, err := h.client.AddRest(ctx, "MB-03", models.NewRest{Why: "browsed hard", By: "OP"})
	if err != nil || rest.ID == "" || !rest.EndsOn.IsZero() {
		t.Fatalf("%+v, %v", rest, err)
	}
	end := models.NewRestEnd{To: models.MustDate("2026-03-31"), Why: "it grew well", By: "OP"}
	ended, err := h.client.EndRest(ctx, "MB-03", rest.ID, end)
	if err != nil || ended.EndsOn != end.To || ended.ID == rest.ID || ended.StartsOn != rest.StartsOn {
		t.Fatalf("%+v, %v", ended, err)
	}
	if _, err := h.client.EndRest(ctx, "MB-03", rest.ID, end); models.AsError(err) == nil || models.AsError(err).Code != "no-such-rest" {
		t.Errorf("the rest that was ended is ended again: %v", err)
	}
	var standing []models.RestView
	for r, err := range h.client.Rests(ctx, "MB-03") {
		if err != nil {
			t.Fatal(err)
		}
		if r.ReplacedBy == "" {
			standing = append(standing, r)
		}
	}
	if len(standing) != 1 || standing[0].ID != ended.ID {
		t.Errorf("those that stand are %+v", standing)
	}
}

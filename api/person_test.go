package api

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func TestClientKeepsPeople(t *testing.T) {
	ctx := t.Context()
	c := openHouse(t, storetest.Open(t, store.SQLite)).client
	added := must(c.AddPerson(ctx, models.NewPerson{Code: "RQ", Name: "Rowan Quill", Email: "rowan@wrenlow.example", Mail: []models.MailList{models.BenchMail}}))
	must(c.AddPerson(ctx, models.NewPerson{Code: "OP"}))
	if added.Version != 1 || len(added.Warnings) != 1 {
		t.Errorf("added: %+v", added)
	}
	edited := must(c.EditPerson(ctx, "rq", 1, models.PersonEdit{Phone: models.SetTo("555 0117"), Mail: models.SetNull[[]models.MailList]()}))
	if seen := must(c.Person(ctx, "RQ")); seen.Phone != "555 0117" || len(seen.Mail) != 0 || seen.Version != edited.Version || seen.Name != "Rowan Quill" {
		t.Errorf("seen: %+v", seen)
	}
	if gone := must(c.ErasePerson(ctx, "RQ")); !gone.Erased || gone.Name+gone.Email+gone.Phone != "" || len(gone.Warnings) != 1 {
		t.Errorf("erased: %+v", gone)
	}
	var codes []string
	for _, p := range all(t, c.People(ctx)) {
		codes = append(codes, p.Code)
	}
	if !slices.Equal(codes, []string{"OP", "RQ"}) {
		t.Errorf("listed: %q", codes)
	}
}

// What is sent again under its key is answered as before, until the person is
// erased: the answer held the name.
func TestAnAnswerWithANameIsNotRemembered(t *testing.T) {
	h := openHouse(t, storetest.Open(t, store.SQLite))
	const rowan = `{"code":"RQ","name":"Rowan Quill"}`
	for range 2 {
		if status, _, body := h.ask(t, "POST", "/v1/people", rowan, "Idempotency-Key", "k1"); status != http.StatusCreated || !strings.Contains(body, "Rowan") {
			t.Fatalf("%d %s", status, body)
		}
	}
	for range 2 {
		status, header, body := h.ask(t, "POST", "/v1/people/RQ/erasures", "", "Idempotency-Key", "k2")
		if status != http.StatusCreated || strings.Contains(body, "Rowan") || header.Get("Location") != "/v1/people/RQ" {
			t.Fatalf("%d %s", status, body)
		}
	}
	if status, _, body := h.ask(t, "POST", "/v1/people", rowan, "Idempotency-Key", "k1"); status != http.StatusConflict || strings.Contains(body, "Rowan") {
		t.Errorf("%d %s", status, body)
	}
}

func TestRefusalsAboutPeople(t *testing.T) {
	h := openHouse(t, storetest.Open(t, store.SQLite))
	must(h.client.AddPerson(t.Context(), models.NewPerson{Code: "RQ"}))
	for _, c := range []struct {
		method, path, body, code string
		status                   int
	}{
		{"POST", "/v1/people", `{"code":"rq"}`, "taken", 409},
		{"POST", "/v1/people", `{"code":"R Q"}`, "invalid", 422},
		{"POST", "/v1/people", `{"code":"OP","email":"Olive <op@wrenlow.example>"}`, "invalid", 422},
		{"POST", "/v1/people", `{"code":"OP","mail":["bench"]}`, "missing", 422},
		{"POST", "/v1/people", `{"code":"OP","mail":["news"],"email":"op@wrenlow.example"}`, "invalid", 422},
		{"POST", "/v1/people", `{"name":"Olive"}`, "invalid", 422},
		{"GET", "/v1/people/RX", "", "no-such-person", 404},
		{"PATCH", "/v1/people/RQ", `{"name":"Rowan"}`, "if-match-missing", 428},
		{"POST", "/v1/people/OP/erasures", "", "no-such-person", 404},
	} {
		status, _, body := h.ask(t, c.method, c.path, c.body)
		if status != c.status || !strings.Contains(body, "/problems/"+c.code+`"`) {
			t.Errorf("%s %s %s: %d %s", c.method, c.path, c.body, status, body)
		}
	}
	must(h.client.ErasePerson(t.Context(), "RQ"))
	status, _, body := h.ask(t, "PATCH", "/v1/people/RQ", `{"name":"Rowan"}`, "If-Match", `"2"`)
	if status != http.StatusConflict || !strings.Contains(body, "person-erased") {
		t.Errorf("%d %s", status, body)
	}
}

package api

import (
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// A batch to review is told to the coordinators on the list, and the list of mail
// shows how far the letters have come, not what they say.
func TestTheListOfMail(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := openHouse(t, s)
		ctx := t.Context()
		ok := func(err error) {
			t.Helper()
			if err != nil {
				t.Fatal(err)
			}
		}
		for _, code := range []string{"OP", "TS"} {
			_, err := h.client.AddPerson(ctx, models.NewPerson{Code: code, Email: code + "@wrenlow.example", Mail: []models.MailList{models.StandMail}})
			ok(err)
		}
		_, err := h.client.AddTaxon(ctx, models.NewTaxon{ScientificName: "Cornus sericea"})
		ok(err)
		_, err = h.client.AddStand(ctx, models.NewStand{Code: "MB-03", Name: "Mallow Bend", Taxon: "Cornus sericea"})
		ok(err)
		_, err = h.client.LogBatch(ctx, models.NewBatch{
			Stand: "MB-03", CollectedOn: models.MustDate("2026-01-16"), StemsCut: 3, Cuttings: 9, CollectedBy: "TS", AlreadyCut: true, Reason: "ice broke them"})
		ok(err)
		for state, want := range map[models.LetterState]string{
			"": "TS@wrenlow.example OP@wrenlow.example", models.LetterWaiting: "TS@wrenlow.example OP@wrenlow.example", models.LetterSent: "", models.LetterGivenUp: "",
		} {
			var to []string
			for letter, err := range h.client.Letters(ctx, state, 0) {
				ok(err)
				to = append(to, letter.Address)
				if letter.State != models.LetterWaiting || !strings.Contains(letter.Subject, "to review") || letter.Tries != 0 {
					t.Errorf("%+v", letter)
				}
			}
			if got := strings.Join(to, " "); got != want {
				t.Errorf("%q are to %q, want %q", state, got, want)
			}
		}
		first := ""
		for letter, err := range h.client.Letters(ctx, "", 1) {
			ok(err)
			first += letter.Address
		}
		if first != "TS@wrenlow.example" {
			t.Errorf("the first is to %q", first)
		}
		if status, _, body := h.ask(t, "GET", "/v1/mail?state=lost", ""); status != 422 || !strings.Contains(body, "state") {
			t.Errorf("%d %s", status, body)
		}
	})
}

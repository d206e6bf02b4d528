package api

import (
	"encoding/json"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// A request that was put by is answered as the first time, and recorded once.
func TestRepeat(t *testing.T) {
	h := begun(t, storetest.Open(t, store.SQLite))
	kept := Kept{Key: "k-1", Path: "/v1/batches", ContentType: jsonType, Body: []byte(batchWith(`"stems_cut":3`))}
	var first models.BatchView
	for range 2 {
		answer, err := h.client.Repeat(t.Context(), kept)
		var view models.BatchView
		if err == nil {
			err = json.Unmarshal(answer, &view)
		}
		if err != nil || view.StemsCut != 3 || first.Code != "" && view.Code != first.Code {
			t.Fatalf("%s %v", answer, err)
		}
		first = view
	}
	if n := len(all(t, h.client.Ledger(t.Context(), "MB-03", models.Date{}))); n != 1 {
		t.Errorf("%d entries in the ledger", n)
	}
	kept.Body = []byte(batchWith(`"stems_cut":4`))
	if _, err := h.client.Repeat(t.Context(), kept); models.AsError(err) == nil || models.AsError(err).Code != "key-reused" {
		t.Error(err)
	}
	sheet := Kept{Key: "k-2", Path: "/v1/days", ContentType: csvType, Body: []byte("stand,collected_on,stems_cut,cuttings,collected_by\nMB-03,2026-01-16,2,6,RQ\n")}
	if answer, err := h.client.Repeat(t.Context(), sheet); err != nil || !json.Valid(answer) {
		t.Errorf("%s %v", answer, err)
	}
}

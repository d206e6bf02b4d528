package api

import (
	"net/http"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func TestClientAsksForForecasts(t *testing.T) {
	h := rooted(t, storetest.Open(t, store.SQLite))
	all := must(h.client.RootingForecast(t.Context(), nursery.ForecastQuery{Wanted: 3}))
	if len(all.Batches) < 2 || all.Batches[0].Pot.Wanted != 3 || len(all.Batches[0].Days) == 0 {
		t.Fatalf("%+v", all)
	}
	named := must(h.client.RootingForecast(t.Context(), nursery.ForecastQuery{Batches: []string{all.Batches[1].Batch}}))
	if len(named.Batches) != 1 || named.Batches[0].Batch != all.Batches[1].Batch || named.Batches[0].Pot.Wanted == 3 {
		t.Errorf("%+v", named)
	}
	_, err := h.client.RootingForecast(t.Context(), nursery.ForecastQuery{Batches: []string{"MB-03-1999-1"}})
	if e := models.AsError(err); e == nil || e.Code != "no-such-batch" {
		t.Errorf("%v", err)
	}
	if c := must(h.client.RootingCalibration(t.Context(), nursery.CalibrationQuery{Origins: 5})); c.Status == "" || c.Origins > 5 {
		t.Errorf("%+v", c)
	}
}

func TestWhatForecastsDoNotAnswer(t *testing.T) {
	h := rooted(t, storetest.Open(t, store.SQLite))
	for path, code := range map[string]string{
		"forecast?wanted=-1":              "invalid",
		"forecast?stand=MB-30":            "unknown-stand",
		"forecast?origins=3":              "invalid",
		"calibration?origins=0":           "invalid",
		"calibration?origins=10001":       "invalid",
		"calibration?taxon=Rosa%20nobody": "unknown-taxon",
	} {
		status, _, body := h.ask(t, "GET", "/v1/rooting/"+path, "")
		if status != http.StatusUnprocessableEntity || !strings.Contains(body, `"code":"`+code+`"`) {
			t.Errorf("%s: %d, %s", path, status, body)
		}
	}
}

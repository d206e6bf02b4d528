package api

import (
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/rules"
	"withybed/models/stats"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// rooted is a house where two arms of a harvest were stuck and looked at twice.
func rooted(t *testing.T, s *store.Store) house {
	t.Helper()
	h := begun(t, s)
	ctx, day := t.Context(), models.MustDate
	batch := must(h.client.LogBatch(ctx, models.NewBatch{Stand: "MB-03", CollectedOn: day("2025-11-08"), StemsCut: 14, Cuttings: 40, CollectedBy: "RQ"}))
	arm := func(name, by string) models.Arm {
		treatment := models.NamedTreatment(name)
		return models.Arm{Count: 20, Tray: models.Tray{Treatment: &treatment, Medium: "perlite", Bench: "B1", StuckBy: by, BottomHeat: &models.BottomHeat{Recorded: true}}}
	}
	split := must(h.client.Split(ctx, batch.Code, models.NewSplit{On: day("2025-11-09"), Arms: []models.Arm{arm("none", "RQ"), arm("willow water", "JD")}}))
	for i, sister := range split.Sisters {
		for k, on := range []string{"2025-11-30", "2025-12-21"} {
			found := 5 + 4*i + 3*k
			must(h.client.Check(ctx, sister.Code, models.NewCheck{CheckedOn: day(on), Rooted: &found}))
		}
	}
	return h
}

// Every question about rooting is answered in its shape, over the network as at
// home, on both databases.
func TestRootingIsAnsweredInItsShape(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := rooted(t, s)
		for path, shape := range map[string][]string{
			"rate":              {`"by":["taxon","kind","treatment","heated"]`, `"batches_closed":`, `"rho_assumed":false`, `"overdispersion":{"mu":`},
			"curve":             {`"by":[]`, `"steps":[`, `"tau":`, `"bootstrap":{"method":`, `"days_to_root":{"of_stuck":{"t10":{"status":`},
			"days":              {`"groups":[{"key":{}`, `"of_rooted":`},
			"fit":               {`"fits":[{"family":"weibull"`, `"selected":`, `"errors":{"naive":`},
			"compare":           {`"by":"treatment"`, `"arms":[`, `"batch_scores":{`},
			"compare?by=person": {`"by":"person"`},
			"curve?by=treatment&heated=no&season=2025/26&medium=perlite&bench=B1&treatment=none&replicates=0&seed=7": {`"by":["treatment"]`},
		} {
			status, header, body := h.ask(t, "GET", "/v1/rooting/"+path, "")
			if status != http.StatusOK || header.Get("Cache-Control") != "no-store" {
				t.Errorf("%s: %d, kept %q, %s", path, status, header.Get("Cache-Control"), body)
			}
			for _, part := range shape {
				if !strings.Contains(body, part) {
					t.Errorf("%s has no %s: %s", path, part, body)
				}
			}
		}
	})
}

func TestWhatRootingDoesNotAnswer(t *testing.T) {
	h := rooted(t, storetest.Open(t, store.SQLite))
	for path, code := range map[string]string{
		"curve?by=person":           "unknown-grouping",
		"rate?by=person":            "unknown-grouping",
		"fit?by=weather":            "unknown-grouping",
		"compare?by=weather":        "unknown-grouping",
		"compare?reference=talc":    "unknown-arm",
		"compare?difference=1.5":    "invalid",
		"curve?replicates=10001":    "invalid",
		"curve?season=2025":         "invalid",
		"curve?season=2025/99":      "invalid",
		"days?heated=maybe":         "invalid",
		"curve?stand=MB-30":         "unknown-stand",
		"curve?taxon=Rosa%20nobody": "unknown-taxon",
		"fit?replicates=10":         "invalid",
	} {
		status, _, body := h.ask(t, "GET", "/v1/rooting/"+path, "")
		if status != http.StatusUnprocessableEntity || !strings.Contains(body, `"code":"`+code+`"`) {
			t.Errorf("%s: %d, %s", path, status, body)
		}
	}
}

// Answers with a picture are drawn where Accept asks for it, and a comparison never
// is.
func TestAnswersAreDrawnWhereThatIsAskedFor(t *testing.T) {
	h := rooted(t, storetest.Open(t, store.SQLite))
	for path, said := range map[string]string{
		"curve?by=treatment&replicates=0":                        "willow water: 20 stuck, 12 rooted",
		"fit?treatment=none":                                     "all batches: 20 stuck, 8 rooted",
		"forecast?batch=MB-03-2025-2":                            "expected of batch MB-03-2025-2",
		"forecast?stand=MB-03&taxon=Cornus%20sericea&heated=yes": "no open batch",
		"calibration":                                            "percent observed",
	} {
		for _, c := range []struct{ accept, kind, begins string }{
			{"", jsonType, `{"on":"`},
			{"application/json", jsonType, `{"on":"`},
			{"image/png", pngType, "\x89PNG"},
			{"image/svg+xml, application/json;q=0.1", svgType, "<?xml"},
		} {
			status, header, body := h.ask(t, "GET", "/v1/rooting/"+path, "", "Accept", c.accept)
			if status != http.StatusOK || header.Get("Content-Type") != c.kind || !strings.HasPrefix(body, c.begins) || header.Get("Vary") == "" {
				t.Errorf("%s, Accept %q: %d, %s, %.60q", path, c.accept, status, header.Get("Content-Type"), body)
			}
			if c.kind == svgType && !strings.Contains(body, said) {
				t.Errorf("%s does not say %s", path, said)
			}
		}
	}
	for path, why := range map[string]string{"fit?by=treatment": "must be left out", "forecast": "must name one"} {
		status, header, body := h.ask(t, "GET", "/v1/rooting/"+path, "", "Accept", "image/png")
		if status != http.StatusUnprocessableEntity || header.Get("Content-Type") != problemType || !strings.Contains(body, why) {
			t.Errorf("%s is drawn: %d, %s", path, status, body)
		}
	}
	for _, path := range []string{"compare", "compare?by=person", "rate", "days"} {
		if status, _, body := h.ask(t, "GET", "/v1/rooting/"+path, "", "Accept", "image/svg+xml"); status != http.StatusNotAcceptable {
			t.Errorf("%s is drawn: %d, %s", path, status, body)
		}
	}
}

// The document names the types of the answers about rooting that are drawn, and of no
// others.
func TestTheDocumentNamesPictures(t *testing.T) {
	var doc struct {
		Paths map[string]map[string]struct {
			Responses map[string]struct {
				Content map[string]json.RawMessage `json:"content"`
			} `json:"responses"`
		} `json:"paths"`
	}
	if err := json.Unmarshal(document(t, openHouse(t, storetest.Open(t, store.SQLite)).door), &doc); err != nil {
		t.Fatal(err)
	}
	drawn := []string{"/v1/rooting/calibration", "/v1/rooting/curve", "/v1/rooting/fit", "/v1/rooting/forecast"}
	var named []string
	for path, operations := range doc.Paths {
		content := operations["get"].Responses["200"].Content
		if strings.HasPrefix(path, "/v1/rooting/") && content[svgType] != nil && content[pngType] != nil && content[jsonType] != nil {
			named = append(named, path)
		}
	}
	if slices.Sort(named); !slices.Equal(named, drawn) {
		t.Errorf("pictures of %v, want %v", named, drawn)
	}
}

func TestClientAsksWhatRooted(t *testing.T) {
	ctx := t.Context()
	h := rooted(t, storetest.Open(t, store.SQLite))
	pick := nursery.RootingPick{Stand: "MB-03", Treatment: "none"}
	q := nursery.RootingQuery{RootingPick: pick, By: []string{"stand"}, Drawing: stats.Drawing{Replicates: 50, Seed: 3}}
	curve, days := must(h.client.RootingCurve(ctx, q)), must(h.client.RootingDays(ctx, q))
	if len(curve.Groups) != 1 || len(days.Groups) != 1 || curve.Groups[0].Rooted != 8 || days.Groups[0].Key["stand"] != "MB-03" {
		t.Errorf("%+v, %+v", curve, days)
	}
	fit := must(h.client.RootingFit(ctx, pick, []string{"stand"}))
	if len(fit.Groups) != 1 || fit.Rooted != 8 || len(fit.Fits) != 3 {
		t.Errorf("%+v", fit)
	}
	compared := must(h.client.RootingCompare(ctx, nursery.RootingPick{}, rules.CompareAsk{By: "treatment", Reference: "Willow water", Difference: 0.2}))
	if compared.Reference != "willow water" || !compared.SideBySide || len(compared.Arms) != 2 {
		t.Errorf("%+v", compared)
	}
	_, err := h.client.RootingCompare(ctx, pick, rules.CompareAsk{By: "medium", Reference: "sand"})
	if e := models.AsError(err); e == nil || e.Code != "unknown-arm" {
		t.Errorf("%v", err)
	}
}

// Who stuck batches is compared for those who lead.
func TestPeopleAreComparedForThoseWhoLead(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		g := openGate(t, s, nil)
		g.token(models.NewToken{Name: "OP", Role: models.Coordinator})
		for _, c := range []struct {
			role   models.Role
			status int
		}{{models.Reader, 403}, {models.Volunteer, 403}, {models.Lead, 200}, {models.Coordinator, 200}} {
			token := g.token(models.NewToken{Name: "for " + string(c.role), Role: c.role, EndsOn: models.MustDate("2026-12-31")})
			w := g.ask(token, "GET", "/v1/rooting/compare?by=person", "")
			if w.Code != c.status || w.Code == 403 && codeIn(w) != "not-for-role" || w.Header().Get("Cache-Control") != "no-store" {
				t.Errorf("%s: %d %s", c.role, w.Code, w.Body)
			}
			if w := g.ask(token, "GET", "/v1/rooting/compare", ""); w.Code != 200 {
				t.Errorf("%s by treatment: %d %s", c.role, w.Code, w.Body)
			}
		}
	})
}

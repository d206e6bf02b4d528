package api

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"github.com/pb33f/libopenapi"
	validator "github.com/pb33f/libopenapi-validator"
)

func document(t *testing.T, d door) []byte {
	t.Helper()
	status, _, text := d.ask(t, "GET", "/v1/openapi.json", "")
	if status != 200 {
		t.Fatalf("%d %s", status, text)
	}
	return []byte(text)
}

func TestDocumentIsValid(t *testing.T) {
	doc, err := libopenapi.NewDocument(document(t, openDoor(t, nil)))
	if err != nil {
		t.Fatal(err)
	}
	v, errs := validator.NewValidator(doc)
	if len(errs) > 0 {
		t.Fatal(errs)
	}
	if ok, faults := v.ValidateDocument(); !ok {
		for _, fault := range faults {
			t.Error(fault.Message, fault.Reason)
		}
	}
}

// What is sent and answered is what the document says.
func TestDocumentTellsTheTruth(t *testing.T) {
	d := openDoor(t, nil)
	doc, err := libopenapi.NewDocument(document(t, d))
	if err != nil {
		t.Fatal(err)
	}
	v, errs := validator.NewValidator(doc)
	if len(errs) > 0 {
		t.Fatal(errs)
	}
	for _, c := range []struct {
		method, path, body, kind string
		ok                       bool
	}{
		{"POST", "/v1/trays", goodTray, jsonType, true},
		{"POST", "/v1/trays", strings.Replace(goodTray, "0.29", "0.00001", 1), jsonType, false},
		{"POST", "/v1/trays", strings.Replace(goodTray, "2026", "0206", 1), jsonType, false},
		{"PATCH", "/v1/trays/T-1", `{"medium":null,"filled_on":null,"share":0.29}`, jsonType, true},
		{"PATCH", "/v1/trays/T-1", `{"medium":"perlite"}`, mergeType, true},
		{"PATCH", "/v1/trays/T-1", `{"filled_on":"0206-01-01"}`, jsonType, false},
		{"GET", "/v1/trays", "", "", true},
		{"GET", "/v1/trays/full", "", "", true},
		{"GET", "/v1/trays/longname", "", "", true},
		{"GET", "/healthz", "", "", true},
	} {
		r, err := http.NewRequestWithContext(t.Context(), c.method, InProcessBase+c.path, strings.NewReader(c.body))
		if err != nil {
			t.Fatal(err)
		}
		if c.body != "" {
			r.Header.Set("Content-Type", c.kind)
		}
		if ok, faults := v.ValidateHttpRequestSync(r); ok != c.ok {
			t.Errorf("%s %s %s: by the document %v, %v", c.method, c.path, c.body, ok, faults)
		}
		r.Body, _ = r.GetBody()
		r.Header.Set("If-Match", `"1"`)
		answer, err := d.http.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		if (answer.StatusCode != http.StatusUnprocessableEntity) != c.ok && c.method != "GET" {
			t.Errorf("%s %s %s: by the server %d", c.method, c.path, c.body, answer.StatusCode)
		}
		if ok, faults := v.ValidateHttpResponse(r, answer); !ok {
			for _, fault := range faults {
				t.Errorf("%s %s: the answer is not as the document says: %s %s", c.method, c.path, fault.Message, fault.Reason)
			}
		}
		answer.Body.Close()
	}
}

// A models.Patch without its line in schemas.go would look like an object.
func TestSchemasAreOurs(t *testing.T) {
	var doc struct {
		Components struct {
			Schemas map[string]json.RawMessage `json:"schemas"`
		} `json:"components"`
	}
	if err := json.Unmarshal(document(t, openDoor(t, nil)), &doc); err != nil {
		t.Fatal(err)
	}
	for name := range doc.Components.Schemas {
		if strings.HasPrefix(name, "Patch") {
			t.Errorf("%s has no line in describeModels", name)
		}
	}
	var edit struct {
		Properties map[string]struct {
			Type       []string    `json:"type"`
			Format     string      `json:"format"`
			MultipleOf json.Number `json:"multipleOf"`
		} `json:"properties"`
	}
	if err := json.Unmarshal(doc.Components.Schemas["TrayEdit"], &edit); err != nil {
		t.Fatal(err)
	}
	for name, first := range map[string]string{"medium": "string", "filled_on": "string", "share": "number"} {
		if got := edit.Properties[name].Type; len(got) != 2 || got[0] != first || got[1] != "null" {
			t.Errorf("%s may be %v", name, got)
		}
	}
	if edit.Properties["filled_on"].Format != "date" || edit.Properties["share"].MultipleOf != "0.0001" {
		t.Errorf("an edit is described as %s", doc.Components.Schemas["TrayEdit"])
	}
}

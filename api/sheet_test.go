package api

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

const sheetPath = "/v1/stands/MB-03/sheet?on=2026-01-18&stems=24&crew=C"

// A sheet comes in the form that Accept asks for, and a problem always as one.
func TestASheetComesAsItIsAskedFor(t *testing.T) {
	h := begun(t, storetest.Open(t, store.SQLite))
	for _, c := range []struct{ accept, kind, begins string }{
		{"", jsonType, `{"nursery":`},
		{"*/*", jsonType, `{"nursery":`},
		{"application/json", jsonType, `{"nursery":`},
		{"text/plain", "text/plain; charset=utf-8", "Wrenlow Valley Native Plants: field sheet\n"},
		{"text/*;q=0.9, application/json;q=0.1", "text/plain; charset=utf-8", "Wrenlow Valley"},
		{"application/pdf", pdfType, "%PDF-1."},
		{"application/pdf, application/json;q=0.5", pdfType, "%PDF-1."},
	} {
		status, header, body := h.ask(t, "GET", sheetPath, "", "Accept", c.accept)
		if status != http.StatusOK || header.Get("Content-Type") != c.kind || !strings.HasPrefix(body, c.begins) {
			t.Errorf("Accept %q: %d, %s, %.60q", c.accept, status, header.Get("Content-Type"), body)
		}
		if header.Get("Vary") == "" {
			t.Errorf("Accept %q: the answer does not say that it varies", c.accept)
		}
	}
	for _, c := range []struct {
		accept, path, code string
		status             int
	}{
		{"application/pdf", "/v1/stands/MB-30/sheet?stems=24&crew=C", "no-such-stand", 404},
		{"text/plain", "/v1/stands/MB-03/sheet?stems=0&crew=C", "invalid", 422},
		{"application/pdf", "/v1/stands/MB-03/sheet?stems=24", "invalid", 422},
		{"application/pdf", "/v1/stands/MB-03/sheet?crew=C", "invalid", 422},
		{"application/pdf", sheetPath + "&paper=napkin", "invalid", 422},
		{"application/pdf", "/v1/stands/MB-03/sheet?stems=24&crew=%20", "invalid", 422},
		{"image/png", sheetPath, "not-acceptable", 406},
	} {
		status, header, body := h.ask(t, "GET", c.path, "", "Accept", c.accept)
		if status != c.status || header.Get("Content-Type") != problemType || !strings.Contains(body, `"code":"`+c.code+`"`) {
			t.Errorf("%s: %d, %s, %s", c.path, status, header.Get("Content-Type"), body)
		}
	}
}

func TestClientMakesSheets(t *testing.T) {
	ctx := t.Context()
	h := begun(t, storetest.Open(t, store.SQLite))
	q := nursery.SheetQuery{On: models.MustDate("2026-01-18"), Stems: 24, Crew: "Ó & co"}
	sheet := must(h.client.Sheet(ctx, "mb-03", q))
	if sheet.StopAt != 24 || sheet.Crew != q.Crew || sheet.On != q.On || sheet.Tags[3] != "Ó & co-0118-4" {
		t.Errorf("%+v", sheet)
	}
	text := must(h.client.SheetText(ctx, "mb-03", q))
	if !strings.Contains(text, "STOP AT 24 STEMS") || !strings.Contains(text, "Ó & co-0118-1") {
		t.Error(text)
	}
	a4, letter := must(h.client.SheetPDF(ctx, "mb-03", q, "")), must(h.client.SheetPDF(ctx, "mb-03", q, models.PaperLetter))
	if !strings.HasPrefix(string(a4), "%PDF-") || !strings.Contains(string(letter), "612.00 792.00") || string(a4) == string(letter) {
		t.Error("the papers are not those asked for")
	}
	_, err := h.client.SheetText(ctx, "MB-30", q)
	if e := models.AsError(err); e == nil || e.Code != "no-such-stand" {
		t.Errorf("%v", err)
	}
	_, err = h.client.SheetPDF(ctx, "mb-03", nursery.SheetQuery{Stems: 24}, "")
	if e := models.AsError(err); e == nil || e.Fields[0].Name != "crew" || e.Fields[0].Detail != "is missing" {
		t.Errorf("%v", err)
	}
}

func TestClientEntersTheCutsOfOthers(t *testing.T) {
	ctx := t.Context()
	h := begun(t, storetest.Open(t, store.SQLite))
	req := models.NewOthersCut{From: models.MustDate("2026-01-03"), To: models.MustDate("2026-01-05"), Low: 5, High: 40, CutBy: "not known", Evidence: "cut stubs"}
	before := must(h.client.Allowance(ctx, "MB-03", nursery.AllowanceQuery{}))
	cut := must(h.client.AddOthersCut(ctx, "MB-03", req))
	after := must(h.client.Allowance(ctx, "MB-03", nursery.AllowanceQuery{}))
	if cut.High != 40 || len(cut.Warnings) != 1 || after.Taken != before.Taken+40 || after.Allowed != 0 {
		t.Errorf("%+v, then %d taken and %d allowed", cut, after.Taken, after.Allowed)
	}
	req.High = 4
	_, err := h.client.AddOthersCut(ctx, "MB-03", req)
	if e := models.AsError(err); e == nil || e.Fields[0].Name != "low" {
		t.Errorf("%v", err)
	}
	if list := all(t, h.client.OthersCuts(ctx, "mb-03")); len(list) != 1 || list[0].ID != cut.ID {
		t.Errorf("%+v", list)
	}
}

func TestClientReadsTheRecordOfChanges(t *testing.T) {
	h := begun(t, storetest.Open(t, store.SQLite))
	for i := range 5 {
		must(h.client.AddTaxon(t.Context(), models.NewTaxon{ScientificName: fmt.Sprintf("Rosa no%d", i)}))
	}
	changes := all(t, h.client.Changes(t.Context(), "", 0))
	if changes[0].Request != "POST /v1/taxa" || changes[0].Role != models.Coordinator || changes[0].RequestID == "" {
		t.Errorf("%+v", changes[0])
	}
	edits, wantEdits, want := 0, 0, 5
	for _, step := range beginning {
		if step.method != http.MethodGet && step.status < 300 {
			want++
		}
		if step.method == http.MethodPatch && step.status < 300 {
			wantEdits++
		}
	}
	for _, c := range changes {
		if strings.HasPrefix(c.Request, "PATCH ") {
			edits++
			if len(c.Detail) == 0 {
				t.Errorf("%s says nothing of what it changed", c.Request)
			}
		}
	}
	if edits != wantEdits || len(changes) != want {
		t.Errorf("%d edits in %d changes, want %d in %d", edits, len(changes), wantEdits, want)
	}
	if few := all(t, h.client.Changes(t.Context(), changes[0].MadeBy, 3)); len(few) != 3 {
		t.Errorf("%d changes, want 3", len(few))
	}
	if none := all(t, h.client.Changes(t.Context(), "nobody", 0)); len(none) != 0 {
		t.Errorf("%+v", none)
	}
}

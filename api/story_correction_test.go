package api

import (
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// correcting is the part of the story in which what was entered wrongly is put right.
var correcting = []step{
	{name: "correct", method: "POST", path: "/v1/batches/MB-03-2025-1/corrections", status: 201, etag: `"10"`, location: "/v1/batches/MB-03-2025-1",
		body: `{"changes":{"stems_cut":19,"collected_by":"TS","note":null,"length_cm":22.5},"why":"counted again from the bundle","by":"OP","version":9}`},
	{name: "correct_entry", method: "POST", path: "/v1/batches/mb-03-2025-1/corrections", status: 201, etag: `"11"`,
		body: `{"entry":7,"changes":{"lost":{"mould":1,"rotted_base":1},"method":null},"why":"one more was rotted","by":"OP"}`},
	{name: "correct_entry_void", method: "POST", path: "/v1/batches/MB-03-2025-1/corrections", status: 201, etag: `"12"`, body: `{"entry":9,"void":true,"why":"decided about another tray"}`},
	{name: "correct_refused", method: "POST", path: "/v1/batches/MB-03-2025-1/corrections", status: 409, body: `{"changes":{"stems_cut":90},"why":"a slip"}`},
	{name: "determine", method: "POST", path: "/v1/batches/MB-03-2025-1/determinations", status: 201, etag: `"13"`,
		body: `{"taxon":"salix scouleriana","on":"2026-01-17","by":"OP","qualifier":"cf.","note":"buds with one scale"}`},
	{name: "determined_sister", method: "GET", path: "/v1/batches/MB-03-2025-2", status: 200, etag: `"3"`},
	{name: "void", method: "POST", path: "/v1/batches/RS-1-2026-2/voids", status: 201, etag: `"2"`, body: `{"why":"logged twice","by":"OP"}`},
	{name: "void_again", method: "POST", path: "/v1/batches/RS-1-2026-2/voids", status: 409, body: `{"why":"logged twice"}`},
	{name: "batches_void", method: "GET", path: "/v1/batches?void=true", status: 200},
	{name: "survey_corrected_of_none", method: "POST", path: "/v1/stands/RS-1/surveys/s-1/corrections", status: 404, body: `{"void":true,"why":"it was the stand upstream"}`},
	{name: "stand_corrected_of_none", method: "POST", path: "/v1/stands/RS-1/corrections", status: 422, body: `{"subject":"others_cut","subject_id":"o-1","why":"they were ours"}`},
	{name: "corrections", method: "GET", path: "/v1/stands/MB-03/corrections?limit=2", status: 200},
	{name: "ledger_corrected", method: "GET", path: "/v1/stands/MB-03/ledger?limit=2", status: 200},
}

// A survey is corrected through the client by its identifier, and what is kept of a
// stand is voided.
func TestRecordsOfStandsAreCorrectedThroughTheDoor(t *testing.T) {
	h := begun(t, storetest.Open(t, store.SQLite))
	ctx := t.Context()
	count := func(stems int) *models.NewSurvey {
		return &models.NewSurvey{SurveyedOn: models.MustDate("2026-01-02"), Method: models.Census, Stems: &stems, SurveyedBy: "OP"}
	}
	first, err := h.client.AddSurvey(ctx, "MB-03", *count(610))
	if err != nil {
		t.Fatal(err)
	}
	corrected, err := h.client.CorrectSurvey(ctx, "MB-03", first.ID, models.NewSurveyCorrection{Survey: count(601), Why: "two figures were swapped", By: "OP"})
	if err != nil || corrected.Survey == nil || *corrected.ReplacedBy != corrected.Survey.ID || corrected.Survey.Estimate != 601 || corrected.Subject != models.OfSurvey {
		t.Fatalf("%+v, %v", corrected, err)
	}
	_, err = h.client.CorrectSurvey(ctx, "MB-03", first.ID, models.NewSurveyCorrection{Void: true, Why: "again"})
	if e := models.AsError(err); e == nil || e.Kind != models.Conflict || e.Code != "corrected-already" || !strings.Contains(e.Detail, corrected.Survey.ID) {
		t.Errorf("%v", err)
	}
	cut, err := h.client.AddOthersCut(ctx, "MB-03", models.NewOthersCut{From: models.MustDate("2026-01-03"), To: models.MustDate("2026-01-05"), High: 12, CutBy: "weavers", Evidence: "stubs"})
	if err != nil {
		t.Fatal(err)
	}
	void, err := h.client.CorrectStand(ctx, "MB-03", models.NewStandCorrection{Subject: models.OfOthersCut, SubjectID: cut.ID, Why: "they were beaver stubs", By: "OP"})
	if err != nil || !void.Void || void.Before["high"] != 12.0 {
		t.Fatalf("%+v, %v", void, err)
	}
	var told []string
	for c, err := range h.client.Corrections(ctx, "MB-03") {
		if err != nil {
			t.Fatal(err)
		}
		told = append(told, string(c.Subject)+" "+c.Why)
	}
	if strings.Join(told, "; ") != "others_cut they were beaver stubs; survey two figures were swapped" {
		t.Errorf("the corrections are %q", told)
	}
	for s, err := range h.client.Surveys(ctx, "MB-03") {
		if err != nil || s.ID == first.ID && s.ReplacedBy != corrected.Survey.ID {
			t.Errorf("%+v, %v", s, err)
		}
	}
}

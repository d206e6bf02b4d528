package api

import (
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// The beginning of the story leaves 33 stems to be cut at MB-03.
func TestClientSetsSharesAside(t *testing.T) {
	ctx := t.Context()
	h := begun(t, storetest.Open(t, store.SQLite))
	today := models.MustDate("2026-01-17")
	req := models.NewShare{Crew: "The Weavers", Stems: 20, From: today, To: today.Add(2), By: "OP"}
	share := must(h.client.AddShare(ctx, "mb-03", req))
	if share.Stand != "MB-03" || share.Left != 20 || share.LogUntil != today.Add(9) || share.Leave == "" {
		t.Errorf("%+v", share)
	}
	if got := must(h.client.Allowance(ctx, "MB-03", nursery.AllowanceQuery{})); got.Allowed != 13 || got.SetAside != 20 || got.Taken != 20 {
		t.Errorf("%d are allowed, %d set aside", got.Allowed, got.SetAside)
	}
	_, err := h.client.AddShare(ctx, "MB-03", models.NewShare{Crew: "D", Stems: 14, From: today, To: today})
	if e := models.AsError(err); e == nil || e.Kind != models.Refused || e.Code != "over-allowance" || *e.Allowed != 13 || e.Binding.Code != "stand" {
		t.Errorf("%v", err)
	}
	batch := must(h.client.LogBatch(ctx, models.NewBatch{
		Stand: "MB-03", CollectedOn: today, StemsCut: 14, Cuttings: 42, CollectedBy: "RQ", Share: "the weavers",
	}))
	if batch.ToReview || batch.Crew != "The Weavers" {
		t.Errorf("%+v", batch)
	}
	if held := all(t, h.client.HeldShares(ctx)); len(held) != 1 || held[0].Left != 6 || held[0].Drawn != 14 {
		t.Errorf("%+v", held)
	}
	back := must(h.client.ReturnShare(ctx, "MB-03", "The Weavers", models.NewShareReturn{By: "RQ"}))
	if back.Returned != 6 || back.EndedOn != today {
		t.Errorf("%+v", back)
	}
	for share, code := range map[string]string{share.ID: "share-ended", "The Weavers": "no-such-share"} {
		_, err := h.client.ReturnShare(ctx, "MB-03", share, models.NewShareReturn{By: "RQ"})
		if e := models.AsError(err); e == nil || e.Code != code {
			t.Errorf("%s: %v", share, err)
		}
	}
	if list := all(t, h.client.Shares(ctx, "MB-03")); len(list) != 1 || list[0].Returned != 6 || list[0].Left != 0 {
		t.Errorf("%+v", list)
	}
}

// What a share asks for is looked at before anything is set aside.
func TestSharesThatCannotBeRead(t *testing.T) {
	h := begun(t, storetest.Open(t, store.SQLite))
	before := h.holds(t)
	for _, c := range []struct {
		path, body, code string
		status           int
	}{
		{"/v1/stands/MB-03/shares", `{"crew":"C","stems":5,"from":"2026-01-18"}`, "invalid", 422},
		{"/v1/stands/MB-03/shares", `{"crew":"` + strings.Repeat("x", 25) + `","stems":5,"from":"2026-01-18","to":"2026-01-19"}`, "invalid", 422},
		{"/v1/stands/MB-03/shares", `{"crew":"C","stems":0,"from":"2026-01-18","to":"2026-01-19"}`, "invalid", 422},
		{"/v1/stands/MB-03/shares", `{"crew":"C","stems":5,"from":"2026-01-18","to":"2026-01-17"}`, "out-of-order", 422},
		{"/v1/stands/MB-03/shares", `{"crew":"C","stems":5,"from":"2025-09-11","to":"2026-01-19"}`, "before-first-survey", 422},
		{"/v1/stands/RS-1/shares", `{"crew":"C","stems":5,"from":"2026-01-18","to":"2026-01-19"}`, "parents-missing", 422},
		{"/v1/stands/MB-30/shares", `{"crew":"C","stems":5,"from":"2026-01-18","to":"2026-01-19"}`, "no-such-stand", 404},
		{"/v1/stands/MB-03/shares", `{"crew":"C","stems":34,"from":"2026-01-18","to":"2026-01-19"}`, "over-allowance", 409},
		{"/v1/stands/MB-03/shares/C/returns", `{"by":"RQ"}`, "no-such-share", 404},
		{"/v1/stands/MB-03/shares/C/returns", `{}`, "invalid", 422},
		{"/v1/batches", batchWith(`"share":"C"`), "share-misfit", 422},
	} {
		status, _, body := h.ask(t, "POST", c.path, c.body)
		if status != c.status || !strings.Contains(body, `"code":"`+c.code+`"`) {
			t.Errorf("%s %s: %d %s", c.path, c.body, status, body)
		}
	}
	if after := h.holds(t); after != before {
		t.Errorf("changed from\n%s\nto\n%s", before, after)
	}
}

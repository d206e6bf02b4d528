package api

import (
	"slices"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// another is a body of the same form that says something else.
func another(body string) string {
	if body == "" || body == "{}" {
		return `{"on":"2025-12-01"}`
	}
	for _, words := range [][2]string{{"2025-", "2024-"}, {"2026-", "2025-"}, {`name":"`, `name":"X`}, {`reason":"`, `reason":"X`}, {`why":"`, `why":"X`}} {
		if strings.Contains(body, words[0]) {
			return strings.ReplaceAll(body, words[0], words[1])
		}
	}
	return ""
}

// Every POST under a key is done once: sent again it is answered as the first
// time, and another request under its key is refused.
func TestEveryPostIsDoneOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := openHouse(t, s)
		for i, step := range slices.Concat(beginning, working) {
			headers := slices.Concat(step.headers, []string{"Idempotency-Key", "k-" + strings.Repeat("i", i+1)})
			status, header, body := h.ask(t, step.method, step.path, step.body, headers...)
			if status != step.status {
				t.Fatalf("%s: %d %s", step.name, status, body)
			}
			if step.method != "POST" {
				continue
			}
			before := h.holds(t)
			againStatus, againHeader, again := h.ask(t, step.method, step.path, step.body, headers...)
			if againStatus != status || again != body || againHeader.Get("ETag") != header.Get("ETag") || againHeader.Get("Location") != header.Get("Location") {
				t.Errorf("%s: again %d %v\n%s\nafter %d %v\n%s", step.name, againStatus, againHeader, again, status, header, body)
			}
			if strings.HasSuffix(step.path, "/erasures") { // there is one such request only
				continue
			}
			otherStatus, _, other := h.ask(t, step.method, step.path, another(step.body), headers...)
			if otherStatus != 409 || !strings.Contains(other, "/problems/key-reused") {
				t.Errorf("%s: another request under the key: %d %s", step.name, otherStatus, other)
			}
			if after := h.holds(t); after != before {
				t.Errorf("%s: changed from\n%s\nto\n%s", step.name, before, after)
			}
		}
	})
}

// A key belongs to one route with the names in its path.
func TestKeysBelongToTheirRoute(t *testing.T) {
	h := begun(t, storetest.Open(t, store.SQLite))
	for _, path := range []string{"/v1/stands/MB-03/disturbances", "/v1/stands/RS-1/disturbances"} {
		if status, _, body := h.ask(t, "POST", path, `{"on":"2026-01-03","kind":"fire"}`, "Idempotency-Key", "k"); status != 201 {
			t.Errorf("%s: %d %s", path, status, body)
		}
	}
}

// What is refused is not remembered: the same key may carry the request that is
// put right.
func TestRefusalsAreNotRemembered(t *testing.T) {
	h := begun(t, storetest.Open(t, store.SQLite))
	for _, c := range []struct {
		body   string
		status int
	}{
		{batchWith(`"stems_cut":34`), 409},
		{batchWith(`"stems_cut":34`), 409},
		{batchWith(`"collected_on":"2026-01-19"`), 422},
		{batchWith(`"stand":"MB-30"`), 422},
		{batchWith(`"stems_cut":33`), 201},
		{batchWith(`"stems_cut":33`), 201},
		{batchWith(`"stems_cut":34`), 409},
	} {
		if status, _, body := h.ask(t, "POST", "/v1/batches", c.body, "Idempotency-Key", "k"); status != c.status {
			t.Errorf("%s: %d %s", c.body, status, body)
		}
	}
	if n := len(all(t, h.client.Ledger(t.Context(), "MB-03", models.Date{}))); n != 1 {
		t.Errorf("%d entries in the ledger", n)
	}
}

// Of two edits of one version the first counts.
func TestSecondEditIsStale(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := begun(t, s)
		for path, body := range map[string]string{"/v1/nursery": `{"name":"A"}`, dogwood: `{"family":"A"}`, "/v1/stands/MB-03": `{"place":"A"}`} {
			_, header, _ := h.ask(t, "GET", path, "")
			for i, want := range []int{200, 412} {
				status, _, answer := h.ask(t, "PATCH", path, body, "If-Match", header.Get("ETag"), "Content-Type", mergeType)
				if status != want {
					t.Errorf("%s, edit %d: %d %s", path, i+1, status, answer)
				}
			}
		}
	})
}

// The next page asks for what the first asked for.
func TestNextPageKeepsTheFilters(t *testing.T) {
	h := begun(t, storetest.Open(t, store.SQLite))
	for _, step := range working[:3] {
		h.ask(t, step.method, step.path, step.body)
	}
	var codes []string
	for batch, err := range pages[models.BatchSummary](t.Context(), h.client, "/v1/batches", asking("stand", "MB-03", "limit", "1", "from", "2025-11-01")) {
		if err != nil || batch.Stand != "MB-03" {
			t.Fatalf("%+v %v", batch, err)
		}
		codes = append(codes, batch.Code)
	}
	if !slices.Equal(codes, []string{"MB-03-2026-1", "MB-03-2025-1"}) {
		t.Errorf("%v", codes)
	}
}

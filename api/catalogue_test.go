package api

import (
	"regexp"
	"strings"
	"testing"

	"withybed/models"
)

func TestCatalogueIsWhole(t *testing.T) {
	plain := regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)
	parts := len(requestProblems) + len(serverProblems) + len(accessProblems) + len(nameProblems) + len(peopleProblems) + len(harvestProblems) + len(restProblems) + len(shareProblems) + len(permitProblems) + len(recordProblems) + len(correctionProblems) + len(landProblems)
	if parts != len(Catalogue) {
		t.Errorf("%d codes in the parts, %d together: one stands twice", parts, len(Catalogue))
	}
	for code, entry := range Catalogue {
		if !plain.MatchString(code) {
			t.Errorf("%q is not a plain code", code)
		}
		if _, ok := statuses[entry.Kind]; !ok {
			t.Errorf("%s has the kind %q", code, entry.Kind)
		}
		for _, text := range []string{entry.Title, entry.Meaning, entry.Next} {
			if text == "" || text != strings.TrimSpace(text) {
				t.Errorf("%s lacks words: %+v", code, entry)
			}
		}
		if strings.HasPrefix(code, "no-such-") != (entry.Kind == models.NotFound && code != "method-not-allowed") {
			t.Errorf("%s is of kind %s: what a path names is no-such-", code, entry.Kind)
		}
		if strings.HasPrefix(code, "unknown-") && entry.Kind != models.Unknown && entry.Kind != models.Invalid {
			t.Errorf("%s is of kind %s", code, entry.Kind)
		}
	}
}

func TestEveryKindHasAStatus(t *testing.T) {
	for _, kind := range []models.Kind{models.Malformed, models.Invalid, models.NotFound, models.Unknown, models.Refused,
		models.Conflict, models.Stale, models.Unguarded, models.Forbidden, models.Unavailable, models.Internal} {
		if p := newProblem(t.Context(), &models.Error{Kind: kind, Code: "x"}); p.Status < 400 || p.Kind != kind {
			t.Errorf("%s is answered with %d as %s", kind, p.Status, p.Kind)
		}
	}
}

func TestOddErrorsStillHaveAProblem(t *testing.T) {
	for _, c := range []struct {
		err    models.Error
		status int
	}{
		{models.Error{Kind: models.Refused, Code: "not-in-the-catalogue"}, 409},
		{models.Error{Kind: models.Conflict, Code: "too-large"}, 409},
		{models.Error{Kind: "never heard of", Code: "x"}, 500},
	} {
		if p := newProblem(t.Context(), &c.err); p.Status != c.status || p.Title == "" {
			t.Errorf("%+v: %+v", c.err, p)
		}
	}
}

package api

import (
	"encoding/json"
	"regexp"
	"strings"
	"testing"
)

// described is an operation of the OpenAPI document.
type described struct {
	id, method string
	path       *regexp.Regexp
}

func (d described) is(method, path string) bool { return d.method == method && d.path.MatchString(path) }

var pathParameter = regexp.MustCompile(`\\\{[a-z]+\\\}`)

func operationsOf(t *testing.T, text []byte) []described {
	t.Helper()
	var doc struct {
		Paths map[string]map[string]struct {
			OperationID string `json:"operationId"`
		} `json:"paths"`
	}
	if err := json.Unmarshal(text, &doc); err != nil {
		t.Fatal(err)
	}
	var all []described
	for path, methods := range doc.Paths {
		pattern := "^" + pathParameter.ReplaceAllString(regexp.QuoteMeta(path), `[^/]+`) + "$"
		for method, op := range methods {
			all = append(all, described{op.OperationID, strings.ToUpper(method), regexp.MustCompile(pattern)})
		}
	}
	return all
}

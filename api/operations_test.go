package api

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// described is an operation of the OpenAPI document.
type described struct {
	id, method string
	path       *regexp.Regexp
}

func (d described) is(method, path string) bool {
	return d.method == method && d.path.MatchString(path)
}

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

// callClient calls a method of the client with a name for every name, and zero
// values otherwise, and reads a list to its end.
func callClient(t *testing.T, c *Client, method reflect.Method) {
	t.Helper()
	args := []reflect.Value{reflect.ValueOf(c), reflect.ValueOf(t.Context())}
	for i := 2; i < method.Type.NumIn(); i++ {
		arg := reflect.New(method.Type.In(i)).Elem()
		switch {
		case arg.Kind() == reflect.String:
			arg.SetString("a b")
		case arg.Type() == reflect.TypeFor[models.Date]():
			arg.Set(reflect.ValueOf(models.MustDate("2026-01-12")))
		}
		args = append(args, arg)
	}
	if list := method.Func.Call(args)[0]; list.Kind() == reflect.Func {
		for range list.Seq2() {
		}
	}
}

type deaf func(*http.Request) (*http.Response, error)

func (d deaf) RoundTrip(r *http.Request) (*http.Response, error) { return d(r) }

// Every operation has a method of the client, and every method calls an
// operation that there is.
func TestClientKnowsEveryOperation(t *testing.T) {
	h := openHouse(t, storetest.Open(t, store.SQLite))
	calls := map[string]bool{"health": true, "ready": true}
	caller := ""
	c := NewClient(InProcessBase, &http.Client{Transport: deaf(func(r *http.Request) (*http.Response, error) {
		i := slices.IndexFunc(h.operations, func(op described) bool { return op.is(r.Method, r.URL.EscapedPath()) })
		if i < 0 {
			t.Errorf("%s calls %s %s, which is no route", caller, r.Method, r.URL)
			return nil, io.EOF
		}
		calls[h.operations[i].id] = true
		return nil, io.EOF
	})}, func() string { return "k" })
	client := reflect.TypeFor[*Client]()
	for i := range client.NumMethod() {
		method := client.Method(i)
		if method.Type.NumIn() < 2 || method.Type.In(1) != reflect.TypeFor[context.Context]() || method.Name == "Repeat" {
			continue // to repeat a request goes to wherever it went
		}
		caller = method.Name
		callClient(t, c, method)
	}
	for _, op := range h.operations {
		if !calls[op.id] {
			t.Errorf("no method of the client calls %s", op.id)
		}
	}
}

// Every operation of the table has its words, and every word its operation; the
// problems they name are in the catalogue.
func TestOperationsHaveWords(t *testing.T) {
	h := openHouse(t, storetest.Open(t, store.SQLite))
	known := map[string]bool{"health": true, "ready": true}
	for id, told := range operations {
		known[id] = true
		if told.summary == "" || told.description == "" || told.answer == "" {
			t.Errorf("%s lacks words: %+v", id, told)
		}
		for _, code := range strings.Fields(told.problems) {
			if _, ok := Catalogue[code]; !ok {
				t.Errorf("%s names the problem %s, which is not in the catalogue", id, code)
			}
		}
	}
	for _, op := range h.operations {
		if !known[op.id] {
			t.Errorf("%s has no words", op.id)
		}
		delete(known, op.id)
	}
	for id := range known {
		t.Errorf("there are words about %s, which is no operation", id)
	}
}

// Everything in the document is described, and the fields of every request have
// examples.
func TestDocumentDescribesEverything(t *testing.T) {
	h := openHouse(t, storetest.Open(t, store.SQLite))
	var doc map[string]any
	if err := json.Unmarshal(document(t, h.door), &doc); err != nil {
		t.Fatal(err)
	}
	lookFor(t, "", doc)
}

// lookFor walks the document for places that want words and have none.
func lookFor(t *testing.T, at string, value any) {
	switch value := value.(type) {
	case []any:
		for i, item := range value {
			lookFor(t, fmt.Sprint(at, "/", i), item)
		}
	case map[string]any:
		_, named := value["in"]
		_, answer := value["content"]
		if (named || answer) && value["description"] == nil && !strings.HasSuffix(at, "/requestBody") {
			t.Errorf("%s is not described", at)
		}
		if properties, ok := value["properties"].(map[string]any); ok {
			wantDescribed(t, at, properties)
		}
		for name, item := range value {
			if name != "examples" && name != "example" {
				lookFor(t, at+"/"+name, item)
			}
		}
	}
}

var requestSchema = regexp.MustCompile(`/schemas/(New\w+|\w+Edit|Arm|Plots|Clumps|Closure)$`)

func wantDescribed(t *testing.T, at string, properties map[string]any) {
	for name, property := range properties {
		field, ok := property.(map[string]any)
		if !ok {
			continue
		}
		if field["description"] == nil {
			t.Errorf("%s of %s is not described", name, at)
		}
		_, refers := field["$ref"]
		items, _ := field["items"].(map[string]any)
		if requestSchema.MatchString(at) && field["examples"] == nil && !refers && items["$ref"] == nil {
			t.Errorf("%s of %s has no example", name, at)
		}
	}
}

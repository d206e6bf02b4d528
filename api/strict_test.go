package api

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
)

func nested(n int) string { return strings.Repeat("[", n) + strings.Repeat("]", n) }

func TestBodyFaults(t *testing.T) {
	d := openDoor(t, func(d *Deps) { d.BodyLimit = 400 })
	want := goldenAnswers(t, "bodies")
	tray := func(more string) string { return `{"code":"T-1","filled_on":"2026-01-17","cells":72` + more + `}` }
	for _, c := range []struct {
		name, body string
		status     int
	}{
		{"empty", " ", 400},
		{"broken", `{"code":"T-1",}`, 400},
		{"broken_on_line_2", "{\n  \"code\": T-1}", 400},
		{"cut_off", `{"code":"T-1"`, 400},
		{"two_values", tray("") + tray(""), 400},
		{"words_after", tray("") + " and more", 400},
		{"key_twice", tray(`,"cells":73`), 400},
		{"key_twice_deep", tray(`,"rows":[{"count":1},{"count":1,"count":2}]`), 400},
		{"not_utf8", "{\"code\":\"T-\xff\"}", 400},
		{"nul", `{"code":"T-\u0000"}`, 400},
		{"deep", tray(`,"rows":` + nested(32)), 400},
		{"far_too_large_number", tray(`,"share":1e400`), 400},
		{"too_large", tray(`,"medium":"` + strings.Repeat("x", 400) + `"`), 413},

		{"null", `null`, 422},
		{"a_list", `[]`, 422},
		{"missing", `{}`, 422},
		{"unknown_fields", tray(`,"sells":3,"Cells":4`), 422},
		{"wrong_types", `{"code":7,"filled_on":[],"cells":"many","rows":{}}`, 422},
		{"missing_deep", tray(`,"rows":[{"count":1},{"until":"2026-02-30"}]`), 422},
		{"year_0206", `{"code":"T-1","filled_on":"0206-01-17","cells":72}`, 422},
		{"day_31_june", `{"code":"T-1","filled_on":"2026-06-31","cells":72}`, 422},
		{"empty_day", `{"code":"T-1","filled_on":"","cells":72}`, 422},
		{"negative", `{"code":"T-1","filled_on":"2026-01-17","cells":-4}`, 422},
		{"absurd", `{"code":"T-1","filled_on":"2026-01-17","cells":10000001}`, 422},
		{"half", `{"code":"T-1","filled_on":"2026-01-17","cells":7.5}`, 422},
		{"whole_with_point", `{"code":"T-1","filled_on":"2026-01-17","cells":7.0}`, 422},
		{"count_beyond_int", tray(`,"rows":[{"count":1},{"count":9223372036854775808}]`), 422},
		{"enum", tray(`,"medium":"mud"`), 422},
		{"five_places", tray(`,"share":0.12345`), 422},
		{"two_misfits", tray(`,"share":0.12345,"rows":[{"count":1.0}]`), 422},
		{"long_value", tray(`,"medium":"` + strings.Repeat("x", 200) + `"`), 422},
	} {
		t.Run(c.name, func(t *testing.T) {
			status, header, body := d.ask(t, "POST", "/v1/trays", c.body, "X-Request-Id", "r-1")
			if status != c.status || header.Get("Content-Type") != problemType {
				t.Errorf("status %d, want %d", status, c.status)
			}
			want.hold(t, c.name, body)
		})
	}
}

func TestPatchFaults(t *testing.T) {
	d := openDoor(t, nil)
	for body, field := range map[string]string{
		`{"filled_on":"2026-02-30"}`:     "filled_on",
		`{"medium":7}`:                   "medium",
		`{"medium":"longer than it is"}`: "medium",
		`{"share":0.12345}`:              "share",
		`{"colour":"red"}`:               "colour",
	} {
		status, _, text := d.ask(t, "PATCH", "/v1/trays/T-1", body, "If-Match", `"1"`)
		var p Problem
		if err := json.Unmarshal([]byte(text), &p); err != nil {
			t.Fatal(err)
		}
		if status != 422 || p.Code != "invalid" || len(p.Errors) != 1 || p.Errors[0].Name != field {
			t.Errorf("%s: %d %s", body, status, text)
		}
	}
}

func TestBodyOfExactlyTheLimit(t *testing.T) {
	limit := int64(len(goodTray))
	d := openDoor(t, func(d *Deps) { d.BodyLimit = limit })
	if status, _, text := d.ask(t, "POST", "/v1/trays", goodTray); status != 201 {
		t.Errorf("a body of the limit: %d %s", status, text)
	}
	if status, _, text := d.ask(t, "POST", "/v1/trays", goodTray+" "); status != 413 {
		t.Errorf("a body one byte longer: %d %s", status, text)
	}
}

func TestStrictKeepsNumbers(t *testing.T) {
	for text, want := range map[string]any{
		`9007199254740993`: int64(9007199254740993),
		`-4`:               int64(-4),
		`0.29`:             0.29,
		`1e3`:              1000.0,
		`"a"`:              "a",
		`null`:             nil,
		`[1,{"b":true}]`:   []any{int64(1), map[string]any{"b": true}},
	} {
		got, err := readStrict([]byte(text))
		if err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%s read as %#v, %v", text, got, err)
		}
	}
	if _, err := readStrict([]byte(nested(deepest))); err != nil {
		t.Errorf("%d deep: %v", deepest, err)
	}
}

// FuzzStrict holds the strict reader against the standard one: what it takes,
// the other takes too and means the same; what only it refuses has a fault that
// the other overlooks; and it says where.
func FuzzStrict(f *testing.F) {
	for _, seed := range []string{`{}`, goodTray, `{"a":1,"a":2}`, `{"a":{"b":[1,2.5,1e400]}}`, `[] []`, "\"\xff\"", `"\u0000"`, `"\ud800"`, nested(40), " {\"a\"\n:nul}"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		var got any
		err := unmarshalStrict(data, &got)
		var plain any
		plainErr := json.Unmarshal(data, &plain)
		if err != nil {
			faults, ok := unpack(err.Error())
			if !ok || len(faults) == 0 || faults[0].Detail == "" {
				t.Fatalf("refused without saying why: %v", err)
			}
			return
		}
		if plainErr != nil {
			t.Fatalf("took what is not JSON: %v", plainErr)
		}
		again, err := json.Marshal(got)
		if err != nil {
			t.Fatal(err)
		}
		var second any
		if err := json.Unmarshal(again, &second); err != nil || !reflect.DeepEqual(plain, second) {
			t.Fatalf("%s became %s: %v", data, again, err)
		}
	})
}

// FuzzMisfits looks for bodies whose misfits cannot be told.
func FuzzMisfits(f *testing.F) {
	f.Add([]byte(goodTray))
	f.Add([]byte(`{"rows":[{"count":1.0},{"until":"x"}],"share":"0.5","filled_on":7}`))
	f.Add([]byte(`{"rows":{"count":[]}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		if _, err := readStrict(data); err != nil {
			return
		}
		err := unmarshalStrict(data, &newTray{})
		if err == nil {
			return
		}
		faults, ok := unpack(err.Error())
		if !ok || len(faults) == 0 {
			t.Fatalf("no faults in %q", err)
		}
		for _, fault := range faults {
			if strings.Contains(fault.Detail, "Go ") || strings.Contains(fault.Detail, "json:") || fault.Name == "" {
				t.Fatalf("%+v", fault)
			}
		}
	})
}

func TestDuplicateKeysAreNamed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.StringMatching(`[a-z]{1,8}`).Filter(func(s string) bool { return s != "between" }).Draw(t, "name")
		depth := rapid.IntRange(0, 20).Draw(t, "depth")
		body := strings.Repeat(`{"in":`, depth) + fmt.Sprintf(`{%q:1,"between":2,%q:3}`, name, name) + strings.Repeat("}", depth)
		_, err := readStrict([]byte(body))
		if err == nil {
			t.Fatalf("took %s", body)
		}
		faults, _ := unpack(err.Error())
		want := strings.Repeat("in.", depth) + name
		if len(faults) != 1 || faults[0].Name != want {
			t.Fatalf("%s: %+v", body, faults)
		}
	})
}

func TestShortenedShowsNoBodies(t *testing.T) {
	long := strings.Repeat("é", 200)
	got := shortened([]models.Field{
		{Name: "a", Value: long}, {Name: "b", Value: map[string]any{"c": 1}}, {Name: "d", Value: []int{1}},
		{Name: "e", Value: models.MustDate("2026-01-17")}, {Name: "f", Value: -4}, {Name: "g", Value: struct{ Secret string }{"x"}},
	})
	text, err := json.Marshal(got)
	if err != nil {
		t.Fatal(err)
	}
	want := `[{"name":"a","detail":"","value":"` + strings.Repeat("é", 79) + `…"},{"name":"b","detail":""},{"name":"d","detail":""},` +
		`{"name":"e","detail":"","value":"2026-01-17"},{"name":"f","detail":"","value":-4},{"name":"g","detail":""}]`
	if string(text) != want {
		t.Errorf("got  %s\nwant %s", text, want)
	}
}

package models

import (
	"encoding/json"
	"testing"

	"pgregory.net/rapid"
)

type patchOfThree struct {
	Name  Patch[string]  `json:"name,omitzero"`
	On    Patch[Date]    `json:"on,omitzero"`
	Share Patch[Decimal] `json:"share,omitzero"`
}

func TestPatchTellsAbsentNullAndValueApart(t *testing.T) {
	for _, c := range []struct {
		text               string
		isSet, isNull      bool
		value, afterBefore string
	}{
		{`{}`, false, false, "", "before"},
		{`{"name":null}`, true, true, "", ""},
		{`{"name": null }`, true, true, "", ""},
		{`{"name":""}`, true, false, "", ""},
		{`{"name":"Long Bar"}`, true, false, "Long Bar", "Long Bar"},
	} {
		var p patchOfThree
		if err := json.Unmarshal([]byte(c.text), &p); err != nil {
			t.Fatalf("%s: %v", c.text, err)
		}
		got := p.Name
		if got.IsSet() != c.isSet || got.IsNull() != c.isNull || got.Value != c.value || got.Or("before") != c.afterBefore {
			t.Errorf("%s: set %v null %v value %q or %q", c.text, got.IsSet(), got.IsNull(), got.Value, got.Or("before"))
		}
		if p.On.IsSet() || p.Share.IsSet() {
			t.Errorf("%s: sets fields it does not name", c.text)
		}
	}
}

func TestPatchReadsWithItsTypesOwnRules(t *testing.T) {
	var p patchOfThree
	if err := json.Unmarshal([]byte(`{"on":"2026-01-17","share":0.29}`), &p); err != nil {
		t.Fatal(err)
	}
	if p.On.Value != MustDate("2026-01-17") || p.Share.Value != MustDecimal("0.29") {
		t.Errorf("read %v and %v", p.On.Value, p.Share.Value)
	}
	for _, bad := range []string{`{"on":"0206-01-17"}`, `{"on":7}`, `{"share":0.12345}`, `{"name":[]}`} {
		if err := json.Unmarshal([]byte(bad), &p); err == nil {
			t.Errorf("%s was read", bad)
		}
	}
}

func TestPatchRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var before patchOfThree
		switch rapid.IntRange(0, 2).Draw(t, "state") {
		case 1:
			before.Name = SetNull[string]()
		case 2:
			before.Name = SetTo(rapid.String().Draw(t, "name"))
		}
		text, err := json.Marshal(before)
		if err != nil {
			t.Fatal(err)
		}
		var after patchOfThree
		if err := json.Unmarshal(text, &after); err != nil {
			t.Fatal(err)
		}
		if after != before {
			t.Fatalf("%+v became %+v over %s", before, after, text)
		}
	})
}

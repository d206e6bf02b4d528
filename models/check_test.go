package models

import (
	"encoding/json"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestLossesAreReadInEitherSpelling(t *testing.T) {
	for text, want := range map[string]Losses{
		`{"rotted base": 3, "Rotted-Base": 1, "mould": 2}`: {RottedBase: 4, Mould: 2},
		`{"eaten by snails": 1}`:                           {"eaten by snails": 1}, // for the rules to refuse
		`{}`:                                               {},
		`null`:                                             nil,
	} {
		var got Losses
		if err := json.Unmarshal([]byte(text), &got); err != nil {
			t.Errorf("%s: %v", text, err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s: %s", text, diff)
		}
	}
	var got Losses
	if err := json.Unmarshal([]byte(`{"mould": "two"}`), &got); err == nil {
		t.Errorf("words are counted as %v", got)
	}
	var move NewMove
	if err := json.Unmarshal([]byte(`{"cause": "stuck upside down"}`), &move); err != nil || move.Cause != UpsideDown {
		t.Errorf("%q, %v", move.Cause, err)
	}
}

package api

import (
	"encoding/json"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestHalfCharacters(t *testing.T) {
	for body, at := range map[string]int{
		`{"by":"RQ"}`:                  -1,
		`{"by":"\u00c5se"}`:            -1,
		`{"by":"\ud83c\udf31"}`:        -1,
		`{"by":"\\ud800"}`:             -1,
		`{"by":"\ud800"}`:              7,
		`{"by":"\udf31\ud83c"}`:        7,
		`{"by":"\ud83c\u0041"}`:        7,
		`{"by":"\\\ud83cleaf"}`:        9,
		`{"by":"\ud83c\udf31\ud83c"}`:  19,
		`{"\udf31":"a name of a key"}`: 2,
	} {
		if got := halfCharacter([]byte(body)); got != at {
			t.Errorf("%s has half a character at %d, want %d", body, got, at)
		}
		var v any
		err := unmarshalStrict([]byte(body), &v)
		if (err != nil) != (at >= 0) || err != nil && !strings.Contains(err.Error(), "half a character") {
			t.Errorf("%s is read with %v", body, err)
		}
	}
}

// What Go reads without putting in a replacement character has no half one.
func TestWholeCharactersPass(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		parts := rapid.SliceOf(rapid.SampledFrom([]string{`\ud83c`, `\udf31`, `\\`, `\n`, `\u0041`, `u`, `d83c`})).Draw(t, "parts")
		body := `"` + strings.Join(parts, "") + `"`
		var text string
		if err := json.Unmarshal([]byte(body), &text); err != nil {
			t.Fatal(err)
		}
		if half := halfCharacter([]byte(body)) >= 0; half != strings.ContainsRune(text, '\uFFFD') {
			t.Fatalf("%s: half a character is %v, and it reads as %q", body, half, text)
		}
	})
}

package models

import (
	"encoding/json"
	"reflect"
	"testing"
)

// A patch is read as left out, null or a value, and is written as it was read.
func FuzzPatch(f *testing.F) {
	for _, seed := range []string{`{}`, `{"n":null}`, `{"n":7,"d":"2026-01-17"}`, `{"s":0.5,"l":["a"]}`, `{"n": null ,"l":null}`, `{"n":1e3}`} {
		f.Add([]byte(seed))
	}
	type edit struct {
		N Patch[int]      `json:"n,omitzero"`
		S Patch[Decimal]  `json:"s,omitzero"`
		D Patch[Date]     `json:"d,omitzero"`
		L Patch[[]string] `json:"l,omitzero"`
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		var first, again edit
		if json.Unmarshal(text, &first) != nil {
			return
		}
		if first.N.IsNull() && (!first.N.IsSet() || first.N.Or(5) != 0) || !first.N.IsSet() && first.N.Or(5) != 5 {
			t.Errorf("%s is read as %+v", text, first.N)
		}
		written, err := json.Marshal(first)
		if err != nil {
			t.Fatalf("%s is read and cannot be written: %v", text, err)
		}
		if err := json.Unmarshal(written, &again); err != nil || !reflect.DeepEqual(first, again) {
			t.Errorf("%s is written %s and read %+v, %v", text, written, again, err)
		}
	})
}

// Losses are added up by cause, and no count is made of counts that are too large.
func FuzzLosses(f *testing.F) {
	for _, seed := range []string{`{"mould":2,"Rotted base":1,"rotted_base":3}`, `null`, `{"":-1}`, `{"mould":9223372036854775807,"Mould":9223372036854775807,"MOULD":5}`,
		`{"mould":-9223372036854775808,"Mould":-1}`} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		var first, again Losses
		if json.Unmarshal(text, &first) != nil {
			return
		}
		var given map[string]int
		if err := json.Unmarshal(text, &given); err != nil {
			t.Fatalf("%s is read as %v: %v", text, first, err)
		}
		sums := map[Cause]float64{}
		for word, n := range given {
			var cause Cause
			_ = cause.UnmarshalText([]byte(word))
			sums[cause] += float64(n)
		}
		for cause, n := range first {
			if off := sums[cause] - float64(n); off > 1e6 || off < -1e6 {
				t.Errorf("%s is read as %v", text, first)
			}
		}
		written, err := json.Marshal(first)
		if err != nil {
			t.Fatalf("%s is read and cannot be written: %v", text, err)
		}
		if err := json.Unmarshal(written, &again); err != nil || len(first) != len(again) {
			t.Errorf("%s is written %s and read %v, %v", text, written, again, err)
		}
	})
}

// A day from a database is one that the program writes, or an error.
func FuzzScanDate(f *testing.F) {
	f.Add("2026-01-17")
	f.Add("")
	f.Add("2026-01-17 00:00:00+00:00")
	f.Fuzz(func(t *testing.T, text string) {
		var plain, raw Date
		errPlain, errRaw := plain.Scan(text), raw.Scan([]byte(text))
		if (errPlain == nil) != (errRaw == nil) || plain != raw {
			t.Fatalf("%q: %v and %v", text, plain, raw)
		}
		if errPlain != nil || plain.IsZero() {
			return
		}
		value, err := plain.Value()
		var again Date
		if err != nil || again.Scan(value) != nil || again != plain {
			t.Errorf("%q is read as %v, and that as %v", text, plain, again)
		}
	})
}

package models

import (
	"encoding/json"
	"reflect"
	"testing"
)

func TestTreatmentsAreLabelled(t *testing.T) {
	for text, want := range map[string]string{
		`{}`:                                     "none",
		`null`:                                   "none",
		`"none"`:                                 "none",
		`" None "`:                               "none",
		`"control"`:                              "none",
		`""`:                                     "none",
		`"split  heel"`:                          "split heel",
		`{"soak_days":0}`:                        "none",
		`{"soak_days":3}`:                        "soak 3 d",
		`{"soak_days":0.5,"wound":"two strips"}`: "soak 0.5 d, wound: two strips",
		`{"auxin":"IBA","auxin_ppm":3000,"auxin_form":"quick_dip"}`: "IBA 3000 ppm quick dip",
		`{"auxin":"IBA","auxin_percent":0.3,"auxin_form":"talc"}`:   "IBA 3000 ppm talc",
		`{"auxin_ppm":100000}`: "auxin 100000 ppm",
		`{"auxin":"NAA"}`:      "NAA",
		`{"willow_water_g_per_l":100,"willow_water_hours":24}`:                     "willow water 100 g/L 24 h",
		`{"willow_water_hours":24}`:                                                "willow water 24 h",
		`{"name":"split heel","soak_days":2,"auxin":"IBA","willow_water_hours":6}`: "split heel, soak 2 d, IBA, willow water 6 h",
	} {
		var got Treatment
		if err := json.Unmarshal([]byte(text), &got); err != nil {
			t.Errorf("%s: %v", text, err)
		}
		if got.Label() != want || got.IsZero() != (want == "none") {
			t.Errorf("%s is labelled %q, want %q; nothing recorded: %t", text, got.Label(), want, got.IsZero())
		}
	}
}

func TestTreatmentsThatCannotBeRead(t *testing.T) {
	for _, text := range []string{`7`, `true`, `[]`, `{"soak":3}`, `{"soak_days":"3"}`, `"open`, `{"soak_days":3`} {
		var got Treatment
		if err := json.Unmarshal([]byte(text), &got); err == nil {
			t.Errorf("%s is read as %+v", text, got)
		}
	}
}

func TestBottomHeat(t *testing.T) {
	for text, want := range map[string]BottomHeat{
		`null`: {}, `true`: {Recorded: true, Heated: true}, `false`: {Recorded: true},
		`21.5`: {Recorded: true, Heated: true, Celsius: 21.5}, `5`: {Recorded: true, Heated: true, Celsius: 5}, `45`: {Recorded: true, Heated: true, Celsius: 45},
	} {
		var got BottomHeat
		if err := json.Unmarshal([]byte(text), &got); err != nil || got != want {
			t.Errorf("%s is read as %+v, %v", text, got, err)
		}
		if back, err := json.Marshal(got); err != nil || string(back) != text {
			t.Errorf("%s is written %s, %v", text, back, err)
		}
		if got.IsZero() != (text == "null") {
			t.Errorf("%s is recorded: %t", text, !got.IsZero())
		}
	}
	for _, text := range []string{`4.9`, `45.1`, `"warm"`, `{}`, `"21"`, `-20`} {
		var got BottomHeat
		if err := json.Unmarshal([]byte(text), &got); err == nil {
			t.Errorf("%s is read as %+v", text, got)
		}
	}
	for _, text := range []string{"NaN", "nan", "Inf", "-Inf", "+infinity"} {
		var got BottomHeat
		if err := got.UnmarshalJSON([]byte(text)); err == nil {
			t.Errorf("%s is read as %+v", text, got)
		}
	}
}

func FuzzTreatment(f *testing.F) {
	for _, seed := range []string{`"split heel"`, `{"auxin":"IBA","auxin_percent":0.3}`, `null`, `{"soak_days":1e308}`, `{"name":"none"}`, `"control"`, `{"wound":"\u0000"}`, `{"name":" "}`} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		var first, again Treatment
		if err := json.Unmarshal(text, &first); err != nil {
			return
		}
		written, err := json.Marshal(first)
		if err != nil {
			t.Fatalf("%s is read and cannot be written: %v", text, err)
		}
		if err := json.Unmarshal(written, &again); err != nil || !reflect.DeepEqual(first, again) {
			t.Errorf("%s is written %s and read %+v, %v", text, written, again, err)
		}
		if first.Label() == "" {
			t.Errorf("%s has no label", text)
		}
	})
}

func FuzzBottomHeat(f *testing.F) {
	for _, seed := range []string{`true`, `21.5`, `null`, `1e1`, `" 21"`, `NaN`} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		var first, again BottomHeat
		if err := json.Unmarshal(text, &first); err != nil {
			return
		}
		written, err := json.Marshal(first)
		if err != nil {
			t.Fatalf("%s is read and cannot be written: %v", text, err)
		}
		if err := json.Unmarshal(written, &again); err != nil || first != again {
			t.Errorf("%s is written %s and read %+v, %v", text, written, again, err)
		}
	})
}

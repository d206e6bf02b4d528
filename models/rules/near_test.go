package rules_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"withybed/models/rules"
)

func TestNear(t *testing.T) {
	codes := []string{"MB-01", "MB-03", "MB-13", "TR-01", "Heron Slough"}
	cases := []struct {
		name string
		want []string
	}{
		{"MB-3", []string{"MB-03", "MB-13", "MB-01"}},
		{"mb-03", []string{"MB-03", "MB-01", "MB-13"}},
		{"heron", []string{"Heron Slough"}},
		{"  HERON   slogh ", []string{"Heron Slough"}},
		{"quite another", nil},
		{"", nil},
	}
	for _, c := range cases {
		if got := rules.Near(c.name, codes); !slices.Equal(got, c.want) {
			t.Errorf("near %q are %q, want %q", c.name, got, c.want)
		}
	}
}

func TestANameIsNearestToItself(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		names := rapid.SliceOfNDistinct(rapid.StringMatching(`[a-z]{2,8}`), 1, 12, rapid.ID).Draw(t, "names")
		name := rapid.SampledFrom(names).Draw(t, "name")
		near := rules.Near(name, names)
		if len(near) == 0 || near[0] != name || len(near) > 3 {
			t.Fatalf("near %q of %q are %q", name, names, near)
		}
	})
}

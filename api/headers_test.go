package api

import (
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
)

func TestVersionOfWhatETagWrites(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		version := rapid.IntRange(0, 1<<40).Draw(t, "version")
		got, err := Guarded{IfMatch: ETag(version)}.Version()
		if err != nil || got != version {
			t.Fatalf("%s: %d, %v", ETag(version), got, err)
		}
	})
}

func TestVersionRefuses(t *testing.T) {
	for tag, kind := range map[string]models.Kind{
		"": models.Unguarded, "*": models.Unguarded, "3": models.Stale, `"3`: models.Stale,
		`3"`: models.Stale, `"3", "4"`: models.Stale, `"three"`: models.Stale, `""`: models.Stale,
	} {
		_, err := Guarded{IfMatch: tag}.Version()
		if e := models.AsError(err); e == nil || e.Kind != kind {
			t.Errorf("%q: %v, want %s", tag, err, kind)
		}
	}
}

func FuzzVersion(f *testing.F) {
	f.Add(`"3"`)
	f.Add(`W/"3"`)
	f.Fuzz(func(t *testing.T, tag string) {
		if _, err := (Guarded{IfMatch: tag}).Version(); err != nil && models.AsError(err) == nil {
			t.Fatalf("%q: %v", tag, err)
		}
	})
}

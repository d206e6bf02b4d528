package cli

import (
	"regexp"
	"runtime/debug"
	"strings"
)

// revision names the source where the build says it and the program cannot find
// out by itself, as in an image built without its history:
// go build -ldflags "-X withybed/cli.revision=5bbd5bc".
var revision string

// unreleased is the version of a program that was built between two releases.
const unreleased = "0.1.0-dev"

// build is what the program was built from.
type build struct {
	version  string
	revision string // shortened; empty if unknown
	day      string // of the revision, UTC; empty if unknown
	modified bool   // the source was changed since
}

// thisBuild is the build of this program.
func thisBuild() build {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		info = &debug.BuildInfo{}
	}
	return buildOf(info, revision)
}

// buildOf reads what the build noted. A revision that was given counts before the
// one that Go found, which may be of a folder around the source.
func buildOf(info *debug.BuildInfo, given string) build {
	b := build{version: released(info.Main.Version)}
	if given != "" {
		b.revision = shortRevision(given)
		return b
	}
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			b.revision = shortRevision(s.Value)
		case "vcs.time":
			b.day, _, _ = strings.Cut(s.Value, "T")
		case "vcs.modified":
			b.modified = s.Value == "true"
		}
	}
	return b
}

// between is the end of a version that Go makes up for what is no release.
var between = regexp.MustCompile(`[-.]\d{14}-[0-9a-f]{12}(\+dirty)?$`)

func released(version string) string {
	if version == "" || version == "(devel)" || between.MatchString(version) {
		return unreleased
	}
	return strings.TrimPrefix(version, "v")
}

var hash = regexp.MustCompile(`^[0-9a-f]{40,64}$`)

// shortRevision is as much of a hash as people read; other names stay whole.
func shortRevision(name string) string {
	if hash.MatchString(name) {
		return name[:7]
	}
	return name
}

// String is the build as --version says it, as in
// 0.1.0-dev (revision 5bbd5bc, 2026-11-25, modified).
func (b build) String() string {
	if b.revision == "" {
		return b.version
	}
	parts := []string{"revision " + b.revision}
	if b.day != "" {
		parts = append(parts, b.day)
	}
	if b.modified {
		parts = append(parts, "modified")
	}
	return b.version + " (" + strings.Join(parts, ", ") + ")"
}

// source is the revision in one word, as /healthz and /metrics give it.
func (b build) source() string {
	if b.modified {
		return b.revision + "+modified"
	}
	return b.revision
}

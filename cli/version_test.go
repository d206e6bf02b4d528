package cli

import (
	"runtime/debug"
	"testing"
)

func TestBuilds(t *testing.T) {
	const full = "5bbd5bc0c1d2e3f405162738495a6b7c8d9e0f10"
	stamped := func(version, modified string) *debug.BuildInfo {
		return &debug.BuildInfo{Main: debug.Module{Version: version}, Settings: []debug.BuildSetting{
			{Key: "vcs", Value: "git"}, {Key: "vcs.revision", Value: full},
			{Key: "vcs.time", Value: "2026-11-25T02:28:43Z"}, {Key: "vcs.modified", Value: modified},
		}}
	}
	for _, c := range []struct {
		info         *debug.BuildInfo
		given        string
		said, source string
	}{
		{&debug.BuildInfo{}, "", "0.1.0-dev", ""},
		{&debug.BuildInfo{Main: debug.Module{Version: "(devel)"}}, "", "0.1.0-dev", ""},
		{stamped("v0.0.0-20261125022843-5bbd5bc0c1d2+dirty", "true"), "", "0.1.0-dev (revision 5bbd5bc, 2026-11-25, modified)", "5bbd5bc+modified"},
		{stamped("v0.3.1-0.20261125022843-5bbd5bc0c1d2", "false"), "", "0.1.0-dev (revision 5bbd5bc, 2026-11-25)", "5bbd5bc"},
		{stamped("v0.3.0", "false"), "", "0.3.0 (revision 5bbd5bc, 2026-11-25)", "5bbd5bc"},
		{&debug.BuildInfo{Main: debug.Module{Version: "(devel)"}}, full, "0.1.0-dev (revision 5bbd5bc)", "5bbd5bc"},
		{stamped("(devel)", "true"), "spring-2026", "0.1.0-dev (revision spring-2026)", "spring-2026"},
	} {
		b := buildOf(c.info, c.given)
		if b.String() != c.said || b.source() != c.source {
			t.Errorf("%q given %q: %q and %q, want %q and %q", c.info.Main.Version, c.given, b, b.source(), c.said, c.source)
		}
	}
}

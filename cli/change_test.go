package cli

import "testing"

func TestReadable(t *testing.T) {
	for request, want := range map[string]string{
		"PATCH /v1/stands/MB-03":                      "PATCH /v1/stands/MB-03",
		"POST /v1/tokens/Saturday%20crew/revocations": "POST /v1/tokens/Saturday crew/revocations",
		"POST /v1/taxa/Cornus%2Fsericea%zz":           "POST /v1/taxa/Cornus%2Fsericea%zz",
		"withy token add --local":                     "withy token add --local",
	} {
		if got := readable(request); got != want {
			t.Errorf("%s is read as %s", request, got)
		}
	}
}

func TestDetailWords(t *testing.T) {
	for want, detail := range map[string]map[string]any{
		"-":                          nil,
		"by, closures, why":          {"why": "nests", "by": "OP", "closures": []any{}},
		"MB-03-2026-1, MB-03-2026-2": {"made": []any{"MB-03-2026-1", "MB-03-2026-2"}},
	} {
		if got := detailWords(detail); got != want {
			t.Errorf("%v is told as %q, want %q", detail, got, want)
		}
	}
}

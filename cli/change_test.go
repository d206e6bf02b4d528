package cli

import "testing"

func TestDetailWords(t *testing.T) {
	for want, detail := range map[string]map[string]any{
		"-": nil,
		"by: OP; closures: []; place: null; sensitivity: extreme": {"sensitivity": "extreme", "by": "OP", "place": nil, "closures": []any{}},
		`harvest_rule: {"stand_cap":0.05}`:                        {"harvest_rule": map[string]any{"stand_cap": 0.05}},
	} {
		if got := detailWords(detail); got != want {
			t.Errorf("%v is told as %q, want %q", detail, got, want)
		}
	}
}

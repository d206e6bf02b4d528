package cli

import (
	"testing"

	"withybed/models"
)

func TestDataFolder(t *testing.T) {
	for _, c := range []struct {
		system string
		vars   map[string]string
		want   string
	}{
		{"linux", map[string]string{"HOME": "/home/rq"}, "/home/rq/.local/share"},
		{"linux", map[string]string{"HOME": "/home/rq", "XDG_DATA_HOME": "/data"}, "/data"},
		{"linux", map[string]string{"HOME": "/home/rq", "XDG_DATA_HOME": "not/absolute"}, "/home/rq/.local/share"},
		{"darwin", map[string]string{"HOME": "/Users/rq", "XDG_DATA_HOME": "/data"}, "/Users/rq/Library/Application Support"},
		{"windows", map[string]string{"LOCALAPPDATA": `C:\Users\rq\AppData\Local`}, `C:\Users\rq\AppData\Local`},
	} {
		if got, err := dataFolder(c.system, c.vars); err != nil || got != c.want {
			t.Errorf("%s %v: %q, %v", c.system, c.vars, got, err)
		}
	}
	if _, err := dataFolder("linux", nil); exitCode(err) != exitUsage {
		t.Error(err)
	}
}

func TestBracketWords(t *testing.T) {
	at := func(from, to int) models.Bracket { return models.Bracket{Status: models.Reached, From: &from, To: &to} }
	not := models.Bracket{Status: models.NotReached}
	none := models.Bracket{Status: models.Undefined}
	for _, c := range []struct {
		levels     models.Levels
		want, half string
	}{
		{models.Levels{T10: at(0, 14), T50: at(14, 21), T90: not}, "a tenth had rooted by day 14, half had rooted between day 14 and day 21, nine tenths not reached by the last look", "day 14 to 21"},
		{models.Levels{T10: not, T50: not, T90: not}, "a tenth not reached by the last look", "not reached"},
		{models.Levels{T10: none, T50: none, T90: none}, "none was found rooted", "undefined"},
		{models.Levels{T10: at(0, 7), T50: at(0, 7), T90: at(0, 7)}, "a tenth had rooted by day 7, half had rooted by day 7, nine tenths had rooted by day 7", "by day 7"},
	} {
		if got := bracketWords(c.levels); got != c.want {
			t.Errorf("%q, not %q", got, c.want)
		}
		if got := halfWords(c.levels.T50); got != c.half {
			t.Errorf("%q, not %q", got, c.half)
		}
	}
}

func TestNumbers(t *testing.T) {
	for text, want := range map[string]string{
		number(850, 1): "850", number(663.1631, 1): "663.2", number(0.05, 4): "0.05", number(1200, 0): "1200", number(100, 2): "100",
		asPercent(0.036): "3.6 %", percent(62.5): "62.5 %", many(1, "stem", "stems"): "1 stem", many(0, "stem", "stems"): "0 stems",
	} {
		if text != want {
			t.Errorf("%q, not %q", text, want)
		}
	}
}

func TestOneOfAThing(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{stemsWords(1, 1), "1 stem"}, {stemsWords(1.04, 1), "1 stem"}, {stemsWords(1.5, 1), "1.5 stems"}, {stemsWords(0, 0), "0 stems"},
		{ruleWords(models.HarvestRule{StandCap: models.MustDecimal("0.05"), PerPlantCap: models.MustDecimal("0.1"), WindowDays: 1, SurveyValidDays: 500}),
			"at most 0.05 of the stems counted (lower bound), and 0.1 of the stems of the plants cut from, in any 1 day; a count is good for 500 days"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

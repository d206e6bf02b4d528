package cli

import (
	"encoding/csv"
	"encoding/json"
	"io"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/spf13/cobra"

	"withybed/models"
)

func everyCommand(t *testing.T) []*cobra.Command {
	s, err := newSession(Env{Stdout: io.Discard, Stderr: io.Discard})
	if err != nil {
		t.Fatal(err)
	}
	var all []*cobra.Command
	var gather func(*cobra.Command)
	gather = func(c *cobra.Command) {
		all = append(all, c)
		for _, child := range c.Commands() {
			gather(child)
		}
	}
	gather(newRoot(s))
	return all
}

// Every command says in a line what it does, and shows how: with commands and
// flags that exist.
func TestEveryCommandHasHelpThatWorks(t *testing.T) {
	for _, c := range everyCommand(t) {
		if c.Short == "" || strings.HasSuffix(c.Short, ".") || c.Example == "" {
			t.Errorf("%s: short %q, example %q", c.CommandPath(), c.Short, c.Example)
		}
		for _, line := range strings.Split(strings.ReplaceAll(c.Example, "\\\n", ""), "\n") {
			tryExample(t, line)
		}
		for _, text := range []string{c.Long, c.Example, c.Short} {
			for line := range strings.Lines(text) {
				if len([]rune(strings.TrimRight(line, "\n"))) > usualWidth && !strings.Contains(line, "postgres://") {
					t.Errorf("%s: %q is long", c.CommandPath(), line)
				}
			}
		}
	}
}

// tryExample reads the flags of an example, and runs nothing.
func tryExample(t *testing.T, line string) {
	t.Helper()
	line, _, _ = strings.Cut(line, " < ")
	line, _, _ = strings.Cut(line, " > ")
	reader := csv.NewReader(strings.NewReader(strings.Join(strings.Fields(line), " ")))
	reader.Comma, reader.LazyQuotes = ' ', true // quotes stand around whole words
	words, err := reader.Read()
	if err != nil {
		t.Errorf("%s: %v", line, err)
		return
	}
	for len(words) > 0 && strings.Contains(words[0], "=") {
		words = words[1:] // a setting
	}
	if len(words) == 0 || words[0] != "withy" {
		t.Errorf("%q is no command", line)
		return
	}
	command, args, err := everyCommand(t)[0].Find(words[1:])
	if err == nil {
		err = command.ParseFlags(args)
	}
	if err == nil {
		err = command.ValidateArgs(command.Flags().Args())
	}
	if err == nil && command.HasSubCommands() && command.Flags().NArg() > 0 {
		err = usagef("there is no command %q", command.Flags().Arg(0))
	}
	if err != nil {
		t.Errorf("%s: %v", line, err)
	}
}

func TestClosures(t *testing.T) {
	for text, want := range map[string]models.Closure{
		"04-15..07-31: birds nest":           {From: "04-15", To: "07-31", Reason: "birds nest", EveryYear: true},
		"2026-02-01..2026-03-01":             {From: "2026-02-01", To: "2026-03-01"},
		"12-20..01-05: shut: winter closing": {From: "12-20", To: "01-05", Reason: "shut: winter closing", EveryYear: true},
	} {
		got, err := parseClosure(text)
		if err != nil || got != want {
			t.Errorf("%q: %+v, %v", text, got, err)
		}
	}
	if _, err := parseClosure("all summer"); err == nil {
		t.Error("words are a closure")
	}
}

func TestArms(t *testing.T) {
	ppm, days := 3000.0, 2.0
	for text, want := range map[string]models.Arm{
		"count=24":                         {Count: 24},
		"count=24,treatment=none,bench=B2": {Count: 24, Tray: models.Tray{Treatment: &models.Treatment{}, Bench: "B2"}},
		"count=12, auxin=IBA, auxin_ppm=3000,auxin-form=quick dip,stuck-on=2026-01-18": {
			Count: 12, StuckOn: models.MustDate("2026-01-18"),
			Tray: models.Tray{Treatment: &models.Treatment{Auxin: "IBA", AuxinPPM: &ppm, AuxinForm: "quick_dip"}},
		},
		`count=6,"wound=two strips, shallow",soak-days=2,mist=true`: {
			Count: 6, Tray: models.Tray{Treatment: &models.Treatment{Wound: "two strips, shallow", SoakDays: &days}, Mist: true},
		},
		"count=3,bottom-heat=21": {Count: 3, Tray: models.Tray{BottomHeat: &models.BottomHeat{Recorded: true, Heated: true, Celsius: 21}}},
	} {
		got, err := parseArm(text)
		if diff := cmp.Diff(want, got, cmp.Comparer(func(a, b models.Date) bool { return a == b })); err != nil || diff != "" {
			t.Errorf("%q: %v\n%s", text, err, diff)
		}
	}
	for text, want := range map[string]string{
		"":                     "must be parts",
		"bench=B2":             "needs a count",
		"count":                "has no value",
		"count=x":              `--count is "x"`,
		"count=1,bnch=B2":      "did you mean bench?",
		"count=1,mist=often":   "true or false",
		"count=1,stuck-on=1.2": "is not a date",
	} {
		if _, err := parseArm(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func TestLosses(t *testing.T) {
	lost := models.Losses{}
	for _, text := range []string{"rotted base=3, dried = 1", "Rotted-Base=2"} {
		if err := readLosses(lost, text); err != nil {
			t.Fatal(err)
		}
	}
	if diff := cmp.Diff(models.Losses{models.RottedBase: 5, models.Dried: 1}, lost); diff != "" {
		t.Error(diff)
	}
	for text, want := range map[string]string{"3": "a cause and a count", "rot=3": "the causes are", "dried=some": "whole number"} {
		if err := readLosses(models.Losses{}, text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func TestHeat(t *testing.T) {
	for text, want := range map[string]models.BottomHeat{
		"yes": {Recorded: true, Heated: true}, "no": {Recorded: true}, "21.5": {Recorded: true, Heated: true, Celsius: 21.5},
	} {
		if got, err := parseHeat(text); err != nil || got != want {
			t.Errorf("%q: %+v, %v", text, got, err)
		}
	}
	for _, text := range []string{"null", "warm", "100", "", "NaN", "Inf", "-inf", "+Infinity"} {
		if got, err := parseHeat(text); err == nil {
			t.Errorf("%q is %+v", text, got)
		}
	}
}

func TestThresholds(t *testing.T) {
	for text, want := range map[string]map[string]any{
		"check_every=10":    {"check_every": json.Number("10")},
		"check-every= 10 ":  {"check_every": json.Number("10")},
		"ready_share=0.5":   {"ready_share": json.Number("0.5")},
		"check_every=none":  {"check_every": nil},
		"check_every=true":  {"check_every": "true"},
		"check_every=null":  {"check_every": "null"},
		"check_every=[10]":  {"check_every": "[10]"},
		`check_every="10"`:  {"check_every": `"10"`},
		"check_every=NaN":   {"check_every": "NaN"},
		"check_every=+10":   {"check_every": "+10"},
		"check_every=1e999": {"check_every": "1e999"},
		"warm_from=03-15":   {"warm_from": "03-15"},
	} {
		got := map[string]any{}
		err := readThreshold(got, text)
		if diff := cmp.Diff(want, got); err != nil || diff != "" {
			t.Errorf("%q: %v\n%s", text, err, diff)
		}
	}
	for _, text := range []string{"check_every", "check_every=", "check_every= "} {
		if err := readThreshold(map[string]any{}, text); err == nil || !strings.Contains(err.Error(), "a name and a value") {
			t.Errorf("%q: %v", text, err)
		}
	}
}

// What a person types is read or refused with a sentence, and never breaks.
func FuzzValues(f *testing.F) {
	for _, text := range []string{"", "today", "2026-01-17", "count=24,auxin=IBA", `"`, "rotted base=3", "12,7,0", "04-15..07-31: x", "check_every=10", "check_every=true", "check_every= 10", "check_every=1e5", "21", "none", "NaN", "Inf"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if d, err := parseDay(text); err == nil && !d.fromHere && d.date.IsZero() {
			t.Errorf("%q is read as no day", text)
		}
		if arm, err := parseArm(text); err == nil && !strings.Contains(text, "count") {
			t.Errorf("%q is read as %+v", text, arm)
		}
		if x, err := parseNumber(text); err == nil && x-x != 0 {
			t.Errorf("%q is read as %v", text, x)
		}
		if counts, err := parseCounts(text); err == nil && len(counts) > len(text) {
			t.Errorf("%q is read as %v", text, counts)
		}
		lost := models.Losses{}
		if err := readLosses(lost, text); err == nil && len(lost) == 0 {
			t.Errorf("%q is read as no loss", text)
		}
		_, _ = parseClosure(text)
		thresholds := map[string]any{}
		_ = readThreshold(thresholds, text)
		heat, _ := parseHeat(text)
		if sent, err := json.Marshal([]any{thresholds, heat}); err != nil {
			t.Errorf("%q cannot be sent: %v: %s", text, err, sent)
		}
	})
}

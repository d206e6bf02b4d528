package cli

import (
	"bytes"
	"context"
	"fmt"
	"strings"
)

// demoWidth is how wide the story is, in characters, on any terminal.
const demoWidth = 80

// scene is a part of the story: some words, a command a person would type, and
// what it answers.
type scene struct {
	words string
	args  []string // without withy
	exit  int      // the exit code it ends with
	jobs  bool     // what a server does by itself happens before it
}

var demoStory = []scene{
	{
		words: "A volunteer cut red-osier dogwood at Mallow Bend on Saturday, and logs it.",
		args: []string{"batch", "log", "--stand", "MB-03", "--on", "2026-01-17", "--stems-cut", "24", "--cuttings", "72",
			"--collected-by", "RQ", "--record-number", "T-017", "--kind", "hardwood"},
	},
	{
		words: "Another group plans 12 more of the same stand for today. That is too many.",
		args:  []string{"batch", "log", "--stand", "MB-03", "--stems-cut", "12", "--cuttings", "36", "--collected-by", "TL"},
		exit:  exitRefused,
	},
	{
		words: "The coordinator asks what the stand can spare, and what it gave.",
		args:  []string{"stand", "allowance", "MB-03", "--stems", "4"},
	},
	{args: []string{"stand", "seasons", "MB-03"}},
	{
		words: "The propagation lead sticks the volunteer's cuttings.",
		args: []string{"batch", "stick", "MB-03-2026-1", "--on", "2026-01-18", "--count", "72", "--auxin", "IBA", "--auxin-ppm", "3000",
			"--auxin-form", "talc", "--medium", "perlite", "--bench", "B1", "--bottom-heat", "21", "--stuck-by", "JD"},
	},
	{
		words: "She looks at a tray of the same kind that was stuck in November.",
		args: []string{"check", "add", "SF-01-2025-2", "--rooted", "13", "--potting-roots", "11", "--lost", "rotted base=1",
			"--method", "tug", "--by", "JD"},
	},
	{
		words: "What rooted of the cuttings of early 2025, and in how many days?",
		args:  []string{"rooting", "--by", "taxon,treatment", "--from", "2025-01-01", "--to", "2025-06-30"},
	},
	{words: "What must come out of the water first?", args: []string{"due", "--flag", "soak"}},
	{
		words: "A server does the weekly run on Monday at seven. This one was off, so it makes up for it now: flags, and a reminder of all that is due.",
		args:  []string{"remind", "show"}, jobs: true,
	},
	{words: "The tray that was looked at, whole.", args: []string{"batch", "show", "SF-01-2025-2"}},
}

// tell runs the commands of the story one by one.
func (d *demo) tell(ctx context.Context) error {
	d.narrate("Withybed on an example nursery. Valley, people and plants are made up. It is Monday %s, 09:30 there, whatever day it is here.", demoDay)
	d.narrate("It has %s", d.contents())
	for _, scene := range demoStory {
		if err := d.play(ctx, &scene); err != nil {
			return err
		}
		if err := d.out.Flush(); err != nil {
			return err
		}
	}
	d.narrate("")
	d.narrate("That was the demo; its nursery is gone. What to type next:")
	d.narrate("  withy demo --serve    the same nursery on a server, to try things on")
	d.narrate("  withy --help          every command")
	d.narrate("  withy nursery edit --name 'Our nursery' --time-zone America/Los_Angeles")
	d.narrate("                        starts your own; then withy taxon add, withy stand add")
	return nil
}

func (d *demo) narrate(format string, args ...any) {
	_, _ = d.out.WriteString(fold(fmt.Sprintf(format, args...), demoWidth) + "\n") // the writer keeps its error
}

// contents counts what was loaded.
func (d *demo) contents() string {
	places := map[string]bool{}
	for _, stand := range d.example.stands {
		places[stand.Place] = true
	}
	return fmt.Sprintf("%d stands of %d species at %d places, and %d batches cut in two seasons.",
		len(d.example.stands), len(d.example.taxa), len(places), len(d.example.batches))
}

// play shows a command as it is typed, runs it and shows what it answers.
func (d *demo) play(ctx context.Context, sc *scene) error {
	if sc.jobs {
		if err := d.runJobs(ctx); err != nil {
			return err
		}
	}
	if sc.words != "" {
		d.narrate("\n# %s", strings.ReplaceAll(fold(sc.words, demoWidth-2), "\n", "\n# "))
	}
	d.narrate("%s", typed(sc.args))
	answer, code := d.answer(ctx, sc.args)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	d.narrate("%s", strings.TrimRight(answer, "\n"))
	if code != sc.exit {
		return fmt.Errorf("the demo went another way than its story: withy %s ended with exit code %d", strings.Join(sc.args, " "), code)
	}
	if code != exitDone {
		d.narrate("$ echo $?\n%d", code)
	}
	return nil
}

// answer runs a command of the story, as Run does for one that is typed.
func (d *demo) answer(ctx context.Context, args []string) (string, int) {
	var out bytes.Buffer
	code := Run(ctx, d.at(demoTell, &out, args...))
	return out.String(), code
}

// typed is a command as it is typed into a shell, over several lines
// where it is long.
func typed(args []string) string {
	words := []string{"withy"}
	for _, arg := range args {
		words = append(words, quoted(arg))
	}
	text, used := "$", 1
	for _, word := range words {
		if used+1+len(word) > demoWidth-2 {
			text, used = text+" \\\n   ", 3
		}
		text, used = text+" "+word, used+1+len(word)
	}
	return text
}

// quoted is an argument as a shell wants it.
func quoted(arg string) string {
	if strings.ContainsAny(arg, " $\"\\'") {
		return "'" + strings.ReplaceAll(arg, "'", `'\''`) + "'"
	}
	return arg
}

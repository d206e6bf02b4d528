package cli

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/documents"
	"withybed/models/nursery"
	"withybed/models/rules"
	"withybed/models/stats"
)

// rootingAsk is a question about rooting: of the batches of the nursery, or of
// those in a file, without any database.
type rootingAsk struct {
	*session
	q            nursery.RootingQuery
	on, from, to day
	file         string // of checks; - is standard input
	finalAfter   int
	checks       rules.CheckFile
}

// usualReplicates and usualSeed are how limits are drawn unless asked otherwise.
const (
	usualReplicates = 1000
	usualSeed       = 1
	mostReplicates  = 10_000
)

// newRooting answers both withy rooting and withy rooting rate.
func newRooting(s *session) *cobra.Command {
	cmd := newRate(s, "rooting")
	cmd.AddCommand(newRate(s, "rate"), newCurve(s), newDays(s), newCompare(s), newFit(s), newForecast(s), newCalibration(s))
	return cmd
}

// aboutFile is said of every question that takes a file.
const aboutFile = `

With --file it reads checks from a CSV file, or with - from standard input, and
touches no database. Its columns: batch, stuck_on, cuttings, checked_on, rooted
(ever rooted to date; empty if roots were not examined) and lost (before rooting,
to date), and where there are any treatment, withdrawn, finished_on and block.`

// ask runs a question on the nursery or on a file.
func (a *rootingAsk) ask(cmd *cobra.Command, far func(context.Context, *api.Client) error, near func(context.Context) error) error {
	if a.file == "" {
		return a.through(func(ctx context.Context, c *api.Client, _ []string) error {
			if err := a.settle(ctx, c); err != nil {
				return err
			}
			return far(ctx, c)
		})(cmd, nil)
	}
	if err := a.read(); err != nil {
		return err
	}
	return near(cmd.Context())
}

// settle turns days into those of the nursery.
func (a *rootingAsk) settle(ctx context.Context, c *api.Client) (err error) {
	for _, d := range []struct {
		to  *models.Date
		day day
	}{{&a.q.On, a.on}, {&a.q.From, a.from}, {&a.q.To, a.to}} {
		if *d.to, err = d.day.in(ctx, c); err != nil {
			return err
		}
	}
	return nil
}

// flags are those that pick batches, of the nursery or of a file.
func (a *rootingAsk) flags(cmd *cobra.Command) {
	f := cmd.Flags()
	dayFlag(cmd, &a.on, "on", "the day it is to speak of; today by default")
	f.StringVar(&a.q.Stand, "stand", "", "only batches of this stand")
	f.StringVar(&a.q.Taxon, "taxon", "", "only batches of this taxon")
	wordFlag(cmd, &a.q.Kind, "kind", "only this kind of cutting", models.CuttingKinds)
	f.StringVar(&a.q.Treatment, "treatment", "", "only this treatment, in the words that name it; none for none")
	f.StringVar(&a.q.Medium, "medium", "", "only this medium")
	addValue(cmd, "heated", "yes|no", "only with bottom heat, or only without", func(text string) error {
		heated, err := parseYesNo(text)
		a.q.Heated = map[bool]string{true: "yes", false: "no"}[heated]
		return err
	})
	complete(cmd, "heated", []string{"yes", "no"})
	f.StringVar(&a.q.Bench, "bench", "", "only this bench")
	f.StringVar(&a.q.Season, "season", "", "only cut in this season, from 1 July, as in 2025/26")
	dayFlag(cmd, &a.from, "from", "collected on this day or later")
	dayFlag(cmd, &a.to, "to", "collected on this day or earlier")
	f.StringVar(&a.file, "file", "", "CSV file of checks to use instead of the nursery; - is standard input")
	a.finalAfter = rules.UsualFinal
	within(cmd, &a.finalAfter, "final-after", "days after sticking from which a last check in a file is final", 1, 1000)
}

func (a *rootingAsk) groupFlag(cmd *cobra.Command) {
	cmd.Flags().StringSliceVar(&a.q.By, "by", nil, "what to group by, with commas")
	complete(cmd, "by", rules.Groupings())
}

// drawFlags say how limits are drawn.
func (a *rootingAsk) drawFlags(cmd *cobra.Command) {
	a.q.Drawing.Replicates, a.q.Drawing.Seed = usualReplicates, usualSeed
	within(cmd, &a.q.Drawing.Replicates, "replicates", "how often batches are drawn again for limits; 0 for no limits", 0, mostReplicates)
	addValue(cmd, "seed", "number", "seed of the draws; the same gives the same limits", func(text string) (err error) {
		a.q.Drawing.Seed, err = strconv.ParseUint(text, 10, 64)
		if err != nil {
			return usagef("is %q, and must be a whole number from 0 on", text)
		}
		return nil
	})
}

// within is a flag for a whole number within limits.
func within(cmd *cobra.Command, to *int, name, help string, least, most int) {
	addValue(cmd, name, "count", help+"; "+strconv.Itoa(*to)+" by default", func(text string) error {
		n, err := parseCount(text)
		if err == nil && (n < least || n > most) {
			return usagef("is %d, and must be from %d to %d", n, least, most)
		}
		*to = n
		return err
	})
}

// notInFiles are the flags for what a file does not tell.
var notInFiles = []string{"on", "stand", "taxon", "kind", "medium", "heated", "bench", "season", "from", "to", "server", "token"}

// prepare refuses what does not go together.
func (a *rootingAsk) prepare(cmd *cobra.Command, _ []string) error {
	if a.file == "" {
		if cmd.Flags().Changed("final-after") {
			return usagef("--final-after goes with --file: the nursery has a setting for it, finished_after")
		}
		return nil
	}
	for _, name := range notInFiles {
		if cmd.Flags().Changed(name) {
			return usagef("--%s does not go with --file: a file of checks does not tell", name)
		}
	}
	for _, name := range a.q.By {
		if name != "treatment" {
			return usagef("--by %s does not go with --file: batches of a file are told apart by treatment only", name)
		}
	}
	return nil
}

// read reads the file of checks.
func (a *rootingAsk) read() error {
	from, close, err := a.open()
	if err != nil {
		return err
	}
	defer close()
	if a.checks, err = rules.ReadChecks(from, a.finalAfter, a.readSoFar()); err != nil {
		return err
	}
	for _, warning := range a.checks.Warnings {
		a.warn("%s", fold(warning, usualWidth-len("warning: ")))
	}
	if a.q.Treatment != "" {
		a.checks.Batches = rules.Having(a.checks.Batches, map[string]string{"treatment": a.q.Treatment})
	}
	return nil
}

func (a *rootingAsk) open() (io.Reader, func(), error) {
	if a.file == "-" {
		return a.env.Stdin, func() {}, nil
	}
	f, err := os.Open(a.file)
	if err != nil {
		return nil, nil, usagef("the file of checks cannot be read: %s", strings.TrimPrefix(err.Error(), "open "))
	}
	return f, func() { _ = f.Close() }, nil
}

// readSoFar tells on a terminal how far a long file is read.
func (a *rootingAsk) readSoFar() func(rows int) {
	if a.env.Width == 0 {
		return nil
	}
	return func(rows int) { a.note("%d rows read", rows) }
}

// tell says sentences that are long, and folds them in a file and a pipe as well.
func (s *session) tell(format string, args ...any) {
	s.say("%s", fold(documents.Printable(fmt.Sprintf(format, args...)), cmp.Or(s.env.Width, usualWidth)))
}

// report asks a question, of the nursery or of a file, and uses the answer.
func report[T any](a *rootingAsk, cmd *cobra.Command, far func(context.Context, *api.Client) (T, error), near func(context.Context) (T, error), use func(T) error) error {
	return a.ask(cmd, func(ctx context.Context, c *api.Client) error {
		answer, err := far(ctx, c)
		if err != nil {
			return err
		}
		return use(answer)
	}, func(ctx context.Context) error {
		answer, err := near(ctx)
		if err != nil {
			return err
		}
		return use(answer)
	})
}

// groupReport is the question of a group of batches: how it is asked of the nursery,
// and how of a file.
type groupReport[T any] struct {
	far  func(*api.Client, context.Context, nursery.RootingQuery) (T, error)
	near func(context.Context, []rules.Watched, []string, stats.Drawing) (T, error)
}

func (g groupReport[T]) ask(a *rootingAsk, cmd *cobra.Command, use func(T) error) error {
	return report(a, cmd,
		func(ctx context.Context, c *api.Client) (T, error) { return g.far(c, ctx, a.q) },
		func(ctx context.Context) (T, error) { return g.near(ctx, a.checks.Batches, a.q.By, a.q.Drawing) }, use)
}

// inWords shows an answer, as JSON or in words.
func inWords[T any](s *session, words func(T)) func(T) error {
	return func(answer T) error { return show(s, answer, words) }
}

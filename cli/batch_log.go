package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"withybed/api"
	"withybed/models"
)

// batchLog is the command that logs one batch, or a whole day of them.
type batchLog struct {
	*session
	req         models.NewBatch
	on, stuckOn day
	file        string
	set         *pflag.FlagSet
	asking      bool // for what was not given
}

func newBatchLog(s *session) *cobra.Command {
	l := &batchLog{session: s}
	cmd := &cobra.Command{
		Use: "log [-]", Short: "Log a cutting batch, or a whole day of them from a file",
		Long: `Logs a batch against its stand. A cut that the stand cannot spare is refused, and
nothing is stored. Stems that are gone already are recorded all the same, with
--already-cut and --reason, and reviewed: hiding them helps nobody.

At a terminal it asks for what is missing, the day and the tag too, and shows the
batch before it is logged.
Ctrl-C leaves with nothing recorded. Set WITHY_ACCESSIBLE=1 to be asked line by line.

--file reads a day sheet, CSV whose first line names the columns by the fields of
the API, and - reads it from standard input. Either every row is entered, or none
and every problem of every row is told. Tagged plants are written with semicolons,
as in D-07=2/6:female; D-08=1/3. The columns are:
` + columnsOf(models.DayColumns()),
		Example: examples(
			"withy batch log --stand MB-03 --on 2026-01-17 --stems-cut 24 --cuttings 72 --collected-by RQ --parent-plants 6 --identified-by OP --kind hardwood",
			"withy batch log --stand RS-1 --stems-cut 3 --cuttings 9 --collected-by RQ --parent D-07=2/6:female --parent D-08=1/3:male",
			"withy batch log --file day.csv",
			"withy batch log - < day.csv"),
		Args:    onlyDash,
		PreRunE: func(cmd *cobra.Command, args []string) error { return l.prepare(cmd, args) },
		RunE: s.entering(func(ctx context.Context, c *api.Client, _ []string) error {
			if l.file != "" {
				return l.logDay(ctx, c)
			}
			if l.asking {
				if err := l.askMissing(ctx, c); err != nil {
					return err
				}
			}
			return l.logOne(ctx, c)
		}),
	}
	l.flags(cmd)
	return cmd
}

func columnsOf(names []string) string {
	text, line := "", " "
	for _, name := range names {
		if len(line)+len(name) > usualWidth-2 {
			text, line = text+line+"\n", " "
		}
		line += " " + name
	}
	return text + line
}

func onlyDash(cmd *cobra.Command, args []string) error {
	if len(args) > 1 || len(args) == 1 && args[0] != "-" {
		return usagef("%s does not know what to do with %q: name a day sheet with --file", cmd.CommandPath(), args[0])
	}
	return nil
}

func (l *batchLog) flags(cmd *cobra.Command) {
	f, r := cmd.Flags(), &l.req
	f.StringVar(&l.file, "file", "", "day sheet to enter; - is standard input")
	f.StringVar(&r.Stand, "stand", "", "code of the source stand")
	dayFlag(cmd, &l.on, "on", "day the stems were cut; today by default")
	alias(cmd, "on", "collected-on")
	intFlag(cmd, &r.StemsCut, "stems-cut", "stems taken off the stand")
	alias(cmd, "stems-cut", "stems")
	intFlag(cmd, &r.Cuttings, "cuttings", "cuttings made from them")
	f.StringVar(&r.CollectedBy, "collected-by", "", "who cut; initials do")
	alias(cmd, "collected-by", "by")
	f.StringVar(&r.Taxon, "taxon", "", "scientific name, where a misfit with the stand is to be caught")
	optionalInt(cmd, &r.ParentPlants, "parent-plants", "plants or clumps cut from; needed where those were counted")
	alias(cmd, "parent-plants", "parents")
	addValue(cmd, "parent", "tag=stems", "stems cut from a plant by its tag, as TAG=STEMS[/CUTTINGS][:SEX]; given for each plant, and then for every stem", func(text string) error {
		p, err := models.ParseParent(text)
		r.Parents = append(r.Parents, p)
		return err
	})
	f.StringVar(&r.IdentifiedBy, "identified-by", "", "who identified the plant; initials do")
	wordFlag(cmd, &r.Identification, "identification", "how sure the name is", models.Identifications)
	f.StringVar(&r.RecordNumber, "record-number", "", "the tag written on the bundle in the field")
	wordFlag(cmd, &r.Purpose, "purpose", "what it was cut for", models.Purposes)
	wordFlag(cmd, &r.Kind, "kind", "kind of cutting", models.CuttingKinds)
	optionalNumber(cmd, &r.LengthCM, "length-cm", "usual length of a cutting in centimetres")
	optionalNumber(cmd, &r.DiameterMM, "diameter-mm", "usual thickness of a cutting in millimetres")
	optionalInt(cmd, &r.Nodes, "nodes", "usual nodes on a cutting")
	optionalNumber(cmd, &r.WoodAgeYears, "wood-age-years", "age of the wood in years")
	f.StringVar(&r.Health, "health", "", "how the donors looked")
	optionalNumber(cmd, &r.HoursToWater, "hours-to-water", "hours from the cut to water")
	f.StringVar(&r.Note, "note", "", "anything else")
	f.StringVar(&r.Share, "share", "", "crew whose share it is taken from, or the identifier of the share")
	f.StringVar(&r.Permit, "permit", "", "number of the permit it is cut on")
	optionalDecimal(cmd, &r.PermitQuantity, "permit-quantity", "number", "drawn on the permit, where it counts bundles or kg")
	f.BoolVar(&r.AlreadyCut, "already-cut", false, "the stems are gone: record them even against a rule, to be reviewed")
	f.StringVar(&r.Reason, "reason", "", "why they were cut; with --already-cut")
	dayFlag(cmd, &l.stuckOn, "stuck-on", "day the cuttings were stuck, to stick them at once")
	optionalInt(cmd, &r.Count, "count", "cuttings stuck at once; all of them by default")
	trayFlags(cmd, &r.Tray)
}

func (l *batchLog) prepare(cmd *cobra.Command, args []string) error {
	if len(args) == 1 {
		l.file = "-"
	}
	if l.file != "" {
		return alone(cmd, "file", "json", "server")
	}
	missing := given(cmd, batchNeeds)
	l.set, l.asking = cmd.Flags(), missing != nil && l.asks()
	if l.asking {
		return nil
	}
	return missing
}

// alone refuses flags that would be passed over in silence beside one.
func alone(cmd *cobra.Command, name string, besides ...string) error {
	var idle []string
	cmd.Flags().Visit(func(f *pflag.Flag) {
		if f.Name != name && !slices.Contains(besides, f.Name) {
			idle = append(idle, "--"+f.Name)
		}
	})
	if len(idle) == 0 {
		return nil
	}
	return usagef("a day sheet says it all: leave out %s", strings.Join(idle, ", "))
}

// ifCut is said after a refusal: a refusal makes people write fewer stems than
// they took.
const ifCut = "If the stems are cut already, log them with --already-cut and --reason: they count, and are reviewed."

func (l *batchLog) logOne(ctx context.Context, c *api.Client) (err error) {
	if l.req.CollectedOn, err = l.dayOf(ctx, c, l.on.orToday()); err != nil {
		return err
	}
	if l.req.StuckOn, err = l.dayOf(ctx, c, l.stuckOn); err != nil {
		return err
	}
	l.hint = ifCut
	batch, err := c.LogBatch(ctx, l.req)
	if err != nil {
		return err
	}
	return show(l.session, batch, l.logged)
}

func (s *session) logged(b models.BatchView) {
	s.say("Batch %s is logged: %s.", b.Code, cutWords(&b))
	if b.ToReview {
		s.say("It is recorded against a rule, and waits for the coordinator: withy batch review %s.", b.Code)
	}
	if b.Sticking == nil && b.Purpose == models.Rooting {
		s.say("Write %s on its tag. Next: withy batch stick %s, or withy batch move %s --to soak.", b.Code, b.Code, b.Code)
	} else {
		s.say("Write %s on its tag.", b.Code)
	}
	s.say("Clean tools and boots before the next stand.")
	s.warnAll(b.Warnings)
}

// cutWords is what was cut, with its share of the stand.
func cutWords(b *models.BatchView) string {
	text := fmt.Sprintf("%s of %s cut at %s on %s%s, %s made", models.Counted(b.StemsCut, "stem"), b.Taxon, b.Stand, b.CollectedOn,
		by(b.CollectedBy), models.Counted(b.Cuttings, "cutting"))
	if b.HarvestFraction == nil || b.StandFraction == nil {
		return text
	}
	return text + fmt.Sprintf("; that is %s of the stand's bound, and %s with all of its window",
		asPercent(*b.HarvestFraction), asPercent(*b.StandFraction))
}

func (l *batchLog) logDay(ctx context.Context, c *api.Client) error {
	sheet, err := l.readSheet(ctx)
	if err != nil {
		return err
	}
	made, err := c.LogDay(ctx, sheet)
	if err != nil {
		return err
	}
	return show(l.session, made, func(d models.DayView) {
		l.say("%s logged.", many(len(d.Batches), "batch is", "batches are"))
		for i := range d.Batches {
			l.say("%s: %s.", d.Batches[i].Code, cutWords(&d.Batches[i]))
		}
		for i := range d.Batches {
			for _, w := range d.Batches[i].Warnings {
				l.warn("%s: %s", d.Batches[i].Code, w)
			}
		}
	})
}

// readSheet reads the day sheet. Standard input is waited for only as long as
// the person does.
func (l *batchLog) readSheet(ctx context.Context) ([]byte, error) {
	if l.file != "-" {
		sheet, err := os.ReadFile(l.file)
		if err != nil {
			return nil, usagef("the day sheet cannot be read: %s", strings.TrimPrefix(err.Error(), "open "))
		}
		return sheet, nil
	}
	type result struct {
		sheet []byte
		err   error
	}
	read := make(chan result, 1)
	go func() {
		sheet, err := io.ReadAll(l.env.Stdin)
		read <- result{sheet, err}
	}()
	select {
	case r := <-read:
		return r.sheet, r.err
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

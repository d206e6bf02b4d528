package cli

import (
	"context"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

// correction is the command that corrects a batch, or an entry about it.
type correction struct {
	req       models.NewCorrection
	days      []dayPatch
	treatment models.Tray // whose treatment is given by its parts
	parents   []models.Parent
}

// dayPatch is a day that a correction changes, which the nursery's today may be needed
// for.
type dayPatch struct {
	to   *models.Patch[models.Date]
	day  day
	none bool
}

// ifGone is said after a correction is refused, for the same reason as ifCut.
const ifGone = "If so many stems are cut already, correct it with --already-cut and --reason: they count, and are reviewed."

func newCorrect(s *session) *cobra.Command {
	var c correction
	cmd := &cobra.Command{
		Use: "correct BATCH", Short: "Correct what was entered wrongly about a batch",
		Long: `Corrects what was said of the cut, or, with --entry, of an entry about the batch: its
number stands before it in withy batch show. Give what it should say; none takes a
value away, and what is left out stays. With --void an entry is taken out.

What it said before is kept, and told in the history. A cut that becomes larger, or
is of another day or stand, is judged as a new cut; one that only becomes less is not.
What was entered later has to stand still: where it cannot, the answer names it.

A whole batch is voided with withy batch void, and named anew with withy batch
determine.`,
		Example: examples(
			"withy batch correct MB-03-2026-7 --stems-cut 28 --why \"counted again from the bundle\" --by OP",
			"withy batch correct MB-03-2026-7 --stand MB-04 --why \"the wrong stand was picked\" --by OP",
			"withy batch correct MB-03-2026-7 --entry 4 --rooted 31 --lost \"rotted base=3\" --why \"two trays were swapped\"",
			"withy batch correct MB-03-2026-7 --entry 5 --void --why \"entered twice\" --by OP"),
		Args: takes("BATCH"),
		RunE: s.through(func(ctx context.Context, client *api.Client, args []string) error {
			if err := c.settle(ctx, client); err != nil {
				return err
			}
			s.hint = ifGone
			batch, err := client.Correct(ctx, args[0], c.req)
			if err != nil {
				return err
			}
			return show(s, batch, s.corrected)
		}),
	}
	f := cmd.Flags()
	intFlag(cmd, &c.req.Entry, "entry", "number of the entry, as withy batch show tells it; the cut without one")
	f.BoolVar(&c.req.Void, "void", false, "the entry never was: take it out")
	f.StringVar(&c.req.Why, "why", "", "why it is corrected")
	f.StringVar(&c.req.By, "by", "", "who corrects it")
	f.BoolVar(&c.req.AlreadyCut, "already-cut", false, "the stems are gone: record the corrected cut even against a rule, to be reviewed")
	f.StringVar(&c.req.Reason, "reason", "", "why they were cut; with --already-cut")
	intFlag(cmd, &c.req.Version, "version", "version of the batch you looked at, to be told if it changed since")
	c.cutFlags(cmd)
	c.waitingFlags(cmd)
	c.trayFlags(cmd)
	c.lookFlags(cmd)
	needs(cmd, "why")
	return cmd
}

// cutFlags are what was said of the cut.
func (c *correction) cutFlags(cmd *cobra.Command) {
	p := &c.req.Changes
	patchFlag(cmd, &p.Stand, "stand", "code", "stand it was cut at", asText)
	c.dayFlag(cmd, &p.CollectedOn, "collected-on", "day the stems were cut")
	patchFlag(cmd, &p.StemsCut, "stems-cut", "count", "stems taken off the stand", parseCount)
	alias(cmd, "stems-cut", "stems")
	patchFlag(cmd, &p.Cuttings, "cuttings", "count", "cuttings made from them; of a sister, cuttings split off", parseCount)
	patchFlag(cmd, &p.CollectedBy, "collected-by", "text", "who cut", asText)
	patchFlag(cmd, &p.ParentPlants, "parent-plants", "count", "plants or clumps cut from", parseCount)
	addValue(cmd, "parent", "tag=stems", "stems cut from a plant by its tag, as TAG=STEMS[/CUTTINGS][:SEX]; give all of them", func(text string) error {
		plant, err := models.ParseParent(text)
		c.parents = append(c.parents, plant)
		return err
	})
	patchFlag(cmd, &p.Permit, "permit", "number", "permit it was cut on", asText)
	patchFlag(cmd, &p.PermitQuantity, "permit-quantity", "number", "drawn on the permit, where it counts bundles or kg", parseShare)
	patchFlag(cmd, &p.Share, "share", "crew", "crew share it was taken from", asText)
	patchFlag(cmd, &p.IdentifiedBy, "identified-by", "text", "who identified the plant", asText)
	patchWord(cmd, &p.Identification, "identification", "how sure the name is", models.Identifications)
	patchFlag(cmd, &p.RecordNumber, "record-number", "text", "the tag written on the bundle", asText)
	patchWord(cmd, &p.Purpose, "purpose", "what it was cut for", models.Purposes)
	patchWord(cmd, &p.Kind, "kind", "kind of cutting", models.CuttingKinds)
	patchFlag(cmd, &p.LengthCM, "length-cm", "number", "usual length of a cutting in centimetres", parseNumber)
	patchFlag(cmd, &p.DiameterMM, "diameter-mm", "number", "usual thickness of a cutting in millimetres", parseNumber)
	patchFlag(cmd, &p.Nodes, "nodes", "count", "usual nodes on a cutting", parseCount)
	patchFlag(cmd, &p.WoodAgeYears, "wood-age-years", "number", "age of the wood in years", parseNumber)
	patchFlag(cmd, &p.Health, "health", "text", "how the donors looked", asText)
	patchFlag(cmd, &p.HoursToWater, "hours-to-water", "number", "hours from the cut to water", parseNumber)
	patchFlag(cmd, &p.Note, "note", "text", "anything else; of the cut or of a look", asText)
}

// waitingFlags are what was said of moves and decisions.
func (c *correction) waitingFlags(cmd *cobra.Command) {
	p := &c.req.Changes
	c.dayFlag(cmd, &p.On, "on", "day of a move or decision")
	patchFlag(cmd, &p.Count, "count", "count", "cuttings stuck, moved or potted", parseCount)
	patchWord(cmd, &p.To, "to", "where a move put them", models.MoveTos)
	patchFlag(cmd, &p.Use, "use", "text", "what they were used for", asText)
	patchWord(cmd, &p.Cause, "cause", "what they were lost to before sticking", models.Causes)
	patchWord(cmd, &p.Action, "action", "what was decided", models.Actions)
	c.dayFlag(cmd, &p.Until, "until", "day to which the batch is kept")
	patchFlag(cmd, &p.By, "decided-by", "text", "who decided", asText)
	patchFlag(cmd, &p.Why, "decided-why", "text", "why it was decided", asText)
}

// trayFlags are what was said of a sticking or a potting.
func (c *correction) trayFlags(cmd *cobra.Command) {
	p := &c.req.Changes
	c.dayFlag(cmd, &p.StuckOn, "stuck-on", "day they were stuck")
	patchFlag(cmd, &p.StuckBy, "stuck-by", "text", "who stuck them", asText)
	treatmentFlags(cmd, &c.treatment)
	patchFlag(cmd, &p.BottomHeat, "bottom-heat", "yes|no|°C", "bottom heat: yes, no, or its temperature", parseHeat)
	patchFlag(cmd, &p.Mist, "mist", "yes|no", "stands under mist", parseYesNo)
	patchFlag(cmd, &p.Medium, "medium", "text", "rooting or potting medium", asText)
	patchFlag(cmd, &p.Container, "container", "text", "tray, flat, jar, cell or pot", asText)
	patchFlag(cmd, &p.Bench, "bench", "text", "bench it stands on, or pots stand on", asText)
	c.dayFlag(cmd, &p.PottedOn, "potted-on", "day they were potted")
	patchFlag(cmd, &p.PottedBy, "potted-by", "text", "who potted", asText)
}

// lookFlags are what was said of a look.
func (c *correction) lookFlags(cmd *cobra.Command) {
	p := &c.req.Changes
	c.dayFlag(cmd, &p.CheckedOn, "checked-on", "day of a look")
	patchFlag(cmd, &p.CheckedBy, "checked-by", "text", "who looked", asText)
	patchFlag(cmd, &p.Rooted, "rooted", "count", "rooted cuttings in the tray at a look", parseCount)
	patchFlag(cmd, &p.PottingRoots, "potting-roots", "count", "of the rooted, those with potting roots", parseCount)
	patchFlag(cmd, &p.Overlong, "overlong", "count", "of these, those whose roots were too long", parseCount)
	patchFlag(cmd, &p.Unrooted, "unrooted", "count", "live unrooted cuttings at a look", parseCount)
	patchLosses(cmd, &p.Lost, "lost", "lost since the look before, by cause, all of them")
	patchLosses(cmd, &p.LostRooted, "lost-rooted", "of the rooted ones, lost since the look before, by cause, all of them")
	patchFlag(cmd, &p.Withdrawn, "withdrawn", "count", "taken out unrooted since the look before", parseCount)
	patchWord(cmd, &p.Method, "method", "how roots were looked for", models.LookMethods)
	patchFlag(cmd, &p.Examined, "examined", "count", "how many were looked at, where only some were", parseCount)
}

// patchWord is patchFlag for one of a few words.
func patchWord[T ~string](cmd *cobra.Command, to *models.Patch[T], name, help string, known []T) {
	patchFlag(cmd, to, name, "word", help+": "+models.OneOf(known), parseWord(known))
	complete(cmd, name, known)
}

// patchLosses reads losses by cause, the flag given once or for each.
func patchLosses(cmd *cobra.Command, to *models.Patch[models.Losses], name, help string) {
	addValue(cmd, name, "cause=n", help, func(text string) error {
		if text == noValue {
			*to = models.SetNull[models.Losses]()
			return nil
		}
		lost := to.Value
		if lost == nil {
			lost = models.Losses{}
		}
		*to = models.SetTo(lost)
		return readLosses(lost, text)
	})
}

// dayFlag is a day that is settled before the correction is sent.
func (c *correction) dayFlag(cmd *cobra.Command, to *models.Patch[models.Date], name, help string) {
	addValue(cmd, name, "day", help, func(text string) (err error) {
		d := dayPatch{to: to, none: text == noValue}
		if !d.none {
			d.day, err = parseDay(text)
		}
		c.days = append(c.days, d)
		return err
	})
	complete(cmd, name, []string{"today", "yesterday"})
}

// settle puts days, treatment and plants into the request.
func (c *correction) settle(ctx context.Context, client *api.Client) error {
	for _, d := range c.days {
		if d.none {
			*d.to = models.SetNull[models.Date]()
			continue
		}
		on, err := d.day.in(ctx, client)
		if err != nil {
			return err
		}
		*d.to = models.SetTo(on)
	}
	if c.treatment.Treatment != nil {
		c.req.Changes.Treatment = models.SetTo(*c.treatment.Treatment)
	}
	if len(c.parents) > 0 {
		c.req.Changes.Parents = models.SetTo(c.parents)
	}
	return nil
}

// corrected tells a correction as the history does.
func (s *session) corrected(b models.BatchView) {
	s.say("%s: %s.", b.Code, lastTold(&b))
	s.next(&b)
}

// lastTold is the sentence about what was entered last.
func lastTold(b *models.BatchView) string {
	text := ""
	for _, line := range b.History {
		if line.Entry != nil && *line.Entry == b.Version {
			text = line.Text
		}
	}
	return text
}

func newVoid(s *session) *cobra.Command {
	var req models.NewVoid
	cmd := &cobra.Command{
		Use: "void BATCH", Short: "Void a batch that never was, such as one logged twice",
		Long: `Voids a batch, with all that were split off it: its stems are given back to the
stand, its tag is free again, and it counts nowhere. It stays to be seen, with its
history and who voided it. A sister alone gives her cuttings back to the batch she
was split off. What was only entered wrongly is corrected with withy batch correct.`,
		Example: examples("withy batch void MB-03-2026-8 --why \"logged twice\" --by OP"),
		Args:    takes("BATCH"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			batch, err := c.VoidBatch(ctx, args[0], req)
			if err != nil {
				return err
			}
			return show(s, batch, func(b models.BatchView) {
				s.say("%s is void, and counts nowhere any more.", b.Code)
				for _, sister := range b.Sisters {
					s.say("With it %s.", sister.Code)
				}
				s.warnAll(b.Warnings)
			})
		}),
	}
	cmd.Flags().StringVar(&req.Why, "why", "", "why it never was")
	cmd.Flags().StringVar(&req.By, "by", "", "who voids it")
	needs(cmd, "why")
	return cmd
}

func newDetermine(s *session) *cobra.Command {
	var req models.NewDetermination
	var on day
	cmd := &cobra.Command{
		Use: "determine BATCH", Short: "Name a batch anew, once someone knows which plant it is",
		Long: `Records which taxon a batch is, by whom, when, and how sure: --qualifier cf., aff. or
?. The batch that holds the stems and all its sisters go by the name from then on,
in rates too. The stand keeps its taxon, and the stems that count against it. Where
the wrong plant was cut, leads and coordinators are told by mail.`,
		Example: examples(
			"withy batch determine MB-03-2026-7 --taxon \"Salix scouleriana\" --by OP --on 2026-05-02 --qualifier cf.",
			"withy batch determine MB-03-2026-7 --taxon \"Cornus sericea\" --by OP --note \"leaves seen in May\""),
		Args: takes("BATCH"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) (err error) {
			if req.On, err = on.orToday().in(ctx, c); err != nil {
				return err
			}
			batch, err := c.Determine(ctx, args[0], req)
			if err != nil {
				return err
			}
			return show(s, batch, func(b models.BatchView) {
				s.say("%s: %s.", b.Code, lastTold(&b))
				s.namedToo(&b)
				s.warnAll(b.Warnings)
			})
		}),
	}
	f := cmd.Flags()
	f.StringVar(&req.Taxon, "taxon", "", "scientific name of the taxon it is")
	dayFlag(cmd, &on, "on", "day it was named; today by default")
	f.StringVar(&req.By, "by", "", "who named it")
	wordFlag(cmd, &req.Qualifier, "qualifier", "how the name is hedged", models.Qualifiers)
	wordFlag(cmd, &req.Identification, "identification", "how sure the name is; confirmed by default, qualified with a qualifier", models.Identifications)
	f.StringVar(&req.Note, "note", "", "what it was told by")
	needs(cmd, "taxon", "by")
	return cmd
}

// namedToo says which batches go by the new name of a batch as well: those that were
// split off it, or what it was split off itself.
func (s *session) namedToo(b *models.BatchView) {
	if b.SplitFrom != "" {
		s.say("%s, from which it was split off, and all its sisters go by that name too.", b.SplitFrom)
	}
	for _, sister := range b.Sisters {
		s.say("%s goes by that name too.", sister.Code)
	}
}

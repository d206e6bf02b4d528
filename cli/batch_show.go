package cli

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

func newBatchShow(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "show BATCH", Short: "Show a batch whole: counts, rooting, flags and history",
		Example: examples("withy batch show MB-03-2026-7", "withy batch show MB-03-2026-7 --json"),
		Args:    takes("BATCH"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			batch, err := c.Batch(ctx, args[0])
			if err != nil {
				return err
			}
			return show(s, batch, s.batchWords)
		}),
	}
}

func (s *session) batchWords(b models.BatchView) {
	s.say("%s  %s  %s", b.Code, taxonWords(models.QualifiedName(b.Taxon, b.Qualifier), b.CommonName), standing(b.State, b.Stage))
	s.origin(&b)
	s.say("")
	s.balance(&b)
	s.say("")
	s.rootingWords(&b)
	if len(b.Flags) > 0 {
		s.say("")
		s.say("It asks for:")
		for _, item := range b.Flags {
			s.say("  %s: %s", item.Flag.Words(), item.Reason)
		}
	}
	s.say("")
	var rows [][]string
	for _, line := range b.History {
		rows = append(rows, []string{maybe(line.Entry, strconv.Itoa), line.On.String(), line.Text})
	}
	s.table([]column{numCol("ENTRY"), col("DAY"), textCol("WHAT HAPPENED")}, rows, "Nothing happened to it yet.")
	s.flagHistory(b.FlagHistory)
	s.warnAll(b.Warnings)
}

// flagHistory tells what a batch asked for, and when that was met.
func (s *session) flagHistory(spans []models.FlagSpan) {
	if len(spans) == 0 {
		return
	}
	var rows [][]string
	for _, span := range spans {
		rows = append(rows, []string{span.RaisedOn.String(), dash(span.ClearedOn.String()), span.Flag.Words(), span.Reason})
	}
	s.say("")
	s.table([]column{col("ASKED ON"), col("MET ON"), col("FOR"), textCol("WHY")}, rows, "")
}

// origin tells where a batch comes from.
func (s *session) origin(b *models.BatchView) {
	if b.SplitFrom != "" {
		s.say("Split off %s, which holds the stems; cut at %s on %s.", b.SplitFrom, b.Stand, b.CollectedOn)
	} else {
		s.say("%s.", upper(cutWords(b)))
	}
	if b.Survey != nil {
		s.say("Shares are of %s.", surveyWords(b.Survey))
	}
	if b.ParentPlants != nil {
		s.say("From %s.", models.Counted(*b.ParentPlants, "parent plant"))
	}
	s.parentWords(b)
	if b.Permit != "" && b.PermitQuantity != nil {
		s.say("Cut on permit %s, drawing %s %s.", b.Permit, *b.PermitQuantity, b.PermitUnit)
	}
	if b.Crew != "" {
		s.say("Taken from the share of %s.", b.Crew)
	}
	s.say("Identification: %s%s. Cut for %s%s.", dash(words(b.Identification)), by(b.IdentifiedBy), dash(words(b.Purpose)), kindWords(b))
	switch {
	case b.ToReview && b.SplitFrom != "":
		s.say("To review with the stems it came from: withy batch show %s.", b.SplitFrom)
	case b.ToReview:
		s.say("To review, reason: %s", b.Reason)
		s.say("Recorded against a rule: %s", b.RefusedBy)
	}
	if b.Note != "" {
		s.say("Note: %s", b.Note)
	}
	for _, sister := range b.Sisters {
		s.say("Sister %s: %s, treatment %s.", sister.Code, models.Counted(sister.Cuttings, "cutting"), dash(sister.Treatment))
	}
}

func kindWords(b *models.BatchView) string {
	text := ""
	if b.Kind != "" {
		text = ", " + words(b.Kind)
	}
	if b.LengthCM != nil {
		text += ", " + number(*b.LengthCM, 1) + " cm long"
	}
	if b.DiameterMM != nil {
		text += ", " + number(*b.DiameterMM, 1) + " mm thick"
	}
	return text
}

func upper(text string) string { return strings.ToUpper(text[:1]) + text[1:] }

// balance tells where every cutting is; both sides of both lines are equal.
func (s *session) balance(b *models.BatchView) {
	t := &b.Counts
	s.say("%s", sum(t.Made, "made", []part{
		{t.InHand, "in hand"}, {t.Soaking, "soaking"}, {t.Refrigerator, "in the refrigerator"}, {t.ColdStore, "in cold store"},
		{t.LostWaiting, "lost before sticking"}, {t.Used, "used unrooted"}, {t.ToSisters, "in sisters"}, {t.Stuck, "stuck"},
	}))
	if t.Stuck == 0 {
		return
	}
	s.say("%s", sum(t.Stuck, "stuck", []part{
		{t.Unrooted, "unrooted"}, {t.Rooted, "rooted in the tray"}, {t.LostUnrooted, "lost before rooting"},
		{t.LostRooted, "lost after rooting"}, {t.Withdrawn, "withdrawn"}, {t.Potted, "potted"},
	}))
	if len(t.LostByCause) > 0 {
		s.say("Lost: %s.", lossWords(t.LostByCause))
	}
	if b.Sticking != nil {
		s.say("%s.", stickingWords(b.Sticking))
	}
}

// part is a part of a count.
type part struct {
	n    int
	what string
}

func sum(whole int, what string, parts []part) string {
	var terms []string
	for _, p := range parts {
		if p.n != 0 {
			terms = append(terms, fmt.Sprintf("%d %s", p.n, p.what))
		}
	}
	if len(terms) == 0 {
		return fmt.Sprintf("%d %s", whole, what)
	}
	return fmt.Sprintf("%d %s = %s", whole, what, strings.Join(terms, " + "))
}

func lossWords(lost models.Losses) string {
	var list []string
	for _, cause := range slices.Sorted(maps.Keys(lost)) {
		list = append(list, fmt.Sprintf("%d %s", lost[cause], cause.Words()))
	}
	return strings.Join(list, ", ")
}

func stickingWords(st *models.Sticking) string {
	text := fmt.Sprintf("Stuck on %s%s; treatment: %s", st.StuckOn, by(st.StuckBy), dash(st.Label))
	for _, detail := range []struct{ what, is string }{
		{"medium", st.Medium}, {"container", st.Container}, {"bench", st.Bench}, {"bottom heat", heatWords(st.BottomHeat)},
	} {
		if detail.is != "" {
			text += "; " + detail.what + ": " + detail.is
		}
	}
	if st.Mist {
		text += "; under mist"
	}
	return text
}

func heatWords(heat *models.BottomHeat) string {
	switch {
	case heat == nil || heat.IsZero():
		return ""
	case heat.Celsius != 0:
		return number(heat.Celsius, 1) + " °C"
	case heat.Heated:
		return "yes"
	}
	return "no"
}

// rootingWords tells what rooted, always with its day, and how long it took.
func (s *session) rootingWords(b *models.BatchView) {
	if b.Sticking == nil {
		s.say("Not stuck yet, so nothing is known of its rooting.")
		return
	}
	r := b.Rooting
	if r == nil {
		s.say("Roots were not looked at yet.")
		return
	}
	s.say("Rooting: %s on %s, %d of %d stuck; 95 %% interval %s to %s, for this batch alone.",
		percent(r.Percent), r.On, r.EverRooted, r.Stuck, percent(r.Lower), percent(r.Upper))
	if d := b.DaysToRoot; d != nil {
		s.say("Of those stuck, %s.", bracketWords(d.OfStuck))
		s.say("Of those rooted so far, %s.", bracketWords(d.OfRooted))
	}
}

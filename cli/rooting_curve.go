package cli

import (
	"cmp"
	"fmt"
	"strconv"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/documents"
	"withybed/models/rules"
)

func newCurve(s *session) *cobra.Command {
	a := &curveAsk{rootingAsk: rootingAsk{session: s}}
	cmd := &cobra.Command{
		Use: "curve", Short: "Show the share rooted and lost, day by day",
		Long: `Shows the share rooted and the share lost by day, worked out from batches that were
looked at on different days: a cutting found rooted rooted at some time since the
look before, and losses compete with rooting. All batches are pooled unless they are
grouped with --by. Limits come from whole batches drawn again. With --svg or --png
it is drawn into a file.` + aboutFile,
		Example: examples("withy rooting curve --taxon \"Cornus sericea\"", "withy rooting curve --by treatment --season 2025/26",
			"withy rooting curve --file checks.csv --by treatment --svg curve.svg", "withy rooting curve --file - --json < checks.csv"),
		Args: takes(), PreRunE: a.prepare,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return groupReport[models.CurveReport]{(*api.Client).RootingCurve, rules.CurveReport}.ask(&a.rootingAsk, cmd, a.use)
		},
	}
	a.flags(cmd)
	a.groupFlag(cmd)
	a.drawFlags(cmd)
	a.pictureFlags(cmd)
	return cmd
}

// curveAsk asks for curves, maybe drawn.
type curveAsk struct {
	rootingAsk
	pictureFiles
}

func (a *curveAsk) prepare(cmd *cobra.Command, args []string) error {
	if err := a.rootingAsk.prepare(cmd, args); err != nil {
		return err
	}
	return a.check(a.session)
}

// use draws the curves, or tells them.
func (a *curveAsk) use(r models.CurveReport) error {
	if !a.drawn() {
		return show(a.session, r, a.curveTables)
	}
	return a.drawBoth(func(format documents.Format) ([]byte, error) { return documents.CurvePicture(r, format) })
}

// drawBoth draws into the files that were named.
func (a *curveAsk) drawBoth(picture func(documents.Format) ([]byte, error)) error {
	return a.draw(a.session, picture)
}

func (s *session) curveTables(r models.CurveReport) {
	s.eachGroup(r.On, len(r.Groups), func(i int) *models.RootingCounts { return &r.Groups[i].RootingCounts },
		func(i int) { s.curveTable(r.By, &r.Groups[i]) })
	if text := documents.CurveText(r, min(cmp.Or(s.env.Width, usualWidth), usualWidth)); text != "" {
		_, _ = s.out.WriteString("\n" + documents.Printable(text)) // the writer keeps its error
	}
}

func (s *session) curveTable(by []string, c *models.RootingCurve) {
	s.tell("%s: %s.", keyWords(by, c.Key), countWords(&c.RootingCounts))
	var rows [][]string
	for _, p := range c.Curve {
		limits := "-"
		if p.Limits != nil {
			limits = fmt.Sprintf("%.0f-%.0f %%", 100*p.Limits[0], 100*p.Limits[1])
		}
		rows = append(rows, []string{strconv.Itoa(p.Day), shareWords(p.RootedLower, p.RootedUpper), limits, shareWords(p.LostLower, p.LostUpper), strconv.Itoa(p.AtRisk)})
	}
	s.table([]column{numCol("DAY"), numCol("ROOTED"), numCol("LIMITS"), numCol("LOST"), numCol("WATCHED")}, rows, "")
	if c.Tau != nil && len(c.Curve) > 0 && c.Curve[len(c.Curve)-1].Day > *c.Tau {
		s.tell("After day %d too few were watched to say anything.", *c.Tau)
	}
	s.tell("Rate %s. Half of those stuck: %s.", rateWords(&c.Rate), halfWords(c.DaysToRoot.OfStuck.T50.Bracket))
	if c.Rate.RhoAssumed {
		s.tell("%s.", capital(rhoAssumed))
	}
	for _, note := range c.Notes {
		s.tell("Note: %s.", note)
	}
}

// shareWords is a share, or a stretch of shares within which it lies.
func shareWords(lower, upper float64) string {
	if low, high := percent(100*lower), percent(100*upper); low != high {
		return fmt.Sprintf("%.1f-%s", 100*lower, high)
	}
	return percent(100 * lower)
}

// countWords are the counts of a group. Those taken out are named where there are
// any.
func countWords(c *models.RootingCounts) string {
	text := fmt.Sprintf("%s, %d stuck, %d rooted, %d lost, %d open", many(c.Batches, "batch", "batches"), c.Cuttings, c.Rooted, c.Lost, c.Open)
	if c.Withdrawn > 0 {
		text += fmt.Sprintf(", %d taken out unrooted", c.Withdrawn)
	}
	return text
}

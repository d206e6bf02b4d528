package cli

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/documents"
	"withybed/models/rules"
)

func newFit(s *session) *cobra.Command {
	a := &fitAsk{curveAsk{rootingAsk: rootingAsk{session: s}}}
	cmd := &cobra.Command{
		Use: "fit", Short: "Fit models of the days to root, with a share that never roots",
		Long: `Fits three families of models to the days to root, in which a share of the cuttings
never roots: Weibull, log-logistic and log-normal. They are ranked by a criterion
that allows for batches that differ; families as good as the best are named with it,
and what hangs on the choice is said. Where rooting was still going on at the last
look the share that roots cannot be told, and the table leaves it out. A family
that cannot be had is declined with the reason. With --svg or --png they are drawn
over the curve, which shows how well they fit. All batches are pooled unless they
are grouped with --by.` + aboutFile,
		Example: examples("withy rooting fit --taxon \"Cornus sericea\"", "withy rooting fit --by treatment", "withy rooting fit --file checks.csv --json",
			"withy rooting fit --file checks.csv --svg fit.svg"),
		Args: takes(), PreRunE: a.prepare,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return report(&a.rootingAsk, cmd, a.far, a.near, a.use)
		},
	}
	a.flags(cmd)
	a.groupFlag(cmd)
	a.pictureFlags(cmd)
	return cmd
}

// fitAsk asks for fits, maybe drawn over the curve.
type fitAsk struct{ curveAsk }

// fitAnswer is fits, and the curve to draw them over where that was asked for.
type fitAnswer struct {
	fit   models.FitReport
	curve models.CurveReport
}

func (a *fitAsk) prepare(cmd *cobra.Command, args []string) error {
	if a.drawn() && len(a.q.By) > 0 {
		return usagef("--by does not go with --svg and --png: a picture holds the models of one pool, so pick it, as with --treatment")
	}
	a.q.Replicates, a.q.Seed = usualReplicates, usualSeed
	return a.curveAsk.prepare(cmd, args)
}

func (a *fitAsk) far(ctx context.Context, c *api.Client) (answer fitAnswer, err error) {
	if answer.fit, err = c.RootingFit(ctx, a.q.RootingPick, a.q.By); err == nil && a.drawn() {
		answer.curve, err = c.RootingCurve(ctx, a.q)
	}
	return answer, err
}

func (a *fitAsk) near(ctx context.Context) (answer fitAnswer, err error) {
	if answer.fit, err = rules.FitReport(ctx, a.checks.Batches, a.q.By); err == nil && a.drawn() {
		answer.curve, err = rules.CurveReport(ctx, a.checks.Batches, nil, a.q.Drawing)
	}
	return answer, err
}

func (a *fitAsk) use(answer fitAnswer) error {
	if !a.drawn() {
		return show(a.session, answer.fit, a.fitTables)
	}
	return a.drawBoth(func(format documents.Format) ([]byte, error) {
		return documents.FitPicture(answer.curve, answer.fit, format)
	})
}

func (s *session) fitTables(r models.FitReport) {
	groups := r.Groups
	if len(r.By) == 0 {
		groups = []models.FitGroup{r.FitGroup}
	}
	s.eachGroup(r.On, len(groups), func(i int) *models.RootingCounts { return &groups[i].RootingCounts },
		func(i int) { s.fitTable(r.By, &groups[i]) })
}

func (s *session) fitTable(by []string, g *models.FitGroup) {
	s.tell("%s: %s.", keyWords(by, g.Key), countWords(&g.RootingCounts))
	var rows [][]string
	for i := range g.Fits {
		f := &g.Fits[i]
		rows = append(rows, []string{words(f.Family), fitWords[f.Status], rootsWords(f), maybe(f.T10, dayNumber), maybe(f.T50, dayNumber), maybe(f.T90, dayNumber), maybe(criterionOf(f), criterionWords)})
	}
	s.table([]column{col("FAMILY"), col("FIT"), numCol("ROOTS"), numCol("A TENTH"), numCol("HALF"), numCol("NINE TENTHS"), numCol("CRITERION")}, rows, "")
	if g.Selected != "" {
		s.tell("%s", selectedWords(g))
	}
	s.reasons(g.Fits)
	for _, note := range g.Notes {
		s.tell("Note: %s.", note)
	}
}

// reasons say why fits are not what was hoped for, each reason once.
func (s *session) reasons(fits []models.RootingFit) {
	families := map[string][]string{}
	var order []string
	for _, f := range fits {
		if f.Reason == "" {
			continue
		}
		if families[f.Reason] == nil {
			order = append(order, f.Reason)
		}
		families[f.Reason] = append(families[f.Reason], words(f.Family))
	}
	for _, reason := range order {
		s.tell("%s: %s.", capital(listWords(families[reason])), strings.TrimSuffix(reason, "."))
	}
}

func listWords(all []string) string {
	last := len(all) - 1
	if last < 1 {
		return strings.Join(all, "")
	}
	return strings.Join(all[:last], ", ") + " and " + all[last]
}

var fitWords = map[string]string{
	"converged": "good", "pi_not_identified": "share open", "declined": "declined", "not_converged": "not settled",
}

// rootsWords is the share that roots in the end. Where it cannot be told it is left
// out.
func rootsWords(f *models.RootingFit) string {
	if f.Parameters == nil || f.Status == "pi_not_identified" {
		return "-"
	}
	return percent(100 * f.Parameters.PiRoot)
}

// criterionOf is what families are ranked by: the criterion that allows for
// batches, or Akaike's where that cannot be had.
func criterionOf(f *models.RootingFit) *float64 {
	if f.CLIC != nil {
		return f.CLIC
	}
	return f.AIC
}

func criterionWords(x float64) string { return number(x, 1) }

func dayNumber(day float64) string { return "day " + number(day, 1) }

func selectedWords(g *models.FitGroup) string {
	text := "Best: " + words(g.Selected)
	if len(g.Tied) == 0 {
		return text + "."
	}
	var tied []string
	for _, name := range g.Tied {
		tied = append(tied, words(name))
	}
	return text + "; as good: " + listWords(tied) + "."
}

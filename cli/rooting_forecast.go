package cli

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/documents"
	"withybed/models/nursery"
	"withybed/models/rules"
)

// forecastAsk asks for forecasts, maybe drawn.
type forecastAsk struct {
	curveAsk
	batches []string
	wanted  int
}

func newForecast(s *session) *cobra.Command {
	a := &forecastAsk{curveAsk: curveAsk{rootingAsk: rootingAsk{session: s}}}
	cmd := &cobra.Command{
		Use: "forecast [BATCH...]", Short: "Show what open batches are expected to root, and when",
		Long: `Shows for every open batch, going by its last look and by batches like it: how many
are expected to root in the end with the 80 % band, the day by which the wanted
number is rooted with 90 % chance (four fifths of the expected number unless --wanted
says so), the chance that what has not rooted still will, and the rootings expected
in the next seven days. With one batch the numbers are shown by day as well, and
--svg or --png draws them into a file. The batches a forecast goes by are said with
it; where there are too few it goes by more of them, and in the end by general
experience. A forecast brings a look forward at most: whether a tray is fit to pot
is seen by its roots.` + aboutFile,
		Example: examples("withy rooting forecast --taxon \"Cornus sericea\"", "withy rooting forecast MB-03-2026-7 --wanted 40",
			"withy rooting forecast MB-03-2026-7 --svg forecast.svg", "withy rooting forecast --file checks.csv --json"),
		PreRunE: a.prepare,
		RunE: func(cmd *cobra.Command, args []string) error {
			a.batches = args
			return report(&a.rootingAsk, cmd, a.far, a.near, a.use)
		},
	}
	a.flags(cmd)
	within(cmd, &a.wanted, "wanted", "rooted cuttings wanted of each batch, and four fifths of the expected number with 0", 0, models.MaxCount)
	a.pictureFlags(cmd)
	return cmd
}

func (a *forecastAsk) far(ctx context.Context, c *api.Client) (models.ForecastReport, error) {
	return c.RootingForecast(ctx, nursery.ForecastQuery{RootingPick: a.q.RootingPick, Batches: a.batches, Wanted: a.wanted})
}

func (a *forecastAsk) near(ctx context.Context) (models.ForecastReport, error) {
	named := map[string]bool{}
	for _, code := range a.batches {
		named[models.NameKey(code)] = true
	}
	shown := func(w *rules.Watched) bool { return len(named) == 0 || named[models.NameKey(w.Lot.ID)] }
	return rules.ForecastReport(ctx, a.checks.Batches, shown, rules.ForecastAsk{Wanted: a.wanted})
}

// use draws a forecast, or tells all of them.
func (a *forecastAsk) use(r models.ForecastReport) error {
	if !a.drawn() {
		return show(a.session, r, a.forecastTables)
	}
	return a.drawBoth(func(format documents.Format) ([]byte, error) { return documents.ForecastPicture(r, format) })
}

func (a *forecastAsk) forecastTables(r models.ForecastReport) {
	var rows [][]string
	for i := range r.Batches {
		b := &r.Batches[i]
		rows = append(rows, []string{
			b.Batch, fmt.Sprintf("%d of %d", b.Rooted, b.Cuttings), fmt.Sprintf("%.0f (%d-%d)", b.ExpectedFinal, b.FinalLower, b.FinalUpper),
			potWords(&b.Pot), percent(100 * b.StillRoots), number(b.NextWeek, 1),
		})
	}
	a.table([]column{col("BATCH"), numCol("ROOTED"), numCol("IN THE END"), textCol("WANTED, WITH 90 %"), numCol("OPEN ROOT"), numCol("NEXT 7 DAYS")},
		rows, "No open batch is in a tray.")
	if len(r.Batches) == 1 {
		a.forecastDays(&r.Batches[0])
	}
	a.sayGrouped(r.Batches)
	for _, note := range r.Notes {
		a.tell("Note: %s.", note)
	}
}

// sayGrouped says what forecasts go by and what to know of them: each sentence once,
// after the batches it is about.
func (a *forecastAsk) sayGrouped(batches []models.BatchForecast) {
	about := map[string][]string{}
	var order []string
	for i := range batches {
		b := &batches[i]
		for _, text := range append([]string{poolWords(&b.Pool)}, b.Notes...) {
			if about[text] == nil {
				order = append(order, text)
			}
			about[text] = append(about[text], b.Batch)
		}
	}
	for _, text := range order {
		a.tell("%s: %s.", someOf(about[text], ", "), text)
	}
}

func (a *forecastAsk) forecastDays(b *models.BatchForecast) {
	var rows [][]string
	for _, d := range b.Days {
		rows = append(rows, []string{d.On.String(), fmt.Sprint(d.Day), number(d.Expected, 1), fmt.Sprintf("%d-%d", d.Lower, d.Upper)})
	}
	a.say("")
	a.table([]column{col("BY"), numCol("DAY"), numCol("ROOTED"), numCol("80 % BAND")}, rows, "")
}

func potWords(due *models.ForecastDue) string {
	switch due.Status {
	case "now":
		return fmt.Sprintf("%d now", due.Wanted)
	case "by_day":
		return fmt.Sprintf("%d by %s", due.Wanted, due.On)
	}
	return fmt.Sprintf("%d not reached", due.Wanted)
}

// poolWords say what a forecast goes by.
func poolWords(p *models.ForecastPool) string {
	text := fmt.Sprintf("goes by %s of %s", many(p.Batches, "batch", "batches"), p.Basis)
	if p.Level == "prior" {
		text = "goes by general experience"
	}
	if len(p.Wider) > 0 {
		text += ", not by " + strings.Join(p.Wider, "; nor by ")
	}
	return text
}

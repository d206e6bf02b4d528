package cli

import (
	"context"
	"strconv"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

func newLedger(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "ledger STAND", Short: "List the stems taken from a stand, the latest entered first",
		Example: examples("withy stand ledger MB-03"),
		Args:    takes("STAND"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			return showAll(s, c.Ledger(ctx, args[0]), s.ledgerTable)
		}),
	}
}

func (s *session) ledgerTable(lines []models.LedgerLine) {
	var rows [][]string
	for _, l := range lines {
		rows = append(rows, []string{l.TakenOn.String(), words(l.Kind), strconv.Itoa(l.Stems), strconv.Itoa(l.Parents), dash(l.Batch), dash(l.EnteredBy), l.Why})
	}
	s.table([]column{col("TAKEN ON"), col("KIND"), numCol("STEMS"), numCol("PARENTS"), col("BATCH"), textCol("BY"), textCol("WHY")}, rows,
		"No stems of this stand are on the ledger.")
}

func newSeasons(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "seasons STAND", Short: "Show what was taken of a stand season by season",
		Long:    "Sums the ledger of a stand by growth year, 1 July to 30 June, as a share of the survey then in force.",
		Example: examples("withy stand seasons MB-03"),
		Args:    takes("STAND"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			seasons, err := c.Seasons(ctx, args[0])
			if err != nil {
				return err
			}
			return showItems(s, seasons, s.seasonTable)
		}),
	}
}

func (s *session) seasonTable(seasons []models.SeasonTaken) {
	var rows [][]string
	for _, season := range seasons {
		rows = append(rows, []string{season.Season, strconv.Itoa(season.Stems), strconv.Itoa(season.Batches),
			maybe(season.Fraction, asPercent), maybe(season.LowerBound, func(d models.Decimal) string { return number(d.Float(), 1) }), dash(season.SurveyedOn.String())})
	}
	s.table([]column{col("SEASON"), numCol("STEMS"), numCol("BATCHES"), numCol("OF BOUND"), numCol("BOUND"), col("COUNTED")}, rows,
		"No stems of this stand are on the ledger.")
}

// asPercent is a fraction as a percent.
func asPercent(fraction float64) string { return percent(100 * fraction) }

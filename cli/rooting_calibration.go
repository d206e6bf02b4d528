package cli

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/documents"
	"withybed/models/nursery"
	"withybed/models/rules"
)

// calibrationAsk asks how forecasts did, maybe drawn.
type calibrationAsk struct {
	curveAsk
	origins int
}

// usualOrigins is how many looks forecasts are replayed from unless asked otherwise.
const usualOrigins = 100

func newCalibration(s *session) *cobra.Command {
	a := &calibrationAsk{curveAsk: curveAsk{rootingAsk: rootingAsk{session: s}}, origins: usualOrigins}
	cmd := &cobra.Command{
		Use: "calibration", Short: "Show how good past forecasts would have been",
		Long: `Replays forecasts: from each look that was followed by another one, with what had been
entered by the end of that day and nothing else, and holds them against the looks
that came later. It shows how often the 80 % bands held, which is a little more than
80 % where they are right since counts are whole; how far the foretold days were off;
and how close the counts came beside those of last season's batches at the same age.
The newest looks are replayed, as many as --origins says. With --svg or --png what
came of the chances is drawn into a file.` + aboutFile,
		Example: examples("withy rooting calibration", "withy rooting calibration --taxon \"Cornus sericea\" --origins 300",
			"withy rooting calibration --file checks.csv --json"),
		Args: takes(), PreRunE: a.prepare,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return report(&a.rootingAsk, cmd, a.far, a.near, a.use)
		},
	}
	a.flags(cmd)
	within(cmd, &a.origins, "origins", "looks to make forecasts from, the newest", 1, 10_000)
	a.pictureFlags(cmd)
	return cmd
}

func (a *calibrationAsk) far(ctx context.Context, c *api.Client) (models.Calibration, error) {
	return c.RootingCalibration(ctx, nursery.CalibrationQuery{RootingPick: a.q.RootingPick, Origins: a.origins})
}

func (a *calibrationAsk) near(ctx context.Context) (models.Calibration, error) {
	ask := rules.CalibrationAsk{Origins: a.origins, Told: a.replayedSoFar()}
	return rules.Calibrate(ctx, a.checks.Batches, rules.FilePast(a.checks.Batches), ask)
}

// replayedSoFar tells on a terminal how far a long replay is.
func (a *calibrationAsk) replayedSoFar() func(done, of int) {
	if a.env.Width == 0 {
		return nil
	}
	tenth := 0
	return func(done, of int) {
		if now := 10 * done / of; now > tenth {
			tenth = now
			a.note("%d of %d looks replayed", done, of)
		}
	}
}

func (a *calibrationAsk) use(r models.Calibration) error {
	if !a.drawn() {
		return show(a.session, r, a.calibrationWords)
	}
	return a.drawBoth(func(format documents.Format) ([]byte, error) { return documents.CalibrationPicture(r, format) })
}

func (a *calibrationAsk) calibrationWords(r models.Calibration) {
	if r.Status == "not_enough_yet" {
		a.tell("Not enough yet: no look at roots from which a forecast can be made was followed by another one.")
	} else {
		a.heldTable(&r)
		a.dayWords(&r.Days)
		a.countScoreWords(&r.Counts)
	}
	for _, note := range r.Notes {
		a.tell("Note: %s.", note)
	}
}

var poolLevels = map[string]string{
	"taxon_kind_treatment": "taxon, kind, treatment", "taxon_kind": "taxon, kind", "taxon": "taxon", "prior": "general experience",
}

func (a *calibrationAsk) heldTable(r *models.Calibration) {
	var rows [][]string
	for i := range r.ByLevel {
		rows = append(rows, heldRow(poolLevels[r.ByLevel[i].Level], &r.ByLevel[i].HeldShare))
	}
	rows = append(rows, heldRow("all", &r.Held))
	a.tell("%s replayed. How often the 80 %% bands held, with 95 %% limits:", models.Counted(r.Origins, "forecast"))
	a.table([]column{textCol("WENT BY"), numCol("BATCHES"), numCol("LOOKS"), numCol("HELD"), numCol("EXPECTED")}, rows, "")
}

func heldRow(name string, h *models.HeldShare) []string {
	held := maybe(h.Held, sharePercent)
	if h.Lower != nil && h.Upper != nil {
		held += fmt.Sprintf(" (%.0f-%.0f)", 100**h.Lower, 100**h.Upper)
	}
	return []string{name, fmt.Sprint(h.Batches), fmt.Sprint(h.Looks), held, maybe(h.Expected, sharePercent)}
}

func sharePercent(share float64) string { return percent(100 * share) }

func (a *calibrationAsk) dayWords(d *models.DayScore) {
	if d.MeanError != nil {
		a.tell("Days of the wanted number: %d of %d inside the stretch between two looks in which it came; %s days off on average.",
			d.Inside, d.Forecasts, number(*d.MeanError, 1))
	}
	if d.Undated > 0 {
		a.tell("No day was foretold for %d that had the number all the same.", d.Undated)
	}
	if d.NeverBrier != nil {
		a.tell("%d never had the number by their last look: the chances they were given score %s (Brier; 0 is best).", d.Never, number(*d.NeverBrier, 3))
	}
}

func (a *calibrationAsk) countScoreWords(c *models.CountScore) {
	if c.Forecast == nil || c.LastSeason == nil {
		a.tell("No batches of the season before to hold the counts against.")
		return
	}
	a.tell("Counts, over %s: ranked probability score %s, and %s for last season's batches at the same age (less is better).",
		many(c.Looks, "look", "looks"), number(*c.Forecast, 4), number(*c.LastSeason, 4))
}

package cli

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/nursery"
)

func newBoard(s *session) *cobra.Command {
	var q nursery.BoardQuery
	var on, known day
	var csv bool
	cmd := &cobra.Command{
		Use: "board", Short: "Show every stand with what is left of it",
		Long: `Shows every stand with what was taken in its window, what is set aside for crews, what
is left within every rule, what limits it and from when on a stem is possible. The most
left comes first; stands over their limit come last. No number here is leave to cut.`,
		Example: examples("withy board", "withy board --on 2026-11-01 --land-manager \"Wrenlow Valley Parks\"", "withy board --known-on 2026-01-31 --csv > board.csv"),
		Args:    takes(),
		PreRunE: func(*cobra.Command, []string) error {
			if csv && s.json {
				return usagef("--json and --csv do not go together: ask for one of them")
			}
			return nil
		},
		RunE: s.through(func(ctx context.Context, c *api.Client, _ []string) (err error) {
			if q.On, err = on.in(ctx, c); err != nil {
				return err
			}
			if q.KnownOn, err = known.in(ctx, c); err != nil {
				return err
			}
			if csv {
				return s.boardCSV(ctx, c, q)
			}
			board, err := c.Board(ctx, q)
			if err != nil {
				return err
			}
			return show(s, board, s.boardTable)
		}),
	}
	dayAheadFlag(cmd, &on, "on", "the day it speaks of; today by default")
	cmd.Flags().StringVar(&q.LandManager, "land-manager", "", "only stands on their land")
	cmd.Flags().StringVar(&q.Place, "place", "", "only stands at this place")
	cmd.Flags().StringVar(&q.Taxon, "taxon", "", "only stands of this taxon")
	knownFlag(cmd, &known)
	cmd.Flags().BoolVar(&csv, "csv", false, "print CSV, with every field and its name in the first line")
	return cmd
}

func (s *session) boardCSV(ctx context.Context, c *api.Client, q nursery.BoardQuery) error {
	table, err := c.BoardCSV(ctx, q)
	if err != nil {
		return err
	}
	_, err = s.out.Write(table)
	return err
}

// boardTable is a line of numbers for each stand, and what holds there below it.
func (s *session) boardTable(b models.Board) {
	if len(b.Stands) == 0 {
		s.say("There are no such stands.")
		return
	}
	var rows [][]string
	var over []string
	for i := range b.Stands {
		r := &b.Stands[i]
		if r.Over > 0 {
			over = append(over, r.Stand)
		}
		rows = append(rows, []string{
			r.Stand, leftText(&r.StandUse), strconv.Itoa(r.Taken), strconv.Itoa(r.SetAside), strconv.Itoa(r.Limit),
			maybe(r.OpenFrom, models.Date.String), bindsText(&r.StandUse),
		})
	}
	s.tableWith([]column{col("STAND"), numCol("LEFT"), numCol("TAKEN"), numCol("ASIDE"), numCol("LIMIT"), col("OPEN FROM"), col("BINDS")}, rows,
		func(row int) string { return boardWords(&b.Stands[row]) })
	if len(over) > 0 {
		s.say("Over the limit, cut no more there: %s.", strings.Join(over, ", "))
	}
	s.say("Stems in the windows that end on %s. No number here is leave to cut.", b.On)
}

// bindsText is the rule that allows the least.
func bindsText(u *models.StandUse) string {
	if u.Binding == nil || u.Left == nil {
		return "-"
	}
	return u.Binding.Code
}

// leftText is what is left of a stand: free where a salvage sets no number.
func leftText(u *models.StandUse) string {
	if u.Left == nil {
		return "free"
	}
	return strconv.Itoa(*u.Left)
}

// boardWords say whose a stand is and what holds there.
func boardWords(r *models.BoardRow) string {
	text := r.Name + ", " + r.Taxon
	if r.LandManager != "" {
		text += " (" + r.LandManager + ")"
	}
	return text + ": " + useWords(&r.StandUse)
}

// useWords are what holds at a stand, the worst first.
func useWords(u *models.StandUse) string {
	var parts []string
	if u.Over > 0 {
		parts = append(parts, fmt.Sprintf("OVER ITS LIMIT BY %d", u.Over))
	}
	if word := openText[u.State]; word != "" {
		parts = append(parts, word)
	}
	counted := "never counted"
	if u.Survey != nil && u.SurveyAge != nil {
		counted = fmt.Sprintf("counted %s, %s ago", u.Survey.SurveyedOn, models.Counted(*u.SurveyAge, "day"))
	}
	return strings.Join(append(parts, counted, permitText(u)), "; ")
}

var openText = map[models.StandState]string{
	models.StandClosed: "closed", models.StandNestCheck: "look for nests first", models.StandAtRest: "at rest",
	models.StandUncounted: "count it again", models.StandSalvage: "salvage",
}

func permitText(u *models.StandUse) string {
	switch u.Permit {
	case models.PermitOnFile, models.PermitUsedUp:
		text := u.PermitNo
		if u.Permit == models.PermitUsedUp {
			text += ", used up"
		}
		if !u.PermitTo.IsZero() {
			text += ", to " + u.PermitTo.String()
		}
		return "permit " + text
	case models.PermitMissing:
		return "permit needed, none on file"
	case models.PermitNotRequired:
		return "no permit needed"
	}
	return "leave not on file"
}

package cli

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

// restAsked is what is asked of the rests of a stand.
type restAsked struct {
	from, to day
	why, by  string
	end      bool
	rest     string // which one is ended; the only one where it is empty
}

func newRest(s *session) *cobra.Command {
	var asked restAsked
	cmd := &cobra.Command{
		Use: "rest STAND", Short: "Set a stand at rest, end a rest, or list them",
		Long: `Sets a stand at rest from a day to a day; without --to it lasts until its end is
given. A stand at rest is not cut, but for stems that were set aside for a crew
before. With --end a rest is given its last day, or an earlier one than it had: the
only one there is, or the one that --rest names. Without a flag it lists the rests.`,
		Example: examples(
			"withy stand rest MB-03 --from 2026-02-01 --to 2027-10-31 --why \"browsed hard in the winter\" --by OP",
			"withy stand rest MB-03 --end --to 2026-10-31 --why \"the shoots of two summers stand\" --by OP",
			"withy stand rest MB-03"),
		Args: takes("STAND"),
	}
	dayAheadFlag(cmd, &asked.from, "from", "first day; today by default")
	dayAheadFlag(cmd, &asked.to, "to", "last day; needed with --end")
	cmd.Flags().StringVar(&asked.why, "why", "", "why it rests, or why it ends (needed)")
	cmd.Flags().StringVar(&asked.by, "by", "", "who says so")
	cmd.Flags().BoolVar(&asked.end, "end", false, "give a rest its last day")
	cmd.Flags().StringVar(&asked.rest, "rest", "", "identifier of the rest that is ended, where there are several; the list has it")
	s.listsOr(cmd, s.listRests, s.through(func(ctx context.Context, c *api.Client, args []string) error {
		if asked.end {
			return s.endRest(ctx, c, args[0], asked)
		}
		return s.addRest(ctx, c, args[0], asked)
	}), "why")
	needed := cmd.PreRunE
	cmd.PreRunE = func(cmd *cobra.Command, args []string) error {
		if asked.end && !cmd.Flags().Changed("to") {
			return usagef("%s --end needs --to, the last day of the rest", cmd.CommandPath())
		}
		if asked.rest != "" && !asked.end {
			return usagef("--rest says which rest is ended: it goes with --end")
		}
		return needed(cmd, args)
	}
	return cmd
}

func (s *session) addRest(ctx context.Context, c *api.Client, stand string, asked restAsked) (err error) {
	req := models.NewRest{Why: asked.why, By: asked.by}
	if req.From, err = asked.from.in(ctx, c); err != nil {
		return err
	}
	if req.To, err = asked.to.in(ctx, c); err != nil {
		return err
	}
	rest, err := c.AddRest(ctx, stand, req)
	if err != nil {
		return err
	}
	return show(s, rest, func(v models.RestView) {
		s.say("%s %s.", v.Stand, restWords(&v.Rest))
		s.warnAll(v.Warnings)
	})
}

func (s *session) endRest(ctx context.Context, c *api.Client, stand string, asked restAsked) (err error) {
	req := models.NewRestEnd{Why: asked.why, By: asked.by}
	if req.To, err = asked.to.in(ctx, c); err != nil {
		return err
	}
	if asked.rest == "" {
		if asked.rest, err = onlyRest(ctx, c, stand); err != nil {
			return err
		}
	}
	rest, err := c.EndRest(ctx, stand, asked.rest, req)
	if err != nil {
		return err
	}
	return show(s, rest, func(v models.RestView) {
		s.say("%s %s.", v.Stand, restWords(&v.Rest))
		s.warnAll(v.Warnings)
	})
}

// onlyRest is the identifier of the one rest that holds today or begins later.
func onlyRest(ctx context.Context, c *api.Client, code string) (string, error) {
	stand, err := c.Stand(ctx, code, false)
	if err != nil {
		return "", err
	}
	if len(stand.Rests) == 1 {
		return stand.Rests[0].ID, nil
	}
	return "", usagef("%s has %s that could be ended: say which with --rest, as withy stand rest %s lists them",
		stand.Code, many(len(stand.Rests), "rest", "rests"), stand.Code)
}

// asAmended is a text about a record, with a word where the record does not stand.
func asAmended(a models.Amended, text string) string {
	switch {
	case a.Void:
		return strings.TrimSuffix("void: "+text, ": ")
	case a.ReplacedBy != "":
		return strings.TrimSuffix("replaced: "+text, ": ")
	}
	return text
}

// restWords is a rest as it goes on after the code of its stand.
func restWords(r *models.Rest) string {
	until := "until its end is given"
	if !r.EndsOn.IsZero() {
		until = "to " + r.EndsOn.String()
	}
	return fmt.Sprintf("rests from %s %s: %s", r.StartsOn, until, strings.TrimRight(r.Why, "."))
}

func (s *session) listRests(ctx context.Context, c *api.Client, args []string) error {
	return showAll(s, c.Rests(ctx, args[0]), func(rests []models.RestView) {
		var rows [][]string
		for _, v := range rests {
			rows = append(rows, []string{v.StartsOn.String(), dash(v.EndsOn.String()), asAmended(v.Amended, v.Why), dash(v.SetBy), v.ID})
		}
		s.table([]column{col("FROM"), col("TO"), textCol("WHY"), col("BY"), col("REST")}, rows, "No rest of this stand is on file.")
	})
}

package cli

import (
	"context"
	"errors"
	"time"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/nursery"
)

func newToken(s *session) *cobra.Command {
	cmd := s.group("token", "Let people and programs in", examples("withy token add OP --role coordinator", "withy token list"))
	cmd.Long = `A token says who is calling and what they may do. A volunteer logs, sticks and
checks; a lead also pots, splits and decides; a coordinator also keeps stands,
rules, settings, people and tokens, and reviews; a reader only reads. A land manager
reads the stands on their land, and enters closures and the cuts of others there.

Until the first token is made, this computer alone may come in, without one. From
then on every request needs one, for good: --token or WITHY_TOKEN.`
	cmd.AddCommand(newTokenAdd(s), newTokenList(s), newTokenRevoke(s))
	return cmd
}

func newTokenAdd(s *session) *cobra.Command {
	var req models.NewToken
	var until day
	var local bool
	cmd := &cobra.Command{
		Use: "add NAME", Short: "Make a token, and show its secret this once",
		Long: `Makes a token and shows its secret, this once: it is kept nowhere. A volunteer's
ends with the day, others after a year, unless --until says otherwise. The first
token must be a coordinator's.

--local makes it on the database itself, without a token: it is the way back for
whoever keeps the database, when no coordinator's token is left.`,
		Example: examples(
			"withy token add OP --role coordinator",
			"withy token add \"Saturday crew\" --role volunteer",
			"withy token add \"Wrenlow Valley Parks\" --role manager --land-manager \"Wrenlow Valley Parks\" --until 2026-12-31",
			"withy token add OP --role coordinator --local"),
		Args: takes("NAME"),
		RunE: func(cmd *cobra.Command, args []string) error {
			req.Name = args[0]
			if local {
				return s.tokenHere(cmd, &until, req)
			}
			return s.through(func(ctx context.Context, c *api.Client, _ []string) (err error) {
				if req.EndsOn, err = until.in(ctx, c); err != nil {
					return err
				}
				view, err := c.AddToken(ctx, req)
				if err != nil {
					return err
				}
				return show(s, view, s.secretWords)
			})(cmd, args)
		},
	}
	wordFlag(cmd, &req.Role, "role", "what it opens", models.Roles)
	dayAheadFlag(cmd, &until, "until", "last day it opens the door; today by default for a volunteer, a year from now for others")
	alias(cmd, "until", "ends-on")
	cmd.Flags().StringVar(&req.LandManager, "land-manager", "", "whose land a manager sees, as the stands name it")
	cmd.Flags().BoolVar(&local, "local", false, "make it on the database of this computer, or of WITHY_DATABASE_URL, without a token")
	needs(cmd, "role")
	return cmd
}

// tokenHere makes a token on the database itself.
func (s *session) tokenHere(cmd *cobra.Command, until *day, req models.NewToken) (err error) {
	if cmd.Flags().Changed("server") {
		return usagef("--local works on the database itself: leave out --server, and set WITHY_DATABASE_URL")
	}
	h, err := s.openHouse(cmd.Context(), false)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, h.Close()) }()
	if req.EndsOn = until.date; until.fromHere {
		req.EndsOn = h.view.Today.Add(-until.back)
	}
	ctx := nursery.As(cmd.Context(), models.Caller{
		Name: "the database itself", Role: models.Coordinator, Request: "withy token add --local",
	})
	view, err := h.AddToken(ctx, nursery.Once{}, req)
	if err != nil {
		return err
	}
	return show(s, view, s.secretWords)
}

func (s *session) secretWords(t models.TokenView) {
	s.say("%s", t.Secret)
	s.note("this is the token of %s, a %s's, good until the end of %s. It is shown this once: give it over a safe way, and set it as WITHY_TOKEN", t.Name, t.Role, t.EndsOn)
	s.warnAll(t.Warnings)
}

func newTokenList(s *session) *cobra.Command {
	var all bool
	cmd := &cobra.Command{
		Use: "list", Short: "List the tokens that open the door",
		Example: examples("withy token list", "withy token list --all"),
		Args:    takes(),
		RunE: s.through(func(ctx context.Context, c *api.Client, _ []string) error {
			return showAll(s, c.Tokens(ctx, all), func(tokens []models.TokenView) {
				var rows [][]string
				for _, t := range tokens {
					rows = append(rows, []string{t.Handle, t.Name, roleWords(&t), string(t.State), t.EndsOn.String(), t.MadeBy, t.MadeAt.Format(time.DateOnly)})
				}
				s.table([]column{col("HANDLE"), textCol("NAME"), textCol("ROLE"), col("STATE"), col("UNTIL"), textCol("MADE BY"), col("ON")}, rows,
					"There is no such token: the first is made with withy token add NAME --role coordinator.")
			})
		}),
	}
	cmd.Flags().BoolVar(&all, "all", false, "also those that have ended or were revoked")
	return cmd
}

func roleWords(t *models.TokenView) string {
	if t.LandManager != "" {
		return string(t.Role) + " of " + t.LandManager
	}
	return string(t.Role)
}

func newTokenRevoke(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "revoke NAME", Short: "End a token before its time",
		Long:    `Ends a token, named by its name or its handle, within five seconds on every server.`,
		Example: examples("withy token revoke \"Saturday crew\"", "withy token revoke k7m2qd4x"),
		Args:    takes("NAME"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			view, err := c.RevokeToken(ctx, args[0])
			if err != nil {
				return err
			}
			return show(s, view, func(t models.TokenView) {
				s.say("The token %s (%s) is revoked.", t.Name, t.Handle)
				s.warnAll(t.Warnings)
			})
		}),
	}
}

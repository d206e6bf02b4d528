package cli

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

func newPlace(s *session) *cobra.Command {
	cmd := s.group("place", "Close whole places, and look them over for nests",
		examples("withy place show \"Mallow Bend\"", "withy place close \"Mallow Bend\" --closure \"04-15..07-31: birds nest here\" --why \"nests found\" --by parks"))
	cmd.AddCommand(newPlaceShow(s), newPlaceClose(s), newPlaceNestCheck(s))
	return cmd
}

func newPlaceShow(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "show PLACE", Short: "Show the closures of a whole place, and every version of them",
		Example: examples("withy place show \"Mallow Bend\""),
		Args:    takes("PLACE"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			place, err := c.PlaceClosures(ctx, args[0])
			if err != nil {
				return err
			}
			return show(s, place, s.placeWords)
		}),
	}
}

func newPlaceClose(s *session) *cobra.Command {
	var req models.NewPlaceClosures
	var from day
	cmd := &cobra.Command{
		Use: "close PLACE", Short: "Close a whole place for more days",
		Long: `Adds closures to those of a whole place, from --in-force-from on, today by default:
they close every stand there. What is closed stays closed. With --whole-list a
coordinator gives the whole list anew: what is not on it is no longer closed. A land
manager closes a place that is all on their land.`,
		Example: examples(
			"withy place close \"Mallow Bend\" --closure \"04-15..07-31: birds nest here\" --why \"nests found\" --by parks",
			"withy place close \"Mallow Bend\" --whole-list --why \"the owls moved\" --by OP --in-force-from 2026-03-01"),
		Args: takes("PLACE"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) (err error) {
			if req.InForceFrom, err = from.in(ctx, c); err != nil {
				return err
			}
			req.Closures = append([]models.Closure{}, req.Closures...) // an empty list is one, too
			place, err := c.ClosePlace(ctx, args[0], req)
			if err != nil {
				return err
			}
			return show(s, place, func(v models.PlaceView) {
				s.say("The list of closures of %s is kept from %s on. It goes for %s.", v.Place, todayOr(req.InForceFrom), strings.Join(v.Stands, ", "))
				s.placeClosed(v)
				s.warnAll(v.Warnings)
			})
		}),
		PreRunE: func(cmd *cobra.Command, _ []string) error {
			if len(req.Closures) == 0 && !req.WholeList {
				return given(cmd, []string{"closure"})
			}
			return nil
		},
	}
	closureFlags(cmd, &req.Closures)
	cmd.Flags().BoolVar(&req.WholeList, "whole-list", false, "the closures given are the whole list; none opens the place")
	dayAheadFlag(cmd, &from, "in-force-from", "first day of the new list of closures; today by default")
	cmd.Flags().StringVar(&req.Why, "why", "", "why the place is closed")
	cmd.Flags().StringVar(&req.By, "by", "", "who closes it")
	return cmd
}

// placeClosed says which closures of a place are in force today.
func (s *session) placeClosed(v models.PlaceView) {
	if len(v.Closures) == 0 {
		s.say("No closure of the whole place is in force today.")
		return
	}
	s.say("The list today:")
	for _, closure := range v.Closures {
		s.say("%s", closureWords(closure))
	}
}

func (s *session) placeWords(v models.PlaceView) {
	s.say("%s: %s", v.Place, strings.Join(v.Stands, ", "))
	s.placeClosed(v)
	s.say("")
	var rows [][]string
	for _, version := range v.Versions {
		rows = append(rows, []string{version.InForceFrom.String(), dash(periodWords(version.Closures)), dash(version.SetBy), dash(version.Why)})
	}
	s.table([]column{col("CLOSURES FROM"), textCol("PERIODS"), col("BY"), textCol("WHY")}, rows, "There was never a list of closures of the whole place.")
}

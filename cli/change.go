package cli

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

func newChanges(s *session) *cobra.Command {
	var by string
	var most int
	cmd := &cobra.Command{
		Use: "changes", Short: "Show who changed what, the latest first",
		Long: `Shows the record of changes: every request that changed something, who made it
and in what role. What an edit changed stands beside it; what was added stands in
its own record. For coordinators.`,
		Example: examples("withy changes", "withy changes --by \"Olga P\"", "withy changes --most 0 --json"),
		Args:    takes(),
		RunE: s.through(func(ctx context.Context, c *api.Client, _ []string) error {
			place, err := s.zone(ctx, c)
			if err != nil {
				return err
			}
			return showAll(s, c.Changes(ctx, by, most), func(changes []models.Change) { s.changeTable(changes, place) })
		}),
	}
	cmd.Flags().StringVar(&by, "by", "", "only changes of this maker, by the name of the token")
	mostFlag(cmd, &most, "changes")
	return cmd
}

// zone is where the nursery counts its days.
func (s *session) zone(ctx context.Context, c *api.Client) (*time.Location, error) {
	view, err := c.Nursery(ctx)
	if err != nil {
		return nil, err
	}
	if place, err := time.LoadLocation(view.TimeZone); err == nil {
		return place, nil
	}
	return time.UTC, nil // a zone this computer has not heard of yet
}

func (s *session) changeTable(changes []models.Change, place *time.Location) {
	var rows [][]string
	for _, c := range changes {
		rows = append(rows, []string{minuteAt(c.MadeAt, place), c.MadeBy, cmp.Or(string(c.Role), "-"), readable(c.Request), detailWords(c.Detail)})
	}
	s.table([]column{col("WHEN"), textCol("WHO"), col("ROLE"), col("REQUEST"), textCol("WHAT")}, rows,
		"No changes are on record.")
}

// detailWords are the names of what was made, or of the fields that were edited.
func detailWords(detail map[string]any) string {
	names, _ := detail["made"].([]any)
	var words []string
	for _, name := range names {
		words = append(words, fmt.Sprint(name))
	}
	if len(words) == 0 {
		words = slices.Sorted(maps.Keys(detail))
	}
	return dash(strings.Join(words, ", "))
}

// readable is a request with the signs of its path as they are written by hand.
func readable(request string) string {
	if plain, err := url.PathUnescape(request); err == nil {
		return plain
	}
	return request
}

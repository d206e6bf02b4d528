package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"withybed/api"
	"withybed/models"
)

func newNursery(s *session) *cobra.Command {
	cmd := s.group("nursery", "Show or change what the nursery has settled", examples("withy nursery show", "withy nursery edit --time-zone America/Los_Angeles"))
	cmd.AddCommand(newNurseryShow(s), newNurseryEdit(s))
	return cmd
}

func newNurseryShow(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "show", Short: "Show the nursery, its today and its settings",
		Example: examples("withy nursery show", "withy nursery show --json"),
		Args:    takes(),
		RunE: s.through(func(ctx context.Context, c *api.Client, _ []string) error {
			view, err := c.Nursery(ctx)
			if err != nil {
				return err
			}
			return show(s, view, s.nurseryWords)
		}),
	}
}

func (s *session) nurseryWords(n models.NurseryView) {
	s.say("%s", n.Name)
	s.say("Today is %s, counted in %s. The reminder comes every %s at %02d:00.", n.Today, n.TimeZone, upper(n.ReminderDay), n.ReminderHour)
	s.say("New stands: %s.", ruleWords(n.HarvestRule))
	s.say("Lower bounds are one-sided at a confidence of %s.", n.Confidence)
	s.say("")
	s.table([]column{col("THRESHOLD"), numCol("VALUE"), textCol("BASIS")}, thresholdRows(n), "There are no thresholds.")
	s.warnAll(n.Warnings)
}

// thresholdRows lists the thresholds by the names an edit knows them by.
func thresholdRows(n models.NurseryView) [][]string {
	text, err := json.Marshal(n.Thresholds)
	if err != nil {
		return nil
	}
	values := map[string]json.RawMessage{}
	if err := json.Unmarshal(text, &values); err != nil {
		return nil
	}
	var rows [][]string
	for _, name := range slices.Sorted(maps.Keys(values)) {
		rows = append(rows, []string{name, strings.Trim(string(values[name]), `"`), n.Bases[name]})
	}
	return rows
}

func newNurseryEdit(s *session) *cobra.Command {
	edit := models.NurseryEdit{Thresholds: map[string]any{}, Bases: map[string]*string{}}
	var expected int
	cmd := &cobra.Command{
		Use: "edit", Short: "Change what the nursery has settled",
		Long: `Changes settings; what is not given stays. Thresholds go by the names that withy
nursery show lists.`,
		Example: examples(
			"withy nursery edit --name \"Wrenlow Valley Native Plants\" --time-zone America/Los_Angeles",
			"withy nursery edit --threshold check_every=10 --basis \"check_every=our own records\""),
		Args: takes(),
		RunE: s.through(func(ctx context.Context, c *api.Client, _ []string) error {
			version := expected
			if version == 0 {
				view, err := c.Nursery(ctx)
				if err != nil {
					return err
				}
				version = view.Version
			}
			view, err := c.EditNursery(ctx, version, edit)
			if err != nil {
				return err
			}
			return show(s, view, func(n models.NurseryView) {
				s.say("The nursery is changed, and at version %d. Today is %s (%s).", n.Version, n.Today, n.TimeZone)
				s.warnAll(n.Warnings)
			})
		}),
	}
	settingFlags(cmd, &edit)
	ruleFlags(cmd, &edit.HarvestRule)
	expectFlag(cmd, &expected)
	cmd.PreRunE = somethingToEdit
	return cmd
}

func settingFlags(cmd *cobra.Command, edit *models.NurseryEdit) {
	patchFlag(cmd, &edit.Name, "name", "text", "name of the nursery", asText)
	patchFlag(cmd, &edit.TimeZone, "time-zone", "zone", "IANA name of the time zone its days are counted in", asText)
	patchFlag(cmd, &edit.ReminderDay, "reminder-day", "weekday", "day of the week of the reminder", asText)
	patchFlag(cmd, &edit.ReminderHour, "reminder-hour", "hour", "hour of the reminder, 0 to 23", parseCount)
	patchFlag(cmd, &edit.Confidence, "confidence", "share", "one-sided confidence of a survey's lower bound, 0.5 to 0.999", parseShare)
	addValue(cmd, "threshold", "name=value", "a threshold to change, as in check_every=10; may be given again", func(text string) error {
		return readThreshold(edit.Thresholds, text)
	})
	addValue(cmd, "basis", "name=text", "where a number comes from, as in \"check_every=our own records\"; may be given again", func(text string) error {
		return readBasis(edit.Bases, text)
	})
}

func readThreshold(to map[string]any, text string) error {
	name, value, ok := strings.Cut(text, "=")
	if !ok || strings.TrimSpace(value) == "" {
		return fmt.Errorf("is %q, and must be a name and a value, as in check_every=10", text)
	}
	name, value = strings.ReplaceAll(name, "-", "_"), strings.TrimSpace(value)
	switch _, err := parseNumber(value); {
	case value == noValue:
		to[name] = nil
	case err == nil && json.Valid([]byte(value)):
		to[name] = json.Number(value)
	default:
		to[name] = value // warm_from is a text; the rule of the threshold says what else it must be
	}
	return nil
}

func readBasis(to map[string]*string, text string) error {
	name, basis, ok := strings.Cut(text, "=")
	if !ok {
		return fmt.Errorf("is %q, and must be a name and a text, as in check_every=our own records", text)
	}
	name = strings.ReplaceAll(name, "-", "_")
	to[name] = &basis
	if basis == noValue {
		to[name] = nil
	}
	return nil
}

// expectFlag lets an edit name the version it was thought out on.
func expectFlag(cmd *cobra.Command, to *int) {
	intFlag(cmd, to, "if-version", "edit only if it still is at this version; the one there is now by default")
}

// somethingToEdit refuses an edit that would change nothing.
func somethingToEdit(cmd *cobra.Command, _ []string) error {
	edits := 0
	cmd.Flags().Visit(func(f *pflag.Flag) {
		if !slices.Contains([]string{"if-version", "server", "json"}, f.Name) {
			edits++
		}
	})
	if edits == 0 {
		return usagef("%s was not told what to change: see %s --help", cmd.CommandPath(), cmd.CommandPath())
	}
	return nil
}

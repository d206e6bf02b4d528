package cli

import (
	"context"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

func newStandEdit(s *session) *cobra.Command {
	var edit models.StandEdit
	var from day
	var expected int
	var closures []models.Closure
	var open bool
	cmd := &cobra.Command{
		Use: "edit STAND", Short: "Change a stand, its harvest rule or its closures",
		Long: `Changes a stand; what is not given stays, and "none" takes a value away. A harvest
rule or closures start a new version on --in-force-from, today by default; the
old versions stay. The closures given replace all there are; withy stand close adds
to them.`,
		Example: examples(
			"withy stand edit MB-03 --land-manager \"Wrenlow Valley Parks\"",
			"withy stand edit MB-03 --permit-required yes",
			"withy stand edit MB-03 --stand-cap 0.04 --why \"asked for by the land manager\" --by OP",
			"withy stand edit MB-03 --closure \"04-15..07-31: birds nest\" --in-force-from 2026-04-01 --why \"nests found\""),
		Args: takes("STAND"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) (err error) {
			if edit.InForceFrom, err = from.in(ctx, c); err != nil {
				return err
			}
			if len(closures) > 0 || open {
				edit.Closures = &closures
			}
			return s.editStand(ctx, c, args[0], expected, edit)
		}),
		PreRunE: somethingToEdit,
	}
	standFlags(cmd, &edit)
	ruleFlags(cmd, &edit.HarvestRule)
	closureFlags(cmd, &closures)
	cmd.Flags().BoolVar(&open, "no-closures", false, "take every closure away")
	dayAheadFlag(cmd, &from, "in-force-from", "first day of the new rule or closures; today by default")
	cmd.Flags().StringVar(&edit.Why, "why", "", "why the rule or the closures change")
	cmd.Flags().StringVar(&edit.By, "by", "", "who changes them")
	expectFlag(cmd, &expected)
	return cmd
}

// standFlags are what is known of a stand, each of which can be taken away.
func standFlags(cmd *cobra.Command, edit *models.StandEdit) {
	patchFlag(cmd, &edit.Name, "name", "text", "name of the stand", asText)
	patchFlag(cmd, &edit.Place, "place", "text", "place it shares with other stands", asText)
	patchFlag(cmd, &edit.Locality, "locality", "text", "how to find it, in words", asText)
	patchFlag(cmd, &edit.LandManager, "land-manager", "text", "who manages the land", asText)
	patchFlag(cmd, &edit.Latitude, "latitude", "number", "latitude in degrees, WGS84", parseNumber)
	patchFlag(cmd, &edit.Longitude, "longitude", "number", "longitude in degrees, WGS84", parseNumber)
	patchFlag(cmd, &edit.CoordinateUncertaintyM, "coordinate-uncertainty-m", "number", "radius in metres within which the true place lies", parseNumber)
	patchFlag(cmd, &edit.Sensitivity, "sensitivity", "word", "how coarsely the place is shown: low, medium, high or extreme", parseWord(models.Sensitivities))
	complete(cmd, "sensitivity", models.Sensitivities)
	patchFlag(cmd, &edit.PermitRequired, "permit-required", "word", "whether a permit is required to cut there: yes or no; none is not stated", parseWord(models.PermitNeeds))
	complete(cmd, "permit-required", models.PermitNeeds)
	patchFlag(cmd, &edit.PermitReason, "permit-reason", "text", "why none is required; needed with no", asText)
	patchFlag(cmd, &edit.ProtectedPlace, "protected-place", "text", "what protects the place, where something does", asText)
	patchFlag(cmd, &edit.GatheringPlaceOf, "gathering-place-of", "text", "the people whose gathering place it is, several with commas", asText)
}

func (s *session) editStand(ctx context.Context, c *api.Client, code string, version int, edit models.StandEdit) error {
	if edit.Closures != nil && *edit.Closures == nil {
		edit.Closures = &[]models.Closure{}
	}
	if version == 0 {
		stand, err := c.Stand(ctx, code, false)
		if err != nil {
			return err
		}
		version = stand.Version
	}
	stand, err := c.EditStand(ctx, code, version, edit)
	if err != nil {
		return err
	}
	return show(s, stand, func(v models.StandView) {
		s.say("Stand %s is changed, and at version %d.", v.Code, v.Version)
		if edit.HarvestRule != nil || edit.Closures != nil {
			s.say("See every version of its rule and closures with withy stand versions %s.", v.Code)
		}
		if v.Exceeded != "" {
			s.warn("%s: %s", v.Code, v.Exceeded)
		}
		s.warnAll(v.Warnings)
	})
}

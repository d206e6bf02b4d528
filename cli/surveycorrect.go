package cli

import (
	"context"
	"maps"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

func newSurveyCorrect(s *session) *cobra.Command {
	var req models.NewSurveyCorrection
	var survey models.NewSurvey
	var parts counts
	var on day
	cmd := &cobra.Command{
		Use: "correct STAND SURVEY", Short: "Put a count right that was entered wrongly, or void it",
		Long: `Puts a count in the place of one with a slip in it. Name the count by its day, or by
its identifier where there are several of one day. Give what should be otherwise:
what is left out stays, unless --method is given, which begins anew. The old count
stays to be seen, and batches keep the shares that were worked out from it. With
--void it never was.`,
		Example: examples(
			"withy survey correct MB-03 2025-09-12 --counts 12,7,0,15,9,4,11,6,8,31 --why \"two figures were swapped\" --by OP",
			"withy survey correct MB-03 2025-09-12 --void --why \"it was the stand upstream\" --by OP"),
		Args: takes("STAND", "SURVEY"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			was, err := surveyNamed(ctx, c, args[0], args[1])
			if err != nil {
				return err
			}
			if !req.Void {
				if survey.SurveyedOn, err = on.in(ctx, c); err != nil {
					return err
				}
				parts.into(&survey)
				if survey, err = recounted(was, survey); err != nil {
					return err
				}
				req.Survey = &survey
			}
			corrected, err := c.CorrectSurvey(ctx, args[0], was.ID, req)
			if err != nil {
				return err
			}
			return show(s, corrected, s.surveyCorrected)
		}),
	}
	f := cmd.Flags()
	f.StringVar(&req.Why, "why", "", "why it is corrected")
	f.StringVar(&req.By, "by", "", "who corrects it")
	f.BoolVar(&req.Void, "void", false, "it never was")
	dayFlag(cmd, &on, "on", "day of the count")
	alias(cmd, "on", "surveyed-on")
	surveyFlags(cmd, &survey)
	parts.flags(cmd)
	needs(cmd, "why")
	return cmd
}

// surveyNamed is a count of a stand by its day, or by its identifier.
func surveyNamed(ctx context.Context, c *api.Client, stand, name string) (models.SurveyView, error) {
	id := name
	if on, err := parseDay(name); err == nil {
		if id, err = keptOn(ctx, c, stand, models.OfSurvey, on); err != nil {
			return models.SurveyView{}, err
		}
	}
	for v, err := range c.Surveys(ctx, stand) {
		if err != nil || v.ID == id {
			return v, err
		}
	}
	return models.SurveyView{}, usagef("%s has no survey %q: name one by its day, as withy survey list %s shows it", stand, name, stand)
}

// recounted is a survey as it should have been entered: what was given of it, and for
// the rest what it said. Another method is another survey.
func recounted(was models.SurveyView, given models.NewSurvey) (models.NewSurvey, error) {
	before := models.NewSurvey{
		SurveyedOn: was.SurveyedOn, Method: was.Method, Stems: was.Stems, CountedByTwo: was.CountedByTwo, Plots: was.Plots,
		Clumps: was.Clumps, Low: was.Low, High: was.High, StemDefinition: was.StemDefinition, SurveyedBy: was.SurveyedBy,
	}
	if was.Method == models.Census {
		before.Plants = was.Plants // of a count of clumps they are the clumps
	}
	if given.Method != "" {
		before = models.NewSurvey{SurveyedOn: was.SurveyedOn, SurveyedBy: was.SurveyedBy}
	}
	said, err := models.Said(before)
	if err != nil {
		return given, err
	}
	says, err := models.Said(given)
	if err != nil {
		return given, err
	}
	return models.FromSaid[models.NewSurvey](over(said, says))
}

// over is what was said with what is given now, within parts too. Nothing, nought and
// an empty list were not given.
func over(said, given map[string]any) map[string]any {
	said = maps.Clone(said)
	for name, value := range given {
		switch v := value.(type) {
		case nil:
			continue
		case string:
			if v == "" {
				continue
			}
		case float64:
			if v == 0 {
				continue
			}
		case []any:
			if len(v) == 0 {
				continue
			}
		case map[string]any:
			if part, had := said[name].(map[string]any); had {
				said[name] = over(part, v)
				continue
			}
		}
		said[name] = value
	}
	return said
}

func (s *session) surveyCorrected(v models.SurveyCorrectionView) {
	if v.Survey == nil {
		s.say("The survey of %s is void. Batches keep the shares that were worked out from it.", v.Stand)
	} else {
		s.say("The %s of %s on %s stands in its place: %s.", methodWords(v.Survey.Method), v.Stand, v.Survey.SurveyedOn, estimateWords(&v.Survey.Survey))
	}
	s.warnAll(v.Warnings)
}

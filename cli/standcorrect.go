package cli

import (
	"context"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/documents"
)

func newStandCorrect(s *session) *cobra.Command {
	var req models.NewStandCorrection
	var on day
	cmd := &cobra.Command{
		Use: "correct STAND", Short: "Void a record of a stand that never was, or list the corrections",
		Long: `Voids a count, a cut of others, a disturbance, a rest, a salvage, a look for nests or
a cleaning of tools that was entered in error: it counts no more, and stays to be
seen. Name it by its day, or by its identifier, as the lists with --json show it. A
count with a slip in it is better put right with withy survey correct. Without a flag
it lists what was corrected at the stand.`,
		Example: examples(
			"withy stand correct MB-03 --subject disturbance --on 2026-01-17 --why \"it was the stand upstream\" --by OP",
			"withy stand correct MB-03"),
		Args: takes("STAND"),
	}
	f := cmd.Flags()
	wordFlag(cmd, &req.Subject, "subject", "what is voided", models.KeptSubjects)
	f.StringVar(&req.SubjectID, "id", "", "its identifier, where several are of one day")
	dayFlag(cmd, &on, "on", "its day: of a period the first, of a cut of others the last")
	f.StringVar(&req.Why, "why", "", "why it never was")
	f.StringVar(&req.By, "by", "", "who voids it")
	s.listsOr(cmd, s.listCorrections, s.through(func(ctx context.Context, c *api.Client, args []string) (err error) {
		if req.SubjectID == "" {
			if req.SubjectID, err = keptOn(ctx, c, args[0], req.Subject, on); err != nil {
				return err
			}
		}
		correction, err := c.CorrectStand(ctx, args[0], req)
		if err != nil {
			return err
		}
		return show(s, correction, func(v models.CorrectionView) {
			s.say("The %s of %s is void, and counts no more.", v.Subject.Words(), v.Stand)
			s.warnAll(v.Warnings)
		})
	}), "subject", "why")
	return cmd
}

// kept is a record of a stand by its day.
type kept struct {
	id string
	on models.Date
	models.Amended
}

// keptOn is the identifier of the one record of a kind that stands on a day.
func keptOn(ctx context.Context, c *api.Client, stand string, subject models.Subject, on day) (string, error) {
	if on == (day{}) {
		return "", usagef("say which %s: by its day with --on, or by its identifier with --id", subject.Words())
	}
	date, err := on.in(ctx, c)
	if err != nil {
		return "", err
	}
	all, err := keptOf(ctx, c, stand, subject)
	if err != nil {
		return "", err
	}
	var found, days []string
	for _, k := range all {
		if k.Void || k.ReplacedBy != "" {
			continue
		}
		days = append(days, k.on.String())
		if k.on == date {
			found = append(found, k.id)
		}
	}
	switch {
	case len(found) == 1:
		return found[0], nil
	case len(found) > 1:
		return "", usagef("%s has %d of %s: name one with --id: %s", stand, len(found), date, strings.Join(found, ", "))
	case len(days) == 0:
		return "", usagef("%s has no %s on file", stand, subject.Words())
	}
	slices.Sort(days)
	return "", usagef("%s has no %s of %s: there is one of %s", stand, subject.Words(), date, strings.Join(slices.Compact(days), ", "))
}

// keptOf are the records of a kind that are kept of a stand.
func keptOf(ctx context.Context, c *api.Client, stand string, subject models.Subject) ([]kept, error) {
	switch subject {
	case models.OfSurvey:
		return gathered(c.Surveys(ctx, stand), func(v models.SurveyView) kept { return kept{v.ID, v.SurveyedOn, v.Amended} })
	case models.OfOthersCut:
		return gathered(c.OthersCuts(ctx, stand), func(v models.OthersCutView) kept { return kept{v.ID, v.CutTo, v.Amended} })
	case models.OfRest:
		return gathered(c.Rests(ctx, stand), func(v models.RestView) kept { return kept{v.ID, v.StartsOn, v.Amended} })
	case models.OfSalvage:
		return gathered(c.Salvages(ctx, stand), func(v models.SalvageView) kept { return kept{v.ID, v.StartsOn, v.Amended} })
	case models.OfToolCleaning:
		return gathered(c.ToolCleanings(ctx, stand), func(v models.ToolCleaningView) kept { return kept{v.ID, v.CleanedOn, v.Amended} })
	case models.OfNestCheck:
		return gathered(c.NestChecks(ctx, stand), func(v models.NestCheckView) kept { return kept{v.ID, v.CheckedOn, v.Amended} })
	}
	events, err := c.Disturbances(ctx, stand)
	var all []kept
	for _, d := range events {
		all = append(all, kept{d.ID, d.HappenedOn, d.Amended})
	}
	return all, err
}

func gathered[T any](list api.All[T], as func(T) kept) ([]kept, error) {
	var all []kept
	for item, err := range list {
		if err != nil {
			return nil, err
		}
		all = append(all, as(item))
	}
	return all, nil
}

func (s *session) listCorrections(ctx context.Context, c *api.Client, args []string) error {
	place, err := s.zone(ctx, c)
	if err != nil {
		return err
	}
	return showAll(s, c.Corrections(ctx, args[0]), func(list []models.CorrectionView) {
		var rows [][]string
		for _, v := range list {
			rows = append(rows, []string{models.DateIn(v.EnteredAt, place).String(), dash(v.Batch), documents.Corrected(&v.Correction)})
		}
		s.table([]column{col("ON"), col("BATCH"), textCol("WHAT")}, rows, "Nothing was corrected at this stand.")
	})
}

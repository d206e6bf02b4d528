package cli

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

func newSurvey(s *session) *cobra.Command {
	cmd := s.group("survey", "Count stands: census, plots, clumps or an estimate by eye",
		examples("withy survey add MB-03 --method census --stems 610 --plants 42", "withy survey list MB-03"))
	cmd.AddCommand(newSurveyAdd(s), newSurveyList(s), newSurveyCorrect(s))
	return cmd
}

// counts are the parts of a survey as they are given by flags.
type counts struct {
	plots          models.Plots
	clumps         models.Clumps
	plotted, grown bool // something of plots, of clumps was given
}

func newSurveyAdd(s *session) *cobra.Command {
	var req models.NewSurvey
	var parts counts
	var on day
	cmd := &cobra.Command{
		Use: "add STAND", Short: "Enter a count of a stand",
		Long: `Enters a count; the estimate, its standard error and the lower bound that the caps
use are worked out from it.
  census             --stems, and --plants where plants were counted
  plots              --plot-area, --stand-area (m²), --counts, --placement
  clumps             --clumps (all of them), --stems-on-sample (of some)
  clumps_from_plots  as plots, with clumps for counts, and --stems-on-sample
  ocular             --low and --high, by eye: half of the cap applies`,
		Example: examples(
			"withy survey add MB-03 --on 2025-09-12 --method plots --plot-area 4 --stand-area 400 --counts 12,7,0,15,9,4,11,6,8,13 --placement systematic --surveyed-by OP",
			"withy survey add MB-04 --method clumps --clumps 37 --stems-on-sample 22,35,14,28,41,19,30,25",
			"withy survey add TC-01 --method ocular --low 300 --high 500"),
		Args: takes("STAND"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) (err error) {
			if req.SurveyedOn, err = on.orToday().in(ctx, c); err != nil {
				return err
			}
			parts.into(&req)
			survey, err := c.AddSurvey(ctx, args[0], req)
			if err != nil {
				return err
			}
			return show(s, survey, s.surveyAdded)
		}),
	}
	dayFlag(cmd, &on, "on", "day of the count; today by default")
	alias(cmd, "on", "surveyed-on")
	surveyFlags(cmd, &req)
	alias(cmd, "surveyed-by", "by")
	parts.flags(cmd)
	needs(cmd, "method")
	return cmd
}

func surveyFlags(cmd *cobra.Command, req *models.NewSurvey) {
	wordFlag(cmd, &req.Method, "method", "how it was counted", models.Methods)
	optionalInt(cmd, &req.Stems, "stems", "stems counted in a census")
	optionalInt(cmd, &req.Plants, "plants", "plants counted in a census")
	cmd.Flags().BoolVar(&req.CountedByTwo, "counted-by-two", false, "two people counted the census")
	optionalInt(cmd, &req.Low, "low", "low end of an estimate by eye, in stems")
	optionalInt(cmd, &req.High, "high", "high end of an estimate by eye, in stems")
	cmd.Flags().StringVar(&req.StemDefinition, "stem-definition", "", "what was counted as a stem")
	cmd.Flags().StringVar(&req.SurveyedBy, "surveyed-by", "", "who counted")
}

func (p *counts) flags(cmd *cobra.Command) {
	area := func(to *float64, name, help string) {
		addValue(cmd, name, "m²", help, func(text string) (err error) {
			p.plotted = true
			*to, err = parseNumber(text)
			return err
		})
	}
	list := func(to *[]int, given *bool, name, help string) {
		addValue(cmd, name, "n,n,…", help, func(text string) error {
			*given = true
			numbers, err := parseCounts(text)
			*to = append(*to, numbers...)
			return err
		})
	}
	area(&p.plots.PlotAreaM2, "plot-area", "area of one plot in square metres")
	area(&p.plots.StandAreaM2, "stand-area", "area of the stand in square metres")
	list(&p.plots.Counts, &p.plotted, "counts", "stems on each plot, or clumps for clumps_from_plots")
	wordFlag(cmd, &p.plots.Placement, "placement", "how the plots were placed", models.Placements)
	optionalInt(cmd, &p.clumps.Total, "clumps", "clumps counted in the whole stand")
	list(&p.clumps.StemsOnSample, &p.grown, "stems-on-sample", "stems on each clump of the sample")
	alias(cmd, "plot-area", "plot-area-m2")
	alias(cmd, "stand-area", "stand-area-m2")
	alias(cmd, "clumps", "total", "clumps-total")
}

// into puts the parts into a request, as far as any was given. Empty lists are
// sent as such, so that the server says which number is missing.
func (p *counts) into(req *models.NewSurvey) {
	if p.plotted || p.plots.Placement != "" {
		req.Plots = &p.plots
		req.Plots.Counts = append([]int{}, p.plots.Counts...)
	}
	if p.grown || p.clumps.Total != nil {
		req.Clumps = &p.clumps
		req.Clumps.StemsOnSample = append([]int{}, p.clumps.StemsOnSample...)
	}
}

// parseCounts reads whole numbers with commas or blanks between them.
func parseCounts(text string) ([]int, error) {
	var list []int
	for _, part := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' || r == ';' }) {
		n, err := parseCount(part)
		if err != nil {
			return nil, fmt.Errorf("holds %q, and must be whole numbers with commas between them", part)
		}
		list = append(list, n)
	}
	return list, nil
}

func (s *session) surveyAdded(v models.SurveyView) {
	s.say("The %s of %s on %s is entered: %s.", methodWords(v.Method), v.Stand, v.SurveyedOn, estimateWords(&v.Survey))
	s.say("Next: withy stand allowance %s.", v.Stand)
	s.warnAll(v.Warnings)
}

func estimateWords(survey *models.Survey) string {
	text := "about " + stemsWords(survey.Estimate, 0)
	if survey.StandardError != nil && *survey.StandardError > 0 {
		text += " (standard error " + number(*survey.StandardError, 1) + ")"
	}
	return text + ", at least " + number(survey.LowerBound.Float(), 1) + " by the lower bound the caps use"
}

func newSurveyList(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "list STAND", Short: "List the counts of a stand, the latest first",
		Example: examples("withy survey list MB-03"),
		Args:    takes("STAND"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			return showAll(s, c.Surveys(ctx, args[0]), s.surveyTable)
		}),
	}
}

func (s *session) surveyTable(surveys []models.SurveyView) {
	var rows [][]string
	for _, v := range surveys {
		rows = append(rows, []string{v.SurveyedOn.String(), words(v.Method), number(v.Estimate, 1),
			maybe(v.StandardError, func(x float64) string { return number(x, 1) }), number(v.LowerBound.Float(), 1), asAmended(v.Amended, dash(v.SurveyedBy))})
	}
	s.table([]column{col("COUNTED"), col("METHOD"), numCol("STEMS"), numCol("STD ERROR"), numCol("BOUND"), textCol("BY")}, rows,
		"This stand was never counted: enter a count with withy survey add.")
}

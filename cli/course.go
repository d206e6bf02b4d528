package cli

import (
	"context"
	"strconv"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/documents"
	"withybed/models/nursery"
)

func newStandPlot(s *session) *cobra.Command {
	var q nursery.CourseQuery
	var from, to, known day
	var files pictureFiles
	cmd := &cobra.Command{
		Use: "plot STAND", Short: "Show or draw what was taken of a stand against its limit, over time",
		Long: `Shows the days on which what was taken in the window of a stand changed, or its limit
did, with counts and the days on which it is closed or at rest. With --svg or --png it
is drawn into a file. Days to come are told as if nothing more were entered.`,
		Example: examples("withy stand plot MB-03 --svg mb-03.svg", "withy stand plot MB-03 --from 2024-07-01 --png mb-03.png"),
		Args:    takes("STAND"),
		PreRunE: func(*cobra.Command, []string) error { return files.check(s) },
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) (err error) {
			if q.From, err = from.in(ctx, c); err != nil {
				return err
			}
			if q.To, err = to.in(ctx, c); err != nil {
				return err
			}
			if q.KnownOn, err = known.in(ctx, c); err != nil {
				return err
			}
			course, err := c.Course(ctx, args[0], q)
			if err != nil {
				return err
			}
			if !files.drawn() {
				return show(s, course, s.courseTable)
			}
			return files.draw(s, func(f documents.Format) ([]byte, error) { return documents.CoursePicture(course, f) })
		}),
	}
	dayFlag(cmd, &from, "from", "first day; two growth years before the last by default")
	dayFlag(cmd, &to, "to", "last day; the end of this growth year by default")
	knownFlag(cmd, &known)
	files.pictureFlags(cmd)
	return cmd
}

func (s *session) courseTable(c models.Course) {
	var rows [][]string
	for _, p := range c.Points {
		remark := ""
		if p.Taken > p.Limit {
			remark = strconv.Itoa(p.Taken-p.Limit) + " over the limit"
		}
		rows = append(rows, []string{p.On.String(), strconv.Itoa(p.Taken), strconv.Itoa(p.Limit), remark})
	}
	s.table([]column{col("FROM"), numCol("TAKEN"), numCol("LIMIT"), col("")}, rows, "")
	for _, survey := range c.Surveys {
		s.say("Counted %s: %s, lower bound %s.", survey.On, methodWords(survey.Method), survey.LowerBound)
	}
	for _, span := range c.Shut {
		s.say("%s from %s to %s.", upper(openText[span.State]), span.From, span.To)
	}
	s.say("Stems in the window that ends on a day, to %s; days after %s as if nothing more were entered.", c.To, c.Today)
}

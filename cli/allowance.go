package cli

import (
	"context"
	"strconv"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/nursery"
)

func newAllowance(s *session) *cobra.Command {
	var q nursery.AllowanceQuery
	var on, known day
	cmd := &cobra.Command{
		Use: "allowance STAND", Short: "Say how many stems may be cut from a stand on a day",
		Long: `Says in one sentence what is possible on a day, what limits it, and from when on the
stems asked about would be possible; below it every rule with its number and why.
The count alone never gives leave to cut.`,
		Example: examples("withy allowance MB-03", "withy allowance MB-03 --on 2026-01-17 --stems 24 --parents 6",
			"withy allowance MB-03 --share C --stems 24",
			"withy allowance MB-03 --on 2026-01-17 --known-on 2026-01-31"),
		Args: takes("STAND"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) (err error) {
			if q.Stems < 1 {
				return usagef("--stems is %d, and must be 1 or more", q.Stems)
			}
			if q.On, err = on.in(ctx, c); err != nil {
				return err
			}
			if q.KnownOn, err = known.in(ctx, c); err != nil {
				return err
			}
			answer, err := c.Allowance(ctx, args[0], q)
			if err != nil {
				return err
			}
			return show(s, answer, s.allowanceWords)
		}),
	}
	dayAheadFlag(cmd, &on, "on", "the day asked about; today by default")
	q.Stems = 1
	intFlag(cmd, &q.Stems, "stems", "stems to be cut; 1 by default")
	optionalInt(cmd, &q.Parents, "parents", "plants or clumps they are cut from, where those were counted")
	cmd.Flags().StringVar(&q.Share, "share", "", "crew whose share they are drawn on, or the identifier of the share")
	knownFlag(cmd, &known)
	alias(cmd, "stems", "stems-cut")
	alias(cmd, "parents", "parent-plants")
	return cmd
}

func (s *session) allowanceWords(a models.Allowance) {
	s.say("%s", a.Sentence)
	s.say("%s", a.Leave)
	s.say("")
	var rows [][]string
	for _, rule := range a.Rules {
		mark := ""
		if a.Binding != nil && a.Binding.Code == rule.Code {
			mark = "binds"
		}
		rows = append(rows, []string{rule.Code, maybe(rule.Allowed, strconv.Itoa), mark, rule.Detail})
	}
	s.table([]column{col("RULE"), numCol("ALLOWS"), col(""), textCol("WHY")}, rows, "No rule was asked.")
}

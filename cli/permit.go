package cli

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/nursery"
)

func newPermit(s *session) *cobra.Command {
	cmd := s.group("permit", "Keep permits, leaves and consents, and see what is left on them",
		examples("withy permit list", "withy permit show WV-2026-12"))
	cmd.AddCommand(newPermitAdd(s), newPermitList(s), newPermitShow(s), newPermitEdit(s))
	return cmd
}

func newPermitAdd(s *session) *cobra.Command {
	req := models.NewPermit{PermitTerms: models.PermitTerms{Kind: models.PermitPaper}}
	var from, to day
	cmd := &cobra.Command{
		Use: "add NUMBER", Short: "Put a permit, leave or consent on file",
		Long: `Puts a paper about cutting on file: a permit of an authority, leave of the land
manager, or consent of the people whose gathering place it is. Batches are logged
with --permit NUMBER and draw on its quantity, at whatever stand it covers. A
consent has terms and no quantity: give them as --conditions.`,
		Example: examples(
			"withy permit add WV-2026-12 --issuer \"Wrenlow Valley Parks\" --stands MB-03,MB-04 --quantity 200 --unit stems --valid-from 2026-11-01 --valid-to 2027-03-31 --people RQ,OP --conditions \"hand tools only\" --paper \"folder 3\"",
			"withy permit add SR-4 --kind consent --issuer \"the Sedge River people\" --stands MB-03 --valid-from 2026-11-01 --conditions \"ask again each autumn\""),
		Args: takes("NUMBER"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) (err error) {
			req.Number = args[0]
			if req.ValidFrom, err = from.in(ctx, c); err != nil {
				return err
			}
			if req.ValidTo, err = to.in(ctx, c); err != nil {
				return err
			}
			permit, err := c.AddPermit(ctx, req)
			if err != nil {
				return err
			}
			return show(s, permit, s.permitAdded)
		}),
	}
	f := cmd.Flags()
	wordFlag(cmd, &req.Kind, "kind", "what the paper is, permit by default", models.PermitKinds)
	f.StringVar(&req.Issuer, "issuer", "", "who gave it: an authority, a land manager, a people")
	listFlag(cmd, &req.Stands, "stands", "code,…", "codes of the stands it covers")
	alias(cmd, "stands", "stand")
	listFlag(cmd, &req.Taxa, "taxa", "name,…", "scientific names it covers; those of its stands by default")
	optionalDecimal(cmd, &req.Quantity, "quantity", "number", "most that may be taken on it; without one it sets no number")
	wordFlag(cmd, &req.Unit, "unit", "what the quantity counts, stems by default", models.PermitUnits)
	listFlag(cmd, &req.People, "people", "code,…", "codes of those who may cut on it; anyone by default")
	dayAheadFlag(cmd, &from, "valid-from", "first day it holds")
	dayAheadFlag(cmd, &to, "valid-to", "last day it holds; no end by default")
	f.StringVar(&req.LandManager, "land-manager", "", "who manages the land it is for")
	f.StringVar(&req.Parcels, "parcels", "", "the parcels it covers, in words")
	f.StringVar(&req.Conditions, "conditions", "", "its conditions or terms, in words")
	f.StringVar(&req.Authority, "authority", "", "the authority on which protected taxa or places may be cut, where it is one")
	f.StringVar(&req.Paper, "paper", "", "where the paper is")
	f.StringVar(&req.By, "by", "", "who enters it")
	needs(cmd, "issuer", "stands", "valid-from")
	return cmd
}

// listFlag reads names with commas between them, and may be given again.
func listFlag(cmd *cobra.Command, to *[]string, name, kind, help string) {
	addValue(cmd, name, kind, help, func(text string) error {
		names, err := parseList(text)
		*to = append(*to, names...)
		return err
	})
}

func parseList(text string) ([]string, error) {
	names := []string{}
	for part := range strings.SplitSeq(text, ",") {
		if part = models.Clean(part); part != "" {
			names = append(names, part)
		}
	}
	return names, nil
}

func (s *session) permitAdded(v models.PermitView) {
	s.say("%s is on file for %s.", upper(paperWords(&v)), strings.Join(v.Stands, ", "))
	if v.Kind != models.ConsentPaper {
		s.say("Log what is cut on it with withy batch log --permit %s. Mark stands that need one with withy stand edit STAND --permit-required yes.", quoted(v.Number))
	}
	s.warnAll(v.Warnings)
}

// paperWords names a paper by what it is, its number and who gave it.
func paperWords(v *models.PermitView) string {
	return fmt.Sprintf("%s %s of %s", v.Kind, v.Number, v.Issuer)
}

func newPermitList(s *session) *cobra.Command {
	var q nursery.PermitQuery
	var on day
	cmd := &cobra.Command{
		Use: "list", Short: "List the permits, with what is left on each",
		Example: examples("withy permit list", "withy permit list --stand MB-03 --on today"),
		Args:    takes(),
		RunE: s.through(func(ctx context.Context, c *api.Client, _ []string) (err error) {
			if q.On, err = on.in(ctx, c); err != nil {
				return err
			}
			return showAll(s, c.Permits(ctx, q), s.permitTable)
		}),
	}
	cmd.Flags().StringVar(&q.Stand, "stand", "", "only those that cover this stand")
	dayAheadFlag(cmd, &on, "on", "only those that hold on this day")
	return cmd
}

func (s *session) permitTable(permits []models.PermitView) {
	var rows [][]string
	for _, v := range permits {
		rows = append(rows, []string{v.Number, string(v.Kind), v.Issuer, v.ValidFrom.String(), dash(v.ValidTo.String()), leftWords(&v), strings.Join(v.Stands, " ")})
	}
	s.table([]column{textCol("NUMBER"), col("KIND"), textCol("ISSUER"), col("FROM"), col("TO"), numCol("LEFT"), textCol("STANDS")}, rows,
		"There are no such permits: put one on file with withy permit add.")
}

// leftWords is what is left of a permit, of how much.
func leftWords(v *models.PermitView) string {
	if v.Left == nil || v.Quantity == nil {
		return "-"
	}
	return fmt.Sprintf("%s of %s %s", *v.Left, *v.Quantity, v.Unit)
}

func newPermitShow(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "show PERMIT", Short: "Show a permit with its terms, what is left, and its earlier terms",
		Example: examples("withy permit show WV-2026-12"),
		Args:    takes("PERMIT"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			permit, err := c.Permit(ctx, args[0])
			if err != nil {
				return err
			}
			place, err := s.zone(ctx, c)
			if err != nil {
				return err
			}
			return show(s, permit, func(v models.PermitView) { s.permitWords(v, place) })
		}),
	}
}

func (s *session) permitWords(v models.PermitView, place *time.Location) {
	s.say("%s.", upper(paperWords(&v)))
	s.say("%s%s", validWords(&v.PermitTerms), holdsWords(&v))
	s.say("Covers: %s.", strings.Join(v.Stands, ", "))
	switch {
	case v.Quantity != nil:
		s.say("Left: %s; %s drawn.", leftWords(&v), v.Drawn)
	case v.Kind != models.ConsentPaper:
		s.say("It sets no number; %s %s are drawn.", v.Drawn, v.Unit)
	}
	for _, line := range [][2]string{
		{"For", strings.Join(v.People, ", ")}, {"Taxa", strings.Join(v.Taxa, ", ")}, {"Land manager", v.LandManager}, {"Parcels", v.Parcels},
		{"Conditions", v.Conditions}, {"Authority", v.Authority}, {"The paper", v.Paper},
	} {
		if line[1] != "" {
			s.say("%s: %s", line[0], line[1])
		}
	}
	s.say("Version %d.", v.Version)
	if len(v.Earlier) > 0 {
		s.say("")
		s.earlierTerms(v.Earlier, place)
	}
	s.warnAll(v.Warnings)
}

func validWords(t *models.PermitTerms) string {
	if t.ValidTo.IsZero() {
		return fmt.Sprintf("From %s on.", t.ValidFrom)
	}
	return fmt.Sprintf("From %s to %s.", t.ValidFrom, t.ValidTo)
}

func holdsWords(v *models.PermitView) string {
	if v.Holds {
		return ""
	}
	return " It does not hold today."
}

func (s *session) earlierTerms(list []models.EarlierTerms, place *time.Location) {
	var rows [][]string
	for _, e := range list {
		rows = append(rows, []string{models.DateIn(e.ChangedAt, place).String(), dash(e.ChangedBy), e.Why, termsWords(&e)})
	}
	s.table([]column{col("CHANGED"), col("BY"), textCol("WHY"), textCol("BEFORE")}, rows, "")
}

// termsWords are earlier terms in short.
func termsWords(e *models.EarlierTerms) string {
	t := &e.Terms
	parts := []string{string(t.Kind) + " of " + t.Issuer}
	if t.Quantity != nil {
		parts = append(parts, fmt.Sprintf("%s %s", *t.Quantity, t.Unit))
	}
	parts = append(parts, strings.TrimSuffix(strings.ToLower(validWords(t)), "."), "at "+strings.Join(e.Stands, ", "))
	for _, part := range [][2]string{
		{"for", strings.Join(t.People, ", ")}, {"taxa", strings.Join(t.Taxa, ", ")}, {"land manager", t.LandManager}, {"parcels", t.Parcels},
		{"conditions", t.Conditions}, {"authority", t.Authority}, {"paper", t.Paper},
	} {
		if part[1] != "" {
			parts = append(parts, part[0]+" "+part[1])
		}
	}
	return strings.Join(parts, "; ")
}

func newPermitEdit(s *session) *cobra.Command {
	var edit models.PermitEdit
	var expected int
	cmd := &cobra.Command{
		Use: "edit PERMIT", Short: "Change a permit; its terms as they were are kept",
		Long: `Changes a permit, with a --why; what is not given stays, and "none" takes a value
away. Lists are given whole. The number stays, and so do the terms before, which
withy permit show tells. A quantity may be lowered below what is drawn: nothing
that was cut is undone, and nothing more can be cut on it.`,
		Example: examples(
			"withy permit edit WV-2026-12 --valid-to 2027-04-15 --why \"extended by the parks\" --by OP",
			"withy permit edit WV-2026-12 --stands MB-03,MB-04,MB-05 --quantity 260 --why \"a new paper came\""),
		Args: takes("PERMIT"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			version := expected
			if version == 0 {
				permit, err := c.Permit(ctx, args[0])
				if err != nil {
					return err
				}
				version = permit.Version
			}
			permit, err := c.EditPermit(ctx, args[0], version, edit)
			if err != nil {
				return err
			}
			return show(s, permit, func(v models.PermitView) {
				s.say("%s is at version %d.", upper(paperWords(&v)), v.Version)
				s.warnAll(v.Warnings)
			})
		}),
	}
	permitFlags(cmd, &edit)
	cmd.Flags().StringVar(&edit.Why, "why", "", "why it is changed")
	cmd.Flags().StringVar(&edit.By, "by", "", "who changes it")
	expectFlag(cmd, &expected)
	needs(cmd, "why")
	return cmd
}

// permitFlags are the terms of a permit, each of which can be changed or taken away.
func permitFlags(cmd *cobra.Command, edit *models.PermitEdit) {
	patchFlag(cmd, &edit.Kind, "kind", "word", "what the paper is: permit, leave or consent", parseWord(models.PermitKinds))
	complete(cmd, "kind", models.PermitKinds)
	patchFlag(cmd, &edit.Issuer, "issuer", "text", "who gave it", asText)
	patchFlag(cmd, &edit.Stands, "stands", "code,…", "codes of the stands it covers, the whole list", parseList)
	alias(cmd, "stands", "stand")
	patchFlag(cmd, &edit.Taxa, "taxa", "name,…", "scientific names it covers, the whole list", parseList)
	patchFlag(cmd, &edit.Quantity, "quantity", "number", "most that may be taken on it", parseShare)
	patchFlag(cmd, &edit.Unit, "unit", "word", "what the quantity counts: stems, cuttings, bundles or kg", parseWord(models.PermitUnits))
	complete(cmd, "unit", models.PermitUnits)
	patchFlag(cmd, &edit.People, "people", "code,…", "codes of those who may cut on it, the whole list", parseList)
	patchFlag(cmd, &edit.ValidFrom, "valid-from", "day", "first day it holds", models.ParseDate)
	patchFlag(cmd, &edit.ValidTo, "valid-to", "day", "last day it holds", models.ParseDate)
	patchFlag(cmd, &edit.LandManager, "land-manager", "text", "who manages the land it is for", asText)
	patchFlag(cmd, &edit.Parcels, "parcels", "text", "the parcels it covers, in words", asText)
	patchFlag(cmd, &edit.Conditions, "conditions", "text", "its conditions or terms, in words", asText)
	patchFlag(cmd, &edit.Authority, "authority", "text", "the authority on which protected taxa or places may be cut", asText)
	patchFlag(cmd, &edit.Paper, "paper", "text", "where the paper is", asText)
}

func permitNumbers(ctx context.Context, c *api.Client) (numbers []string) {
	for permit, err := range c.Permits(ctx, nursery.PermitQuery{}) {
		if err != nil || len(numbers) == offered {
			break
		}
		numbers = append(numbers, permit.Number+"\t"+permit.Issuer)
	}
	return numbers
}

package cli

import (
	"context"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/documents"
	"withybed/models/nursery"
)

// fieldSheet is the command that prints a page for a crew to take along.
type fieldSheet struct {
	*session
	q     nursery.SheetQuery
	on    day
	paper models.Paper
	pdf   string // the file to write; - is standard output
}

func newSheet(s *session) *cobra.Command {
	f := &fieldSheet{session: s, paper: models.PaperA4}
	cmd := &cobra.Command{
		Use: "sheet STAND", Short: "Print a page for a crew to take to a stand",
		Long: `Prints what a crew needs where there is no signal: how to know the plant, the
number of stems to stop at, how many to take from one plant, cautions, tally
boxes and numbers for the tags. Where every rule together allows fewer stems than
were asked for, the sheet stops there and says why; where nothing may be cut it
says so. What is left of a share of the crew on that day is drawn on. Nothing is
set aside: another crew may have the same stand in mind.`,
		Example: examples(
			"withy sheet MB-03 --on tomorrow --stems 24 --crew C",
			"withy sheet MB-03 --on 2026-01-17 --stems 24 --crew C --pdf sheet.pdf",
			"withy sheet MB-03 --stems 24 --crew C --paper letter --pdf sheet.pdf"),
		Args:    takes("STAND"),
		PreRunE: f.prepare,
		RunE:    s.through(f.run),
	}
	dayAheadFlag(cmd, &f.on, "on", "day of the cut; today by default")
	intFlag(cmd, &f.q.Stems, "stems", "stems the crew would like to cut (needed)")
	cmd.Flags().StringVar(&f.q.Crew, "crew", "", "what the crew is called; the numbers of its tags begin with it (needed)")
	wordFlag(cmd, &f.paper, "paper", "size of the paper of a PDF", models.Papers)
	cmd.Flags().StringVar(&f.pdf, "pdf", "", "write a PDF to this file; - is standard output")
	return cmd
}

func (f *fieldSheet) prepare(cmd *cobra.Command, _ []string) error {
	if err := given(cmd, []string{"stems", "crew"}); err != nil {
		return err
	}
	if f.pdf != "" && f.json {
		return usagef("--json and --pdf do not go together: ask for one of them")
	}
	return f.pdfFits(cmd, f.pdf)
}

// pdfFits says whether a PDF can go where it is asked to, and whether there is one where
// its paper is named.
func (s *session) pdfFits(cmd *cobra.Command, pdf string) error {
	switch {
	case pdf == "" && cmd.Flags().Changed("paper"):
		return usagef("--paper goes with --pdf: text has no paper")
	case pdf == "-" && s.env.Width > 0:
		return usagef("a PDF is not for a terminal: name a file with --pdf, or pipe it on")
	}
	return nil
}

func (f *fieldSheet) run(ctx context.Context, c *api.Client, args []string) (err error) {
	if f.q.On, err = f.on.in(ctx, c); err != nil {
		return err
	}
	switch {
	case f.json:
		sheet, err := c.Sheet(ctx, args[0], f.q)
		if err != nil {
			return err
		}
		return f.printJSON(sheet)
	case f.pdf != "":
		return f.writePDF(ctx, c, args[0])
	}
	text, err := c.SheetText(ctx, args[0], f.q)
	if err != nil {
		return err
	}
	_, err = f.out.WriteString(documents.Printable(text)) // its lines are to stay as they are on paper
	return err
}

func (f *fieldSheet) writePDF(ctx context.Context, c *api.Client, stand string) error {
	pdf, err := c.SheetPDF(ctx, stand, f.q, f.paper)
	if err != nil {
		return err
	}
	return f.writeFile("sheet", pdf, f.pdf)
}

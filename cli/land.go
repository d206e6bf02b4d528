package cli

import (
	"context"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/documents"
	"withybed/models/nursery"
)

// landPage is the command that makes the page of a land manager.
type landPage struct {
	*session
	q         nursery.LandQuery
	from, to  day
	known     day
	html, pdf string // files to write; - is standard output
	paper     models.Paper
}

func newLand(s *session) *cobra.Command {
	l := &landPage{session: s, paper: models.PaperA4}
	cmd := &cobra.Command{
		Use: "land", Short: "Make the page for a land manager, or for a place",
		Long: `Tells of every stand on someone's land, or at a place, what its ledger holds in a
period, to the stem, with every cut by code; what is left, when it opens, its last
count, papers, look for nests and cleaning of tools; and what was within the allowance
as it was known then and is too much since, with the entry that made it so. It names
people by their codes alone.`,
		Example: examples(
			"withy land --manager \"Wrenlow Valley Parks\"",
			"withy land --manager \"Wrenlow Valley Parks\" --known-on 2026-01-31",
			"withy land --place \"Mallow Bend\" --from 2025-07-01 --to 2026-06-30 --html page.html --pdf page.pdf"),
		Args:    takes(),
		PreRunE: l.prepare,
		RunE:    s.through(l.run),
	}
	cmd.Flags().StringVar(&l.q.LandManager, "manager", "", "whose land it is about")
	alias(cmd, "manager", "land-manager")
	cmd.Flags().StringVar(&l.q.Place, "place", "", "the place it is about")
	dayFlag(cmd, &l.from, "from", "first day of the period; the first of this growth year by default")
	dayFlag(cmd, &l.to, "to", "last day of the period; the last of this growth year by default")
	knownFlag(cmd, &l.known)
	cmd.Flags().StringVar(&l.html, "html", "", "write it to this file as HTML; - is standard output")
	cmd.Flags().StringVar(&l.pdf, "pdf", "", "write it to this file as PDF; - is standard output")
	wordFlag(cmd, &l.paper, "paper", "size of the paper of a PDF", models.Papers)
	return cmd
}

func (l *landPage) prepare(cmd *cobra.Command, _ []string) error {
	switch {
	case (l.html != "" || l.pdf != "") && l.json:
		return usagef("--json does not go with --html and --pdf: ask for one of them")
	case l.html == "-" && l.pdf == "-":
		return usagef("two pages do not go to standard output: name a file for one of them")
	}
	return l.pdfFits(cmd, l.pdf)
}

func (l *landPage) run(ctx context.Context, c *api.Client, _ []string) (err error) {
	if l.q.From, err = l.from.in(ctx, c); err != nil {
		return err
	}
	if l.q.To, err = l.to.in(ctx, c); err != nil {
		return err
	}
	if l.q.KnownOn, err = l.known.in(ctx, c); err != nil {
		return err
	}
	switch {
	case l.json:
		land, err := c.Land(ctx, l.q)
		if err != nil {
			return err
		}
		return l.printJSON(land)
	case l.html != "" || l.pdf != "":
		return l.writeFiles(ctx, c)
	}
	text, err := c.LandText(ctx, l.q)
	if err != nil {
		return err
	}
	_, err = l.out.WriteString(documents.Printable(text)) // its lines are to stay as they are on paper
	return err
}

func (l *landPage) writeFiles(ctx context.Context, c *api.Client) error {
	if l.html != "" {
		page, err := c.LandHTML(ctx, l.q)
		if err != nil {
			return err
		}
		if err := l.writeFile("page", page, l.html); err != nil {
			return err
		}
	}
	if l.pdf == "" {
		return nil
	}
	page, err := c.LandPDF(ctx, l.q, l.paper)
	if err != nil {
		return err
	}
	return l.writeFile("page", page, l.pdf)
}

package cli

import (
	"context"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

func newTaxon(s *session) *cobra.Command {
	cmd := s.group("taxon", "Keep the kinds of plant", examples("withy taxon list", "withy taxon show \"Cornus sericea\""))
	cmd.AddCommand(newTaxonAdd(s), newTaxonList(s), newTaxonShow(s), newTaxonEdit(s))
	return cmd
}

func newTaxonAdd(s *session) *cobra.Command {
	var req models.NewTaxon
	cmd := &cobra.Command{
		Use: "add NAME", Short: "Add a taxon by its scientific name",
		Example: examples(
			"withy taxon add \"Cornus sericea\" --common-name \"red-osier dogwood\" --family Cornaceae",
			"withy taxon add \"Populus trichocarpa\" --common-name \"black cottonwood\" --dioecious"),
		Args: takes("NAME"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			req.ScientificName = args[0]
			taxon, err := c.AddTaxon(ctx, req)
			if err != nil {
				return err
			}
			return show(s, taxon, func(t models.Taxon) {
				s.say("%s is added. Next: its stands, with withy stand add.", taxonWords(t.ScientificName, t.CommonName))
			})
		}),
	}
	f := cmd.Flags()
	f.StringVar(&req.CommonName, "common-name", "", "name in everyday use")
	f.StringVar(&req.Family, "family", "", "plant family")
	f.BoolVar(&req.Dioecious, "dioecious", false, "female and male flowers stand on separate plants")
	f.BoolVar(&req.Protected, "protected", false, "listed or locally protected: cuts are refused until there is an authority on file")
	f.BoolVar(&req.SlowToRoot, "slow-to-root", false, "given more time before a decision is asked for")
	f.StringVar(&req.IdentityMarks, "identity-marks", "", "what to look for, and what it is mistaken for, one mark a line or sentence; printed on field sheets")
	optionalInt(cmd, &req.SoakDays, "soak-days", "longest soak of dormant wood in days, where the nursery's settings do not fit")
	return cmd
}

func newTaxonList(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "List the taxa", Example: examples("withy taxon list"),
		Args: takes(),
		RunE: s.through(func(ctx context.Context, c *api.Client, _ []string) error {
			return showAll(s, c.Taxa(ctx), func(taxa []models.Taxon) {
				var rows [][]string
				for _, t := range taxa {
					rows = append(rows, []string{t.ScientificName, t.CommonName, t.Family, strings.Join(traits(&t), ", ")})
				}
				s.table([]column{col("TAXON"), textCol("COMMON NAME"), col("FAMILY"), textCol("REMARKS")}, rows,
					"There are no taxa yet: add one with withy taxon add.")
			})
		}),
	}
}

func newTaxonShow(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "show NAME", Short: "Show a taxon", Example: examples("withy taxon show \"Cornus sericea\""),
		Args: takes("NAME"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			taxon, err := c.Taxon(ctx, args[0])
			if err != nil {
				return err
			}
			return show(s, taxon, s.taxonWords)
		}),
	}
}

func (s *session) taxonWords(t models.Taxon) {
	s.say("%s", taxonWords(t.ScientificName, t.CommonName))
	if t.Family != "" {
		s.say("Family: %s", t.Family)
	}
	if t.SoakDays != nil {
		s.say("Longest soak: %s", models.Counted(*t.SoakDays, "day"))
	}
	for _, trait := range traits(&t) {
		s.say("%s", trait)
	}
	if t.IdentityMarks != "" {
		s.say("Look for:")
		for line := range strings.Lines(t.IdentityMarks) {
			s.say("  %s", strings.TrimSpace(line))
		}
	}
	s.say("Version %d.", t.Version)
}

// traits are what matters about a taxon beyond its names.
func traits(t *models.Taxon) []string {
	var list []string
	for _, trait := range []struct {
		is   bool
		word string
	}{{t.Protected, "protected"}, {t.Dioecious, "dioecious"}, {t.SlowToRoot, "slow to root"}} {
		if trait.is {
			list = append(list, trait.word)
		}
	}
	return list
}

func newTaxonEdit(s *session) *cobra.Command {
	var edit models.TaxonEdit
	var expected int
	cmd := &cobra.Command{
		Use: "edit NAME", Short: "Change a taxon",
		Long:    `Changes a taxon; what is not given stays. "none" takes a value away.`,
		Example: examples("withy taxon edit \"Symphoricarpos albus\" --slow-to-root yes --soak-days none"),
		Args:    takes("NAME"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			version := expected
			if version == 0 {
				taxon, err := c.Taxon(ctx, args[0])
				if err != nil {
					return err
				}
				version = taxon.Version
			}
			taxon, err := c.EditTaxon(ctx, args[0], version, edit)
			if err != nil {
				return err
			}
			return show(s, taxon, func(t models.Taxon) {
				s.say("%s is changed, and at version %s.", t.ScientificName, strconv.Itoa(t.Version))
			})
		}),
		PreRunE: somethingToEdit,
	}
	patchFlag(cmd, &edit.CommonName, "common-name", "text", "name in everyday use", asText)
	patchFlag(cmd, &edit.Family, "family", "text", "plant family", asText)
	patchFlag(cmd, &edit.Dioecious, "dioecious", "yes|no", "female and male flowers stand on separate plants", parseYesNo)
	patchFlag(cmd, &edit.Protected, "protected", "yes|no", "listed or locally protected", parseYesNo)
	patchFlag(cmd, &edit.SlowToRoot, "slow-to-root", "yes|no", "given more time before a decision is asked for", parseYesNo)
	patchFlag(cmd, &edit.IdentityMarks, "identity-marks", "text", "what to look for, and what it is mistaken for, one mark a line or sentence", asText)
	patchFlag(cmd, &edit.SoakDays, "soak-days", "days", "longest soak of dormant wood in days", parseCount)
	expectFlag(cmd, &expected)
	return cmd
}

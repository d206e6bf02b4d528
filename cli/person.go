package cli

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

func newPerson(s *session) *cobra.Command {
	cmd := s.group("person", "Keep the list of people, whom records name by a code",
		examples("withy person list", "withy person add RQ --name \"Rowan Quill\" --email rowan@wrenlow.example --mail bench"))
	cmd.AddCommand(newPersonAdd(s), newPersonList(s), newPersonShow(s), newPersonEdit(s), newPersonErase(s))
	return cmd
}

func newPersonAdd(s *session) *cobra.Command {
	var req models.NewPerson
	cmd := &cobra.Command{
		Use: "add CODE", Short: "Put a person on the list under a short code",
		Long: `Puts a person on the list. Records hold the code alone; name and contacts are seen
by coordinators only, and can be erased without touching a record. A code is given
once, for good: letters, digits and dashes, at most 12.`,
		Example: examples(
			"withy person add RQ --name \"Rowan Quill\" --email rowan@wrenlow.example --mail bench,stands",
			"withy person add TY-2 --name \"Tam Yarrow\" --phone \"555 0117\" --note \"Saturdays only\""),
		Args: takes("CODE"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			req.Code = args[0]
			person, err := c.AddPerson(ctx, req)
			if err != nil {
				return err
			}
			return show(s, person, func(p models.PersonView) {
				s.say("%s is on the list: name the person by that code from now on, as in --collected-by %s.", p.Code, p.Code)
				s.warnAll(p.Warnings)
			})
		}),
	}
	f := cmd.Flags()
	f.StringVar(&req.Name, "name", "", "name")
	f.StringVar(&req.Email, "email", "", "address for mail")
	f.StringVar(&req.Phone, "phone", "", "telephone")
	f.StringVar(&req.Note, "note", "", "anything else")
	addValue(cmd, "mail", "list,…", "mail the person gets: bench for leads, stands for coordinators; needs --email", func(text string) (err error) {
		req.Mail, err = parseMail(text)
		return err
	})
	complete(cmd, "mail", models.MailLists)
	return cmd
}

// parseMail reads lists of mail with commas between them.
func parseMail(text string) ([]models.MailList, error) {
	lists := []models.MailList{}
	for _, part := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' }) {
		list, err := parseWord(models.MailLists)(part)
		if err != nil {
			return nil, err
		}
		lists = append(lists, list)
	}
	return lists, nil
}

func newPersonList(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "List the people", Example: examples("withy person list", "withy person list --json"),
		Args: takes(),
		RunE: s.through(func(ctx context.Context, c *api.Client, _ []string) error {
			return showAll(s, c.People(ctx), s.personTable)
		}),
	}
}

func (s *session) personTable(people []models.PersonView) {
	var rows [][]string
	for _, p := range people {
		name := dash(p.Name)
		if p.Erased {
			name = "erased"
		}
		rows = append(rows, []string{p.Code, name, dash(p.Email), dash(p.Phone), dash(mailWords(p.Mail))})
	}
	s.table([]column{col("CODE"), textCol("NAME"), textCol("EMAIL"), textCol("PHONE"), col("MAIL")}, rows,
		"Nobody is on the list yet: add a person with withy person add. Until then names are kept and shown as they are written.")
}

func mailWords(lists []models.MailList) string {
	var words []string
	for _, list := range lists {
		words = append(words, string(list))
	}
	return strings.Join(words, ", ")
}

func newPersonShow(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "show PERSON", Short: "Show a person with name and contacts", Example: examples("withy person show RQ"),
		Args: takes("PERSON"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			person, err := c.Person(ctx, args[0])
			if err != nil {
				return err
			}
			return show(s, person, s.personWords)
		}),
	}
}

func (s *session) personWords(p models.PersonView) {
	if p.Erased {
		s.say("%s was erased: the code is all that is left.", p.Code)
		return
	}
	s.say("%s: %s", p.Code, dash(p.Name))
	for _, line := range [][2]string{{"Email", p.Email}, {"Telephone", p.Phone}, {"Gets mail", mailWords(p.Mail)}, {"Note", p.Note}} {
		if line[1] != "" {
			s.say("%s: %s", line[0], line[1])
		}
	}
	s.say("Version %d.", p.Version)
}

func newPersonEdit(s *session) *cobra.Command {
	var edit models.PersonEdit
	var expected int
	cmd := &cobra.Command{
		Use: "edit PERSON", Short: "Change a person",
		Long:    `Changes a person; what is not given stays. "none" takes a value away. The code stays.`,
		Example: examples("withy person edit RQ --email rowan@mail.example", "withy person edit RQ --mail none --email none"),
		Args:    takes("PERSON"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			version := expected
			if version == 0 {
				person, err := c.Person(ctx, args[0])
				if err != nil {
					return err
				}
				version = person.Version
			}
			person, err := c.EditPerson(ctx, args[0], version, edit)
			if err != nil {
				return err
			}
			return show(s, person, func(p models.PersonView) {
				s.say("%s is changed, and at version %d.", p.Code, p.Version)
				s.warnAll(p.Warnings)
			})
		}),
		PreRunE: somethingToEdit,
	}
	patchFlag(cmd, &edit.Name, "name", "text", "name", asText)
	patchFlag(cmd, &edit.Email, "email", "address", "address for mail", asText)
	patchFlag(cmd, &edit.Phone, "phone", "text", "telephone", asText)
	patchFlag(cmd, &edit.Note, "note", "text", "anything else", asText)
	patchFlag(cmd, &edit.Mail, "mail", "list,…", "mail the person gets, the whole list: bench, stands or both", parseMail)
	expectFlag(cmd, &expected)
	return cmd
}

func newPersonErase(s *session) *cobra.Command {
	var sure bool
	cmd := &cobra.Command{
		Use: "erase PERSON", Short: "Take away all that is known of a person but the code, for good",
		Long: `Takes away name, email, telephone, note and mail, and letters that wait, for good.
The code stays on the list and is never given again, and no record is touched: they
go on naming the code. Nothing is asked; --yes says that you are sure.`,
		Example: examples("withy person erase RQ --yes"),
		Args:    takes("PERSON"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			person, err := c.ErasePerson(ctx, args[0])
			if err != nil {
				return err
			}
			return show(s, person, func(p models.PersonView) {
				s.say("%s is erased: name, email, telephone, note and mail are gone, and so are letters that waited. The code stays, and so do the records that name it.", p.Code)
				s.warnAll(p.Warnings)
			})
		}),
		PreRunE: func(cmd *cobra.Command, args []string) error {
			if !sure {
				return usagef("erasing %s takes name, email, telephone, note and mail away for good, and leaves the code and every record: give --yes if that is meant", args[0])
			}
			return nil
		},
	}
	cmd.Flags().BoolVar(&sure, "yes", false, "it is meant (needed)")
	return cmd
}

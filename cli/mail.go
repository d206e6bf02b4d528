package cli

import (
	"context"
	"errors"
	"fmt"
	"net/mail"
	"time"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/jobs"
	"withybed/models"
	"withybed/models/documents"
)

func newMail(s *session) *cobra.Command {
	cmd := s.group("mail", "See to the mail: reminders, and alerts at once",
		examples("withy mail list --state waiting", "withy mail test op@wrenlow.example", "withy mail send"))
	cmd.Long = `Mail goes to the people on the list: bench mail to leads, stands mail to
coordinators (withy person add --mail). withy serve sends it through the relay of
WITHY_MAIL_RELAY, from WITHY_MAIL_FROM; without a relay each letter becomes a file
in a folder, WITHY_MAIL_FOLDER.`
	cmd.AddCommand(newMailList(s), newMailSend(s), newMailTest(s))
	return cmd
}

func newMailList(s *session) *cobra.Command {
	var state models.LetterState
	var most int
	cmd := &cobra.Command{
		Use: "list", Short: "List the letters, the latest made first",
		Example: examples("withy mail list", "withy mail list --state given-up", "withy mail list --most 0 --json"),
		Args:    takes(),
		RunE: s.through(func(ctx context.Context, c *api.Client, _ []string) error {
			place, err := s.zone(ctx, c)
			if err != nil {
				return err
			}
			return showAll(s, c.Letters(ctx, state, most), func(letters []models.LetterView) { s.mailTable(letters, place) })
		}),
	}
	wordFlag(cmd, &state, "state", "only letters that have come so far", models.LetterStates)
	mostFlag(cmd, &most, "letters")
	return cmd
}

func (s *session) mailTable(letters []models.LetterView, place *time.Location) {
	var rows [][]string
	for _, l := range letters {
		rows = append(rows, []string{minuteAt(l.MadeAt, place), dash(l.Address), l.Subject, stateWords(l, place), dash(l.Trouble)})
	}
	s.table([]column{col("MADE"), textCol("TO"), textCol("SUBJECT"), textCol("STATE"), textCol("TROUBLE")}, rows, "There is no mail.")
}

func stateWords(l models.LetterView, place *time.Location) string {
	text := words(l.State)
	if l.State == models.LetterWaiting && l.Tries > 0 {
		text += fmt.Sprintf(", %s, next %s", many(l.Tries, "try", "tries"), minuteAt(l.TryAt, place))
	}
	return text
}

func newMailSend(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "send", Short: "Send the letters that wait, where no server does",
		Long: `Sends what waits now and whose time has come, each letter once even while a server
runs. It works on the database itself, and is for those who run no server: have it
run every hour, after withy remind run.`,
		Example: examples("withy mail send", "WITHY_MAIL_FOLDER=/srv/mail withy mail send"),
		Args:    takes(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if cmd.Flags().Changed("server") {
				return usagef("withy mail send works on the database itself, and a server sends its mail by itself: leave out --server")
			}
			return s.sendMail(cmd.Context())
		},
	}
}

func (s *session) sendMail(ctx context.Context) error {
	way, err := s.mailWay()
	if err != nil {
		return err
	}
	if way.post == nil {
		return usage{noMailFolder}
	}
	h, err := s.openHouse(ctx, false)
	if err != nil {
		return err
	}
	done, err := jobs.NewMail(h.Nursery, way.post, way.from, s.senderName()).Deliver(ctx)
	if err = errors.Join(err, h.Close()); err != nil {
		return err
	}
	if err := show(s, done, func(d jobs.Delivered) { s.say("%s sent %s.", wasWere(d.Sent, "letter"), way.where) }); err != nil {
		return err
	}
	if done.Failed > 0 {
		return fmt.Errorf("%s could not be sent: withy mail list says why, and when the next try is", models.Counted(done.Failed, "letter"))
	}
	return nil
}

// wasWere is a count with its noun and verb: 1 letter was, 3 letters were.
func wasWere(n int, noun string) string { return models.Counted(n, noun) + " " + models.Were(n) }

func newMailTest(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "test ADDRESS", Short: "Send a test letter at once, and say what the relay answers",
		Long: `Sends a test letter through the relay of WITHY_MAIL_RELAY, from WITHY_MAIL_FROM, with
the password of WITHY_MAIL_PASSWORD, and says what the relay answers. Nothing is
kept of it.`,
		Example: examples("withy mail test op@wrenlow.example"),
		Args:    takes("ADDRESS"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("server") {
				return usagef("withy mail test tries the settings of this computer: leave out --server")
			}
			return s.testMail(cmd.Context(), args[0])
		},
	}
}

// tested is how a test of the mail went.
type tested struct {
	Address string `json:"address"`
	Relay   string `json:"relay"`
	Answer  string `json:"answer"`
}

func (s *session) testMail(ctx context.Context, to string) error {
	address, err := mail.ParseAddress(to)
	if err != nil {
		return usagef("%q is no address for mail: write it as in op@wrenlow.example", to)
	}
	way, err := s.mailWay()
	if err != nil {
		return err
	}
	relay, is := way.post.(*jobs.Relay)
	if !is {
		return usagef("there is no relay to try: set WITHY_MAIL_RELAY, as in smtp://user@relay.example, and WITHY_MAIL_FROM")
	}
	m, id := documents.TestLetter(), s.env.NewID()
	answer, err := relay.Hand(ctx, models.Letter{
		ID: id, Address: address.Address, MessageID: jobs.MessageID(id, way.from),
		Subject: m.Subject, Text: m.Text, HTML: m.HTML, MadeAt: s.env.Clock.Now(),
	})
	if err != nil {
		return fmt.Errorf("the letter was not taken: %w", err)
	}
	return show(s, tested{address.Address, relay.String(), answer}, func(t tested) {
		s.say("%s took a test letter to %s and answered: %s", t.Relay, t.Address, t.Answer)
	})
}

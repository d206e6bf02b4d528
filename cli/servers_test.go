package cli_test

import (
	"database/sql"
	"fmt"
	"io"
	"log"
	"net"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/emersion/go-smtp"

	"withybed/api"
	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// postOffice is a mail relay that notes what it takes.
type postOffice struct {
	address string
	taken   chan string
}

// NewSession greets a client.
func (p *postOffice) NewSession(*smtp.Conn) (smtp.Session, error) { return &visit{office: p}, nil }

type visit struct {
	office *postOffice
	to     string
}

func (v *visit) Reset()                               {}
func (v *visit) Logout() error                        { return nil }
func (v *visit) Mail(string, *smtp.MailOptions) error { return nil }

// Rcpt notes where a mail goes.
func (v *visit) Rcpt(to string, _ *smtp.RcptOptions) error {
	v.to = to
	return nil
}

// Data takes a mail.
func (v *visit) Data(r io.Reader) error {
	text, err := io.ReadAll(r)
	if err == nil {
		v.office.taken <- v.to + "\n" + string(text)
	}
	return err
}

func openPostOffice(t *testing.T) *postOffice {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	office := &postOffice{address: listener.Addr().String(), taken: make(chan string, 100)}
	server := smtp.NewServer(office)
	server.Domain, server.ErrorLog = "post.wrenlow.example", log.New(io.Discard, "", 0)
	go func() { _ = server.Serve(listener) }() // ends when it is closed
	t.Cleanup(func() { _ = server.Close() })
	return office
}

// settings make a server hand its mail to this relay.
func (p *postOffice) settings() []string {
	return []string{"WITHY_MAIL_RELAY=smtp://" + p.address + "?tls=none", "WITHY_MAIL_FROM=withy@wrenlow.example"}
}

// Two servers on one PostgreSQL are one nursery: rules hold through both, and what
// is done once is done once.
func TestTwoServersAreOneNursery(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program and runs two servers")
	}
	program, office := buildWithy(t), openPostOffice(t)
	database := storetest.Empty(t, store.Postgres)
	var first, second *server
	var both sync.WaitGroup
	both.Go(func() { first = start(t, program, database, office.settings()...) }) // both migrate an empty database
	both.Go(func() { second = start(t, program, database, office.settings()...) })
	both.Wait()
	if first == nil || second == nil {
		t.Fatal("one of the servers did not start")
	}
	servers := []*server{first, second}
	today := countedStand(t, first.client, 2320) // 116 stems

	t.Run("cuts", func(t *testing.T) { cutThroughBoth(t, servers, today) })
	t.Run("keys", func(t *testing.T) { sameKeyToBoth(t, servers, today) })
	t.Run("reminders", func(t *testing.T) { remindBoth(t, servers, office) })
	for _, s := range servers {
		s.stop(t)
	}
	noMoreReminders(t, office)
	t.Run("jobs", func(t *testing.T) { jobsRanOnce(t, database) })
}

// countedStand makes the stand TB-01, counted ten days ago.
func countedStand(t *testing.T, c *api.Client, stems int) models.Date {
	t.Helper()
	ctx := t.Context()
	seen, err := c.Nursery(ctx)
	if err == nil {
		_, err = c.AddTaxon(ctx, models.NewTaxon{ScientificName: "Cornus sericea"})
	}
	if err == nil {
		_, err = c.AddStand(ctx, models.NewStand{Code: "TB-01", Name: "Wrenlow Bend", Taxon: "Cornus sericea"})
	}
	if err == nil {
		_, err = c.AddSurvey(ctx, "TB-01", models.NewSurvey{SurveyedOn: seen.Today.Add(-10), Method: models.Census, Stems: &stems})
	}
	if err == nil {
		_, err = c.AddPerson(ctx, models.NewPerson{Code: "OP", Name: "Orla Penn", Email: "orla@wrenlow.example", Mail: []models.MailList{models.StandMail}})
	}
	if err != nil {
		t.Fatal(err)
	}
	return seen.Today
}

func cutOne(today models.Date, by string) models.NewBatch {
	return models.NewBatch{Stand: "TB-01", CollectedOn: today, StemsCut: 1, Cuttings: 3, CollectedBy: by}
}

// Of 300 stems that are cut through both servers at once exactly the allowance is
// taken.
func cutThroughBoth(t *testing.T, servers []*server, today models.Date) {
	const cutters, each = 20, 15
	var taken, refused atomic.Int64
	var working sync.WaitGroup
	for i := range cutters {
		working.Go(func() {
			for range each {
				_, err := servers[i%len(servers)].client.LogBatch(t.Context(), cutOne(today, "OP"))
				switch e := models.AsError(err); {
				case err == nil:
					taken.Add(1)
				case e != nil && e.Code == "over-allowance":
					refused.Add(1)
				default:
					t.Error(err)
				}
			}
		})
	}
	working.Wait()
	if taken.Load() != 116 || refused.Load() != cutters*each-116 {
		t.Errorf("%d stems were taken of 116, and %d refused", taken.Load(), refused.Load())
	}
	for _, s := range servers {
		left, err := s.client.Allowance(t.Context(), "TB-01", nursery.AllowanceQuery{Stems: 1})
		if err != nil || left.Allowed != 0 || left.Taken != 116 {
			t.Errorf("%d taken, %d left, %v", left.Taken, left.Allowed, err)
		}
	}
}

// One key that is sent to both at once makes one batch.
func sameKeyToBoth(t *testing.T, servers []*server, today models.Date) {
	req := cutOne(today, "OP")
	req.AlreadyCut, req.Reason = true, "cut before the count was known"
	codes := map[string]bool{}
	for n := range 10 {
		key := fmt.Sprintf("both-%d", n)
		made := make([]string, len(servers))
		var sending sync.WaitGroup
		for i, s := range servers {
			sending.Go(func() {
				view, err := s.client.WithKey(key).LogBatch(t.Context(), req)
				if err != nil {
					t.Error(err)
				}
				made[i] = view.Code
			})
		}
		sending.Wait()
		if made[0] != made[1] || codes[made[0]] {
			t.Errorf("%s made %v", key, made)
		}
		codes[made[0]] = true
	}
}

// Both that are told to remind at once make one reminder, and one mail of it. That
// mail is sent once although a server is killed between making and sending it.
func remindBoth(t *testing.T, servers []*server, office *postOffice) {
	views := make([]models.ReminderView, len(servers))
	var asking sync.WaitGroup
	for i, s := range servers {
		asking.Go(func() {
			var err error
			if views[i], err = s.client.Remind(t.Context(), models.NewReminder{}); err != nil {
				t.Error(err)
			}
		})
	}
	asking.Wait()
	if views[0].ID != views[1].ID || views[0].Made == views[1].Made {
		t.Errorf("%s made %v, %s made %v", views[0].ID, views[0].Made, views[1].ID, views[1].Made)
	}
	awaitReminder(t, office)
}

// awaitReminder waits for the one mail of a reminder. Alerts may come before it.
func awaitReminder(t *testing.T, office *postOffice) {
	t.Helper()
	for deadline := time.After(time.Minute); ; {
		select {
		case mail := <-office.taken:
			if strings.Contains(mail, "over the limit") || !strings.Contains(mail, "X-Withybed-Occasion: reminder") {
				continue
			}
			return
		case <-deadline:
			t.Fatal("no reminder was mailed")
		}
	}
}

// noMoreReminders wants no reminder among the mail that came since, once every
// server has ended.
func noMoreReminders(t *testing.T, office *postOffice) {
	t.Helper()
	close(office.taken)
	for mail := range office.taken {
		if strings.Contains(mail, "X-Withybed-Occasion: reminder") {
			t.Errorf("the reminder was mailed again:\n%s", mail)
		}
	}
}

// jobsRanOnce holds the marks that the jobs of both left in the database.
func jobsRanOnce(t *testing.T, database string) {
	s, err := store.Open(t.Context(), database)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	for query, want := range map[string]int{
		"SELECT COUNT(*) FROM job_runs WHERE job = 'flags'":                            1,
		"SELECT COUNT(*) FROM reminders":                                               1,
		"SELECT COUNT(DISTINCT occasion) FROM outbox WHERE occasion LIKE 'reminder %'": 1,
		"SELECT COUNT(*) - COUNT(DISTINCT occasion || address) FROM outbox":            0,
		"SELECT COUNT(*) FROM outbox WHERE sent_at IS NULL AND tries > 1":              0,
		"SELECT SUM(stems) - 126 FROM ledger":                                          0,
		"SELECT COUNT(*) - 126 FROM batches":                                           0,
	} {
		if n := number(t, s.SQL(), query); n != want {
			t.Errorf("%s gives %d, want %d", query, n, want)
		}
	}
}

func number(t *testing.T, db *sql.DB, query string) (n int) {
	t.Helper()
	if err := db.QueryRowContext(t.Context(), query).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

// A server that is killed after it made a reminder, and before it mailed it, leaves
// the mail to the next one, which sends it once.
func TestAReminderOutlivesItsServer(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program and kills it")
	}
	program := buildWithy(t)
	for _, dialect := range storetest.Dialects {
		t.Run(dialect, func(t *testing.T) {
			office := openPostOffice(t)
			database := storetest.New(t, dialect)
			first := start(t, program, database, "HOME=", "XDG_DATA_HOME=", "WITHY_MAIL_FOLDER=", "WITHY_MAIL_RELAY=") // it has nowhere to send
			today := countedStand(t, first.client, 20)
			if _, err := first.client.LogBatch(t.Context(), cutOne(today, "OP")); err != nil {
				t.Fatal(err)
			}
			if _, err := first.client.Remind(t.Context(), models.NewReminder{}); err != nil {
				t.Fatal(err)
			}
			first.kill(t)
			second := start(t, program, database, office.settings()...)
			awaitReminder(t, office)
			third := start(t, program, database, office.settings()...)
			second.stop(t)
			third.stop(t)
			noMoreReminders(t, office)
		})
	}
}

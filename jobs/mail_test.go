package jobs_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net/mail"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"withybed/jobs"
	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// once is a request without a key.
var once = nursery.Once{}

var sender = mail.Address{Name: "Wrenlow Valley", Address: "withy@wrenlow.example"}

// addressed are people who get mail, by their addresses.
func (n *town) addressed(list models.MailList, addresses ...string) {
	n.t.Helper()
	for i, address := range addresses {
		_, err := n.AddPerson(n.t.Context(), once, models.NewPerson{Code: fmt.Sprintf("P-%s-%d", list, i), Email: address, Mail: []models.MailList{list}})
		if err != nil {
			n.t.Fatal(err)
		}
	}
}

// exceed makes letters of one occasion: a stand of which more was taken than it
// can spare.
func (n *town) exceed(stand string) {
	n.t.Helper()
	_, err := n.AddTaxon(n.t.Context(), once, models.NewTaxon{ScientificName: "Cornus sericea"})
	if known := models.AsError(err); err != nil && (known == nil || known.Code != "taken") {
		n.t.Fatal(err)
	}
	steps := []func() error{
		func() error {
			_, err := n.AddStand(n.t.Context(), once, models.NewStand{Code: stand, Name: "Mallow Bänd", Taxon: "Cornus sericea"})
			return err
		},
		func() error {
			_, err := n.LogBatch(n.t.Context(), once, models.NewBatch{
				Stand: stand, CollectedOn: models.DateIn(n.at, n.place), StemsCut: 5, Cuttings: 15, CollectedBy: "RQ", AlreadyCut: true, Reason: "no count was made"})
			return err
		},
	}
	for _, step := range steps {
		if err := step(); err != nil {
			n.t.Fatal(err)
		}
	}
}

// letters are the letters in the outbox, the first made first.
func (n *town) letters() []models.LetterView {
	n.t.Helper()
	list, err := n.Letters(n.t.Context(), "", models.Page{Limit: models.MaxPage})
	if err != nil {
		n.t.Fatal(err)
	}
	slices.Reverse(list.Items)
	return list.Items
}

// deliver runs the mail once, and wants so many letters sent and not sent.
func (n *town) deliver(m *jobs.Mail, sent, failed int) {
	n.t.Helper()
	done, err := m.Deliver(n.t.Context())
	if err != nil || done.Sent != sent || done.Failed != failed {
		n.t.Fatalf("%d were sent and %d were not (%v), want %d and %d; the outbox is %+v", done.Sent, done.Failed, err, sent, failed, n.letters())
	}
}

// mailTown is a town on a database with a coordinator, and one letter that waits.
func mailTown(t *testing.T, s *store.Store, addresses ...string) *town {
	t.Helper()
	n := newTown(t, s, "2026-03-02 09:00")
	n.addressed(models.StandMail, addresses...)
	n.exceed("MB-03")
	return n
}

const oakley = "oakley@wrenlow.example"

// pile is a post that keeps what it is given, after it was asked whether to.
type pile struct {
	mutex sync.Mutex
	took  []models.Letter
	ask   func(ctx context.Context, l models.Letter) error
}

func (p *pile) Send(ctx context.Context, l models.Letter) error {
	if p.ask != nil {
		if err := p.ask(ctx, l); err != nil {
			return err
		}
	}
	p.mutex.Lock()
	defer p.mutex.Unlock()
	p.took = append(p.took, l)
	return nil
}

func TestTwoServersSendEachLetterOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		var addresses []string
		for i := range 20 {
			addresses = append(addresses, fmt.Sprintf("crew%d@wrenlow.example", i))
		}
		n := mailTown(t, s, addresses...)
		p := &pile{}
		var servers sync.WaitGroup
		for i := range 2 {
			servers.Go(func() {
				if _, err := jobs.NewMail(n.Nursery, p, sender, fmt.Sprint("server ", i)).Deliver(t.Context()); err != nil {
					t.Error(err)
				}
			})
		}
		servers.Wait()
		var got []string
		for _, l := range p.took {
			got = append(got, l.Address)
		}
		slices.Sort(got)
		slices.Sort(addresses)
		if !slices.Equal(got, addresses) {
			t.Errorf("sent to %q", got)
		}
		n.deliver(jobs.NewMail(n.Nursery, p, sender, "server 3"), 0, 0)
	})
}

// A letter that fails does not hold up the others, and what it met is kept.
func TestALetterThatFailsHoldsUpNoOther(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		n := mailTown(t, s, "a@wrenlow.example", "b@wrenlow.example", "c@wrenlow.example")
		p := &pile{ask: func(_ context.Context, l models.Letter) error {
			switch l.Address[0] {
			case 'a':
				return jobs.Refused{Err: errors.New("no such user")}
			case 'b':
				return errors.New("come back later")
			}
			return nil
		}}
		m := jobs.NewMail(n.Nursery, p, sender, "one")
		did, err := m.Job().Run(t.Context())
		if !did || err == nil || !strings.Contains(err.Error(), "2 letters could not be sent") {
			t.Errorf("%t %v", did, err)
		}
		want := map[string]models.LetterState{"a": models.LetterGivenUp, "b": models.LetterWaiting, "c": models.LetterSent}
		for _, l := range n.letters() {
			if l.State != want[l.Address[:1]] {
				t.Errorf("%+v", l)
			}
		}
		n.deliver(m, 0, 0)
		n.at = n.at.Add(time.Minute)
		n.deliver(m, 0, 1)
		if did, err := m.Job().Run(t.Context()); did || err != nil {
			t.Errorf("%t %v", did, err)
		}
	})
}

// A server that is stopped while it sends a letter still notes what became of it.
func TestAStopDoesNotForgetALetter(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		n := mailTown(t, s, "a@wrenlow.example", "b@wrenlow.example")
		ctx, stop := context.WithCancel(t.Context())
		p := &pile{ask: func(context.Context, models.Letter) error { stop(); return nil }}
		m := jobs.NewMail(n.Nursery, p, sender, "one")
		done, err := m.Deliver(ctx)
		if err != nil || done.Sent != 1 {
			t.Fatalf("%+v %v", done, err)
		}
		n.deliver(jobs.NewMail(n.Nursery, &pile{}, sender, "two"), 1, 0)
		for _, l := range n.letters() {
			if l.State != models.LetterSent || l.Tries != 1 {
				t.Errorf("%+v", l)
			}
		}
	})
}

// A letter under way when the server is told to stop has its time to be answered,
// so that a stop sends nothing twice; after that it is broken off.
func TestAStopWaitsForALetterUnderWay(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		for answered, want := range map[time.Duration]bool{5 * time.Second: true, time.Minute: false} {
			ctx, stop := context.WithCancel(t.Context())
			longer, end := jobs.Outlast(ctx, 8*time.Second)
			stop()
			select {
			case <-time.After(answered):
			case <-longer.Done():
			}
			if got := longer.Err() == nil; got != want {
				t.Errorf("an answer after %v comes in time: %v", answered, got)
			}
			end()
		}
	})
}

// opened is a mail as a program reads it.
type opened struct {
	mail.Header
	text, html string
}

func open(t *testing.T, file []byte) opened {
	t.Helper()
	m, err := mail.ReadMessage(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	kind, params, err := mime.ParseMediaType(m.Header.Get("Content-Type"))
	if err != nil || kind != "multipart/alternative" {
		t.Fatalf("%s (%v)", kind, err)
	}
	o := opened{Header: m.Header}
	for parts := multipart.NewReader(m.Body, params["boundary"]); ; {
		part, err := parts.NextRawPart()
		if errors.Is(err, io.EOF) {
			return o
		}
		if err != nil {
			t.Fatal(err)
		}
		body, err := io.ReadAll(quotedprintable.NewReader(part))
		if err != nil || part.Header.Get("Content-Transfer-Encoding") != "quoted-printable" {
			t.Fatal(part.Header, err)
		}
		text := strings.ReplaceAll(string(body), "\r\n", "\n")
		switch kind := part.Header.Get("Content-Type"); kind {
		case "text/plain; charset=UTF-8":
			o.text = text
		case "text/html; charset=UTF-8":
			o.html = text
		default:
			t.Fatal(kind)
		}
	}
}

// wantLetter wants a mail to be a letter, and nothing besides.
func wantLetter(t *testing.T, o opened, l models.Letter) {
	t.Helper()
	subject, err := new(mime.WordDecoder).DecodeHeader(o.Get("Subject"))
	if err != nil || subject != l.Subject {
		t.Errorf("the subject is %q, want %q (%v)", subject, l.Subject, err)
	}
	if strings.TrimRight(o.text, "\n") != strings.TrimRight(l.Text, "\n") || strings.TrimRight(o.html, "\n") != strings.TrimRight(l.HTML, "\n") {
		t.Errorf("the text is %q, want %q; the HTML %q, want %q", o.text, l.Text, o.html, l.HTML)
	}
	var names []string
	for name := range o.Header {
		names = append(names, name)
	}
	slices.Sort(names)
	want := []string{"Auto-Submitted", "Content-Type", "Date", "From", "Message-Id", "Mime-Version", "Subject", "To", "X-Withybed-Occasion"}
	if l.Address == "" {
		want = slices.Delete(want, 7, 8)
	}
	if !slices.Equal(names, want) {
		t.Errorf("the headers are %q", names)
	}
	date, err := o.Date()
	if err != nil || !date.Equal(l.MadeAt.Truncate(time.Second)) || o.Get("Auto-Submitted") != "auto-generated" || o.Get("Message-Id") != "<"+l.MessageID+">" || o.Get("X-Withybed-Occasion") != l.Occasion {
		t.Errorf("%v %v", o.Header, err)
	}
}

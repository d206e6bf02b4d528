package jobs_test

import (
	"context"
	"crypto/ed25519"
	"crypto/tls"
	"crypto/x509"
	"encoding/base64"
	"errors"
	"io"
	"log"
	"math/big"
	"net"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-sasl"
	"github.com/emersion/go-smtp"

	"withybed/jobs"
	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

const (
	user     = "withy"
	password = "osier-bark-42"
)

// relay is a mail server on loopback. Before it takes or refuses a letter it asks
// the test, which may also cut the line.
type relay struct {
	*smtp.Server
	port   int
	roots  *x509.CertPool
	atOnce bool

	mutex    sync.Mutex
	mails    [][]byte
	to       []string
	rcpt     func(to string) error     // what is said to a recipient
	data     func(line net.Conn) error // what is said to a letter that was read
	refuses  error                     // what is said to who logs in
	cutAfter bool                      // the line is cut once a letter is answered
}

// newRelay starts a relay: with TLS from the start, or by command.
func newRelay(t *testing.T, atOnce bool) *relay {
	t.Helper()
	certificate, roots := newCertificate(t)
	r := &relay{roots: roots, atOnce: atOnce}
	r.Server = smtp.NewServer(smtp.BackendFunc(func(c *smtp.Conn) (smtp.Session, error) { return &visit{relay: r, conn: c}, nil }))
	r.Domain, r.ErrorLog = "relay.wrenlow.example", log.New(io.Discard, "", 0)
	r.TLSConfig = &tls.Config{Certificates: []tls.Certificate{certificate}, MinVersion: tls.VersionTLS12}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	r.port = listener.Addr().(*net.TCPAddr).Port
	if atOnce {
		listener = tls.NewListener(listener, r.TLSConfig)
	}
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		_ = r.Serve(listener)
	}()
	t.Cleanup(func() {
		_ = r.Close()
		<-ended
	})
	return r
}

// newCertificate is a certificate for loopback that signs itself.
func newCertificate(t *testing.T) (tls.Certificate, *x509.CertPool) {
	t.Helper()
	key := ed25519.NewKeyFromSeed(make([]byte, ed25519.SeedSize)) // as secret as it has to be
	plan := &x509.Certificate{
		SerialNumber: big.NewInt(1), IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), IsCA: true, BasicConstraintsValid: true,
	}
	der, err := x509.CreateCertificate(nil, plan, plan, key.Public(), key)
	if err != nil {
		t.Fatal(err)
	}
	made, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	roots := x509.NewCertPool()
	roots.AddCert(made)
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key}, roots
}

// visit is one conversation. Nobody is listened to who did not log in.
type visit struct {
	*relay
	conn  *smtp.Conn
	known bool
	taken bool
	to    string
}

func (v *visit) AuthMechanisms() []string { return []string{sasl.Plain} }

func (v *visit) Auth(string) (sasl.Server, error) {
	return sasl.NewPlainServer(func(_, name, secret string) error {
		if v.refuses != nil {
			return v.refuses
		}
		v.known = name == user && secret == password
		if !v.known {
			return smtp.ErrAuthFailed
		}
		return nil
	}), nil
}

func (v *visit) Mail(string, *smtp.MailOptions) error {
	if _, secured := v.conn.TLSConnectionState(); !secured || !v.known {
		return smtp.ErrAuthRequired
	}
	return nil
}

func (v *visit) Rcpt(to string, _ *smtp.RcptOptions) error {
	v.to = to
	if v.rcpt != nil {
		return v.rcpt(to)
	}
	return nil
}

func (v *visit) Data(r io.Reader) error {
	text, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	v.mutex.Lock()
	v.mails, v.relay.to = append(v.mails, text), append(v.relay.to, v.to)
	v.mutex.Unlock()
	v.taken = true
	v.mutex.Lock()
	say := v.data
	v.mutex.Unlock()
	if say != nil {
		return say(v.conn.Conn())
	}
	return nil
}

// Reset comes after the answer to a letter.
func (v *visit) Reset() {
	if v.cutAfter && v.taken {
		_ = v.conn.Conn().Close()
	}
}

func (v *visit) Logout() error { return nil }

// post is the way to the relay, for one who trusts its certificate and knows the
// password.
func (r *relay) post(t *testing.T) *jobs.Relay {
	t.Helper()
	scheme := "smtp"
	if r.atOnce {
		scheme = "smtps"
	}
	return r.postAt(t, scheme+"://"+user+"@127.0.0.1:"+strconv.Itoa(r.port), password)
}

func (r *relay) postAt(t *testing.T, url, password string) *jobs.Relay {
	t.Helper()
	address, err := jobs.ParseRelay(url)
	if err != nil {
		t.Fatal(err)
	}
	post, err := jobs.NewRelay(address, password, sender)
	if err != nil {
		t.Fatal(err)
	}
	post.Roots = r.roots
	return post
}

// read are the mails it took, and forgets them.
func (r *relay) read(t *testing.T) []opened {
	t.Helper()
	r.mutex.Lock()
	defer r.mutex.Unlock()
	var all []opened
	for _, text := range r.mails {
		all = append(all, open(t, text))
	}
	r.mails = nil
	return all
}

func TestARelayTakesALetter(t *testing.T) {
	for name, atOnce := range map[string]bool{"STARTTLS": false, "TLS from the start": true} {
		t.Run(name, func(t *testing.T) {
			r := newRelay(t, atOnce)
			l := someLetter()
			l.Text += ".\n..\nend.\n" // dots end a letter on the line
			answer, err := r.post(t).Hand(t.Context(), l)
			if err != nil || !strings.Contains(answer, "OK") {
				t.Fatalf("%q %v", answer, err)
			}
			mails := r.read(t)
			if len(mails) != 1 || r.to[0] != oakley {
				t.Fatalf("%d letters to %q", len(mails), r.to)
			}
			wantLetter(t, mails[0], l)
		})
	}
}

// A certificate of nobody's, a relay without TLS and a wrong password are no way
// for a letter; it waits until someone has mended that.
func TestARelayThatIsNotToBeTrusted(t *testing.T) {
	r := newRelay(t, false)
	unknown := r.post(t)
	unknown.Roots = x509.NewCertPool()
	bare := newRelay(t, false)
	bare.TLSConfig = nil
	wrong := r.postAt(t, "smtp://"+user+"@127.0.0.1:"+strconv.Itoa(r.port), "guess")
	gone, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	port := gone.Addr().(*net.TCPAddr).Port
	_ = gone.Close()
	for name, c := range map[string]struct {
		post *jobs.Relay
		says string
	}{
		"unknown certificate": {unknown, "certificate"},
		"no TLS":              {bare.post(t), "STARTTLS"},
		"wrong password":      {wrong, "535"},
		"nobody there":        {r.postAt(t, "smtp://127.0.0.1:"+strconv.Itoa(port), ""), "refused"},
		"no user":             {r.postAt(t, "smtp://127.0.0.1:"+strconv.Itoa(r.port), ""), "502"},
	} {
		t.Run(name, func(t *testing.T) {
			err := c.post.Send(t.Context(), someLetter())
			if err == nil || !strings.Contains(err.Error(), c.says) || errors.As(err, new(jobs.Refused)) {
				t.Errorf("%v", err)
			}
		})
	}
	if len(r.read(t))+len(bare.read(t)) > 0 {
		t.Error("a letter was sent all the same")
	}
}

// A local relay may be told to do without TLS, and then without a password.
func TestARelayWithoutTLS(t *testing.T) {
	var took []byte
	server := smtp.NewServer(smtp.BackendFunc(func(*smtp.Conn) (smtp.Session, error) { return plain{&took}, nil }))
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		_ = server.Serve(listener)
	}()
	r := &relay{port: listener.Addr().(*net.TCPAddr).Port}
	if err := r.postAt(t, "smtp://127.0.0.1:"+strconv.Itoa(r.port)+"?tls=none", "").Send(t.Context(), someLetter()); err != nil {
		t.Error(err)
	}
	_ = server.Close()
	<-ended
	wantLetter(t, open(t, took), someLetter())
}

// plain is a relay that asks for nothing.
type plain struct{ took *[]byte }

func (plain) Mail(string, *smtp.MailOptions) error { return nil }
func (plain) Rcpt(string, *smtp.RcptOptions) error { return nil }
func (plain) Reset()                               {}
func (plain) Logout() error                        { return nil }

func (p plain) Data(r io.Reader) (err error) {
	*p.took, err = io.ReadAll(r)
	return err
}

func answer(code int, text string) error {
	return &smtp.SMTPError{Code: code, EnhancedCode: smtp.EnhancedCode{code / 100, 1, 1}, Message: text}
}

// What is refused for good is given up, what is put off is sent again later, under
// the message id it had.
func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		name    string
		code    int
		atData  bool
		forGood bool
	}{
		{"no such user", 550, false, true}, {"too busy", 451, false, false}, {"full", 452, false, false},
		{"spam", 554, true, true}, {"disk", 451, true, false}, {"log in", 530, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			storetest.Each(t, func(t *testing.T, s *store.Store) {
				n, r := mailTown(t, s, oakley), newRelay(t, false)
				if c.atData {
					r.data = func(net.Conn) error { return answer(c.code, c.name) }
				} else {
					r.rcpt = func(string) error { return answer(c.code, c.name) }
				}
				m := jobs.NewMail(n.Nursery, r.post(t), sender, "one")
				n.deliver(m, 0, 1)
				l := n.letters()[0]
				if !strings.Contains(l.Trouble, strconv.Itoa(c.code)) || !strings.Contains(l.Trouble, c.name) || (l.State == models.LetterGivenUp) != c.forGood {
					t.Errorf("%+v", l)
				}
				first := r.read(t)
				r.rcpt, r.data = nil, nil
				n.deliver(m, 0, 0)
				n.at = n.at.Add(time.Minute)
				if c.forGood {
					n.deliver(m, 0, 0)
					return
				}
				n.deliver(m, 1, 0)
				again := r.read(t)
				if len(again) != 1 || len(first) > 0 && first[0].Get("Message-Id") != again[0].Get("Message-Id") {
					t.Errorf("sent again are %v", again)
				}
				if l := n.letters()[0]; l.State != models.LetterSent || l.Tries != 2 || l.Trouble != "" {
					t.Errorf("%+v", l)
				}
			})
		})
	}
}

// sentAgain wants a letter that the relay may have taken to wait, and to be sent
// again under the same message id.
func sentAgain(t *testing.T, n *town, r *relay, m *jobs.Mail, says string) {
	t.Helper()
	n.deliver(m, 0, 1)
	if l := n.letters()[0]; l.State != models.LetterWaiting || !strings.Contains(l.Trouble, says) {
		t.Errorf("%+v", l)
	}
	r.mutex.Lock()
	r.data = nil
	r.mutex.Unlock()
	n.at = n.at.Add(time.Minute)
	n.deliver(m, 1, 0)
	mails := r.read(t)
	if len(mails) != 2 || mails[0].Get("Message-Id") != mails[1].Get("Message-Id") || len(n.letters()) != 1 {
		t.Errorf("%d letters: %v", len(mails), mails)
	}
}

// A relay that answers too late is not waited for.
func TestDelays(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		n, r := mailTown(t, s, oakley), newRelay(t, false)
		given := make(chan struct{})
		t.Cleanup(func() { close(given) })
		r.data = func(net.Conn) error { <-given; return nil }
		post := r.post(t)
		post.Patience = 300 * time.Millisecond
		sentAgain(t, n, r, jobs.NewMail(n.Nursery, post, sender, "one"), "did not answer within 300ms")
	})
}

// A line that is cut after the letter and before the answer leaves it open whether
// the relay has it.
func TestCuts(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		n, r := mailTown(t, s, oakley), newRelay(t, true)
		r.data = func(line net.Conn) error { return line.Close() }
		sentAgain(t, n, r, jobs.NewMail(n.Nursery, r.post(t), sender, "one"), "hand over the letter")
	})
}

// A line that is cut once the relay has answered changes nothing.
func TestACutAfterTheAnswer(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		n, r := mailTown(t, s, oakley), newRelay(t, false)
		r.cutAfter = true
		n.deliver(jobs.NewMail(n.Nursery, r.post(t), sender, "one"), 1, 0)
	})
}

// A server that dies before the relay answered, or before it could note the
// answer, leaves the letter to another: one letter in the outbox, one message id.
func TestAServerThatDies(t *testing.T) {
	for name, before := range map[string]bool{"before it sends": true, "before it marks": false} {
		t.Run(name, func(t *testing.T) {
			storetest.Each(t, func(t *testing.T, s *store.Store) {
				n, r := mailTown(t, s, oakley), newRelay(t, false)
				letter, found, err := n.ClaimLetter(t.Context(), "dying", "wrenlow.example", 3*time.Minute)
				if err != nil || !found {
					t.Fatal(err)
				}
				want := 1
				if !before {
					want = 2
					if err := r.post(t).Send(t.Context(), letter); err != nil {
						t.Fatal(err)
					}
				}
				m := jobs.NewMail(n.Nursery, r.post(t), sender, "other")
				n.deliver(m, 0, 0) // it is still held
				n.at = n.at.Add(3 * time.Minute)
				n.deliver(m, 1, 0)
				n.deliver(m, 0, 0)
				mails := r.read(t)
				if len(mails) != want || len(n.letters()) != 1 {
					t.Fatalf("%d letters went out, want %d", len(mails), want)
				}
				for _, o := range mails {
					if o.Get("Message-Id") != "<"+letter.MessageID+">" {
						t.Errorf("%v", o.Header)
					}
				}
			})
		})
	}
}

// A server that is stopped breaks off with a relay that does not answer.
func TestAStopBreaksOffASlowRelay(t *testing.T) {
	r := newRelay(t, false)
	ctx, stop := context.WithCancel(t.Context())
	given := make(chan struct{})
	t.Cleanup(func() { close(given) })
	r.data = func(net.Conn) error { stop(); <-given; return nil }
	if err := r.post(t).Send(ctx, someLetter()); err == nil || errors.As(err, new(jobs.Refused)) {
		t.Error(err)
	}
}

// A letter to nobody is given up at once by a relay, and says what to do.
func TestARelayGivesUpALetterToNobody(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		n, r := mailTown(t, s), newRelay(t, false)
		n.deliver(jobs.NewMail(n.Nursery, r.post(t), sender, "one"), 0, 1)
		l := n.letters()[0]
		if l.State != models.LetterGivenUp || l.Trouble != "nobody on the list of people gets this mail: withy person add CODE --email ADDRESS --mail stands" {
			t.Errorf("%+v", l)
		}
	})
}

// A relay that repeats what it was told does not get the password into the outbox.
func TestTroublesHoldNoPassword(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		n, r := mailTown(t, s, oakley), newRelay(t, false)
		coded := base64.StdEncoding.EncodeToString([]byte("\x00" + user + "\x00" + password))
		r.refuses = answer(535, "not "+password+" nor "+coded)
		n.deliver(jobs.NewMail(n.Nursery, r.post(t), sender, "one"), 0, 1)
		trouble := n.letters()[0].Trouble
		if strings.Contains(trouble, password) || strings.Contains(trouble, coded) || !strings.Contains(trouble, "535") {
			t.Errorf("the outbox keeps %q", trouble)
		}
		if l := n.letters()[0]; l.State != models.LetterWaiting {
			t.Errorf("%+v", l)
		}
	})
}

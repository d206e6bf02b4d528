package cli

import (
	"io"
	"net"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/emersion/go-smtp"

	"withybed/jobs"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// relay is a mail server on loopback that takes letters to everyone but nobody.
type relay struct {
	mutex sync.Mutex
	mails []string
}

func newRelay(t *testing.T) (r *relay, url string) {
	t.Helper()
	r = &relay{}
	server := smtp.NewServer(smtp.BackendFunc(func(*smtp.Conn) (smtp.Session, error) { return r, nil }))
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		_ = server.Serve(listener)
	}()
	t.Cleanup(func() {
		_ = server.Close()
		<-ended
	})
	return r, "smtp://" + listener.Addr().String() + "?tls=none"
}

func (*relay) Mail(string, *smtp.MailOptions) error { return nil }
func (*relay) Reset()                               {}
func (*relay) Logout() error                        { return nil }

func (*relay) Rcpt(to string, _ *smtp.RcptOptions) error {
	if strings.HasPrefix(to, "nobody@") {
		return &smtp.SMTPError{Code: 550, EnhancedCode: smtp.EnhancedCode{5, 1, 1}, Message: "there is no such user"}
	}
	return nil
}

func (r *relay) Data(text io.Reader) error {
	mail, err := io.ReadAll(text)
	r.mutex.Lock()
	defer r.mutex.Unlock()
	r.mails = append(r.mails, string(mail))
	return err
}

func TestMailTest(t *testing.T) {
	r, url := newRelay(t)
	b := newBench(t, here(t))
	b.vars["WITHY_MAIL_RELAY"], b.vars["WITHY_MAIL_FROM"] = url, "withy@wrenlow.example"
	if out := b.must("mail", "test", "op@wrenlow.example"); !strings.Contains(out, "took a test letter to op@wrenlow.example and answered: ") || !strings.Contains(out, "OK") {
		t.Error(out)
	}
	if out := b.must("mail", "test", "OP <op@wrenlow.example>", "--json"); !strings.Contains(out, `"address": "op@wrenlow.example"`) {
		t.Error(out)
	}
	if len(r.mails) != 2 || !strings.Contains(r.mails[0], "Subject: Withybed: a test of the mail\r\n") || !strings.Contains(r.mails[0], "To: <op@wrenlow.example>\r\n") {
		t.Errorf("%q", r.mails)
	}
	code, _, stderr := b.run("mail", "test", "nobody@wrenlow.example")
	if code != exitOther || !strings.Contains(stderr, "the letter was not taken: name the recipient: 550") || !strings.Contains(stderr, "there is no such user") {
		t.Errorf("%d %s", code, stderr)
	}
}

// What is sent by hand is sent once on either database, and what was not is told.
func TestMailSendThroughARelay(t *testing.T) {
	for _, dialect := range storetest.Dialects {
		t.Run(dialect, func(t *testing.T) {
			r, url := newRelay(t)
			b := newBench(t, storetest.New(t, dialect))
			b.vars["WITHY_MAIL_RELAY"], b.vars["WITHY_MAIL_FROM"] = url, "withy@wrenlow.example"
			b.must("taxon", "add", "Cornus sericea")
			b.must("stand", "add", "MB-03", "--name", "Mallow Bend", "--taxon", "Cornus sericea")
			b.must("person", "add", "OP", "--email", "op@wrenlow.example", "--mail", "stands")
			b.must("person", "add", "NO", "--email", "nobody@wrenlow.example", "--mail", "stands")
			b.must("batch", "log", "--stand", "MB-03", "--on", "2026-01-17", "--stems", "3", "--cuttings", "9", "--by", "OP", "--already-cut", "--reason", "ice broke them")
			code, stdout, stderr := b.run("mail", "send")
			if code != exitOther || !strings.Contains(stdout, "1 letter was sent through 127.0.0.1:") || !strings.Contains(stderr, "1 letter could not be sent: withy mail list says why") {
				t.Errorf("%d %s %s", code, stdout, stderr)
			}
			if out := b.must("mail", "send"); !strings.Contains(out, "0 letters were sent") || len(r.mails) != 1 {
				t.Errorf("%s %q", out, r.mails)
			}
			if out := b.must("mail", "list", "--state", "given-up"); !strings.Contains(out, "550") || strings.Contains(out, "op@wrenlow.example") {
				t.Error(out)
			}
		})
	}
}

func TestWhereMailGoesWithoutARelay(t *testing.T) {
	data := filepath.Join("/home/rq", ".local", "share", "withybed", "mail")
	for _, c := range []struct {
		vars map[string]string
		want string
	}{
		{map[string]string{"WITHY_MAIL_FOLDER": "/srv/mail", "WITHY_DATABASE_URL": "sqlite:/srv/withy.db"}, "/srv/mail"},
		{map[string]string{"WITHY_DATABASE_URL": "sqlite:" + filepath.Join("/srv", "withy.db")}, filepath.Join("/srv", "mail")},
		{map[string]string{"XDG_DATA_HOME": filepath.Join("/home/rq", ".local", "share")}, data},
		{map[string]string{"XDG_DATA_HOME": filepath.Join("/home/rq", ".local", "share"), "WITHY_DATABASE_URL": "postgres://db.wrenlow.example/withybed"}, data},
		{map[string]string{"WITHY_DATABASE_URL": "postgres://db.wrenlow.example/withybed"}, ""},
	} {
		s, err := newSession(Env{Vars: c.vars})
		if err != nil {
			t.Fatal(err)
		}
		way, err := s.mailWay()
		folder, _ := way.post.(jobs.Folder)
		if err != nil || folder.Path != c.want || (way.post == nil) != (c.want == "") {
			t.Errorf("%v: %+v, %v", c.vars, way, err)
		}
	}
}

// Where there is no way for mail, a person is told so, and a letter keeps waiting.
func TestNoWayForMail(t *testing.T) {
	b := newBench(t, storetest.New(t, store.Postgres))
	code, _, stderr := b.run("mail", "send")
	if code != exitUsage || !strings.Contains(stderr, "set WITHY_MAIL_FOLDER") {
		t.Errorf("%d %s", code, stderr)
	}
}

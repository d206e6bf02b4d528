package jobs

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/base64"
	"errors"
	"fmt"
	"net"
	"net/mail"
	"net/textproto"
	"strings"
	"time"

	gomail "github.com/wneessen/go-mail"
	"github.com/wneessen/go-mail/smtp"

	"withybed/models"
)

// Patience is how long a relay may take for one letter.
const Patience = time.Minute

// Relay is a mail server that takes letters on.
type Relay struct {
	Patience time.Duration  // Patience unless a test is in a hurry
	Roots    *x509.CertPool // who vouches for its certificate; nil is whom the system trusts

	address  RelayAddress
	password string
	from     mail.Address
}

// NewRelay is the relay at an address, which logs in with the password if the
// address names a user, and sends from an address.
func NewRelay(address RelayAddress, password string, from mail.Address) (*Relay, error) {
	switch {
	case address.User != "" && password == "":
		return nil, errors.New("names a user, and there is no password: set that too")
	case address.User == "" && password != "":
		return nil, errors.New("names no user, and there is a password: write smtp://user@host")
	}
	return &Relay{Patience: Patience, address: address, password: password, from: from}, nil
}

// String is the host and port of the relay.
func (r *Relay) String() string { return r.address.String() }

// Send hands a letter to the relay.
func (r *Relay) Send(ctx context.Context, l models.Letter) error {
	_, err := r.Hand(ctx, l)
	return err
}

// Hand is Send, and tells what the relay answered when it took the letter.
func (r *Relay) Hand(ctx context.Context, l models.Letter) (answer string, err error) {
	if l.Address == "" {
		return "", Refused{errors.New(l.Trouble)}
	}
	m, err := compose(l, r.from)
	if err != nil {
		return "", Refused{err}
	}
	to, err := m.GetRecipients()
	if err != nil {
		return "", Refused{err}
	}
	ctx, cancel := context.WithTimeout(ctx, r.Patience)
	defer cancel()
	answer, err = r.talk(ctx, m, to[0])
	if err == nil {
		return r.hide(answer), nil
	}
	if errors.Is(ctx.Err(), context.DeadlineExceeded) {
		err = fmt.Errorf("%s did not answer within %s: %w", r.address, r.Patience, err)
	}
	return "", r.cleaned(err)
}

// talk goes through a whole conversation with the relay. Once the relay has taken
// the letter nothing that follows counts.
func (r *Relay) talk(ctx context.Context, m *gomail.Msg, to string) (answer string, err error) {
	client, err := r.client(ctx)
	if err != nil {
		return "", err
	}
	line, err := client.DialToSMTPClientWithContext(ctx)
	if err != nil {
		return "", fmt.Errorf("reach %s: %w", r.address, err)
	}
	defer func() { _ = line.Close() }()
	if err := line.Mail(r.from.Address); err != nil {
		return "", fmt.Errorf("name the sender: %w", err)
	}
	if err := line.Rcpt(to); err != nil {
		return "", refusal("name the recipient", err)
	}
	if answer, err = give(line, m); err != nil {
		return "", refusal("hand over the letter", err)
	}
	_ = line.Quit()
	return answer, nil
}

// give hands over the letter itself.
func give(line *smtp.Client, m *gomail.Msg) (answer string, err error) {
	w, err := line.Data()
	if err != nil {
		return "", err
	}
	if _, err := m.WriteTo(w); err != nil {
		return "", err // the relay is not told that the letter ended, and drops it
	}
	if err := w.Close(); err != nil {
		return "", err
	}
	if data, ok := w.(*smtp.DataCloser); ok {
		answer = data.ServerResponse()
	}
	return answer, nil
}

// refusal is an error of the relay about a letter: for good where its code says so
// and is not about the way in, which the settings can mend.
func refusal(op string, err error) error {
	err = fmt.Errorf("%s: %w", op, err)
	var said *textproto.Error
	if !errors.As(err, &said) || said.Code < 500 {
		return err
	}
	switch said.Code {
	case 530, 534, 535, 538: // RFC 4954: log in first, or differently
		return err
	}
	return Refused{err}
}

// client is set up anew for each letter. Its lines end with ctx, whatever the
// relay does.
func (r *Relay) client(ctx context.Context) (*gomail.Client, error) {
	config := &tls.Config{ServerName: r.address.Host, RootCAs: r.Roots, MinVersion: tls.VersionTLS12}
	options := []gomail.Option{
		gomail.WithPort(r.address.Port), gomail.WithTLSConfig(config),
		gomail.WithTimeout(2 * r.Patience), // never reached: ctx ends the line before
		gomail.WithDialContextFunc(func(dial context.Context, network, address string) (net.Conn, error) {
			return r.dial(ctx, dial, network, address, config)
		}),
	}
	switch r.address.Secured {
	case AtOnce:
		options = append(options, gomail.WithSSL())
	case ByCommand:
		options = append(options, gomail.WithTLSPolicy(gomail.TLSMandatory))
	case Never:
		options = append(options, gomail.WithTLSPolicy(gomail.NoTLS))
	}
	if r.address.User != "" {
		options = append(options, gomail.WithUsername(r.address.User), gomail.WithPassword(r.password),
			gomail.WithOpportunisticSMTPAuth(gomail.SMTPAuthSCRAMSHA256, gomail.SMTPAuthSCRAMSHA1, gomail.SMTPAuthPlain, gomail.SMTPAuthLogin))
	}
	client, err := gomail.NewClient(r.address.Host, options...)
	if err != nil {
		return nil, fmt.Errorf("set up the relay: %w", err)
	}
	return client, nil
}

func (r *Relay) dial(whole, dial context.Context, network, address string, config *tls.Config) (line net.Conn, err error) {
	if r.address.Secured == AtOnce {
		line, err = (&tls.Dialer{Config: config}).DialContext(dial, network, address)
	} else {
		line, err = (&net.Dialer{}).DialContext(dial, network, address)
	}
	if err == nil {
		context.AfterFunc(whole, func() { _ = line.Close() })
	}
	return line, err
}

// cleaned is an error without the credentials of this server, which a relay may
// repeat.
func (r *Relay) cleaned(err error) error {
	text := errors.New(r.hide(err.Error()))
	if errors.As(err, new(Refused)) {
		return Refused{text}
	}
	return text
}

// hide takes the password out of a text, in each form it goes to the relay in.
func (r *Relay) hide(text string) string {
	if r.password == "" {
		return text
	}
	plain := "\x00" + r.address.User + "\x00" + r.password
	for _, secret := range []string{
		base64.StdEncoding.EncodeToString([]byte(plain)), base64.StdEncoding.EncodeToString([]byte(r.password)), r.password,
	} {
		text = strings.ReplaceAll(text, secret, "(hidden)")
	}
	return text
}

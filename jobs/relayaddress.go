package jobs

import (
	"errors"
	"net"
	"net/url"
	"strconv"
	"strings"
	"unicode"
)

// Secured is when the line to a relay is secured by TLS.
type Secured string

// The ways to secure a line.
const (
	ByCommand Secured = "starttls" // by a command, before anything is sent
	AtOnce    Secured = "tls"      // from the start
	Never     Secured = "none"     // for a relay on the same computer or network
)

// RelayAddress says where a relay is.
type RelayAddress struct {
	Host    string
	Port    int
	User    string // empty where nobody logs in
	Secured Secured
}

// String is the host and port.
func (a RelayAddress) String() string { return net.JoinHostPort(a.Host, strconv.Itoa(a.Port)) }

var errRelay = errors.New("is no address of a mail relay: write smtp://relay.example (TLS by STARTTLS, port 587), smtps://relay.example (TLS from the start, port 465) or, on a network of your own, smtp://localhost?tls=none (port 25); a user stands before the host, as in smtp://user@relay.example")

// ParseRelay reads the address of a relay. No error repeats what it was given,
// which may hold a password by mistake.
func ParseRelay(text string) (RelayAddress, error) {
	u, err := url.Parse(text)
	if err != nil || u.Hostname() == "" || u.Path != "" || u.Fragment != "" || u.Opaque != "" || strings.ContainsFunc(u.Hostname(), unprintable) {
		return RelayAddress{}, errRelay
	}
	a := RelayAddress{Host: u.Hostname(), User: u.User.Username()}
	if _, holds := u.User.Password(); holds {
		return RelayAddress{}, errors.New("holds a password: leave it out, and set it on its own")
	}
	if strings.ContainsFunc(a.User, unicode.IsControl) {
		return RelayAddress{}, errRelay
	}
	if a.Secured, a.Port, err = security(u); err != nil {
		return RelayAddress{}, err
	}
	if a.Secured == Never && a.User != "" {
		return RelayAddress{}, errors.New("names a user and no TLS: the password would go over the line for all to read")
	}
	if u.Port() != "" {
		port, err := strconv.ParseUint(u.Port(), 10, 16)
		if err != nil || port == 0 {
			return RelayAddress{}, errors.New("has no port from 1 to 65535")
		}
		a.Port = int(port)
	}
	return a, nil
}

func unprintable(r rune) bool { return unicode.IsControl(r) || unicode.IsSpace(r) }

// security is how the line is secured, with the usual port.
func security(u *url.URL) (Secured, int, error) {
	switch {
	case u.Scheme == "smtp" && u.RawQuery == "tls=none":
		return Never, 25, nil
	case u.RawQuery != "" || u.ForceQuery:
		return "", 0, errRelay
	case u.Scheme == "smtp":
		return ByCommand, 587, nil
	case u.Scheme == "smtps":
		return AtOnce, 465, nil
	}
	return "", 0, errRelay
}

// Package cli is the command line: it wires the rooms together, turns flags into
// requests and answers into tables, and gives exit codes. It is the only room
// that reads the clock, the environment and chance.
package cli

import (
	"cmp"
	"crypto/rand"
	"fmt"
	"io"
	"log/slog"
	"net/netip"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"time"
	_ "time/tzdata" // time zones are known where the system has none

	"github.com/caarlos0/env/v11"
	"github.com/charmbracelet/x/term"
	"github.com/google/uuid"

	"withybed/api"
	"withybed/models"
)

// Env is everything a run of the command line is given from outside.
type Env struct {
	Args           []string // without the name of the program
	Stdin          io.Reader
	Stdout, Stderr io.Writer
	Vars           map[string]string // the environment
	Clock          models.Clock
	NewID          func() string // identifiers that sort by the time they were made
	NewSecret      func() string // texts that nobody can guess
	Width          int           // columns of the terminal; 0 where the output is no terminal
	Terminal       bool          // standard input and output are both a terminal, so that a person can be asked
}

// System is the Env of this process.
func System() Env {
	e := Env{
		Args: os.Args[1:], Stdin: os.Stdin, Stdout: os.Stdout, Stderr: os.Stderr,
		Vars: env.ToMap(os.Environ()), Clock: time.Now, NewID: newID, NewSecret: newSecret,
	}
	if term.IsTerminal(os.Stdout.Fd()) {
		e.Width = usualWidth
		if width, _, err := term.GetSize(os.Stdout.Fd()); err == nil && width > 0 {
			e.Width = width
		}
		e.Terminal = term.IsTerminal(os.Stdin.Fd())
	}
	return e
}

// newID is a UUID of version 7, which sorts by time.
func newID() string { return uuid.Must(uuid.NewV7()).String() }

// newSecret is 260 bits of chance in small letters and digits.
func newSecret() string { return strings.ToLower(rand.Text() + rand.Text()) }

// coloured says whether output may be coloured: on a terminal that can, unless
// the person asked for none (no-color.org).
func (e *Env) coloured() bool {
	return e.Width > 0 && e.Vars["NO_COLOR"] == "" && e.Vars["TERM"] != "dumb"
}

// defaultListen is where serve listens unless told otherwise.
const defaultListen = "127.0.0.1:8347"

// settings are what the environment settles for the process.
type settings struct {
	Database string `env:"WITHY_DATABASE_URL"`
	Listen   string `env:"WITHY_LISTEN"`
	Server   string `env:"WITHY_SERVER"`
	Token    string `env:"WITHY_TOKEN"`
	Proxies  string `env:"WITHY_PROXIES"`
	Rate     string `env:"WITHY_RATE"`
	TimeZone string `env:"WITHY_TIME_ZONE"`
	Log      string `env:"WITHY_LOG"`
	LogAs    string `env:"WITHY_LOG_FORMAT"`
	Plainly  string `env:"WITHY_ACCESSIBLE"` // anything: ask line by line

	MailRelay    string `env:"WITHY_MAIL_RELAY"`
	MailPassword string `env:"WITHY_MAIL_PASSWORD"`
	MailFrom     string `env:"WITHY_MAIL_FROM"`
	MailFolder   string `env:"WITHY_MAIL_FOLDER"`

	proxies []netip.Prefix // as Proxies names them

	rate int // as Rate says
}

func readSettings(e *Env) (settings, error) {
	s, err := env.ParseAsWithOptions[settings](env.Options{Environment: e.Vars})
	if err != nil {
		return s, fmt.Errorf("read the settings: %w", err)
	}
	s.Listen = cmp.Or(s.Listen, defaultListen)
	if _, err := logLevel(s.Log, slog.LevelInfo); err != nil {
		return s, err
	}
	if s.rate, err = strconv.Atoi(cmp.Or(s.Rate, "0")); err != nil || s.rate < 0 {
		return s, usagef("WITHY_RATE is %q, and must be a whole number: the requests a second that one token may make", s.Rate)
	}
	if s.proxies, err = api.ParseProxies(s.Proxies); err != nil {
		return s, fmt.Errorf("WITHY_PROXIES: %w", err)
	}
	if s.LogAs != "" && s.LogAs != logText && s.LogAs != logJSON {
		return s, usagef("WITHY_LOG_FORMAT is %q, and must be text or json", s.LogAs)
	}
	return s, nil
}

// The forms of the log.
const (
	logText = "text"
	logJSON = "json"
)

// logLevel is the level a text names, or usual where it is empty.
func logLevel(text string, usual slog.Level) (slog.Level, error) {
	if text == "" {
		return usual, nil
	}
	level := usual
	if err := level.UnmarshalText([]byte(text)); err != nil {
		return usual, usagef("WITHY_LOG is %q, and must be debug, info, warn or error", text)
	}
	return level, nil
}

// databaseURL is the database to open: the one that was set, or a file in the
// user's data folder.
func (s *session) databaseURL() (string, error) {
	if s.settings.Database != "" {
		return s.settings.Database, nil
	}
	folder, err := dataFolder(runtime.GOOS, s.env.Vars)
	if err != nil {
		return "", err
	}
	return "sqlite:" + filepath.Join(folder, "withybed", "withybed.db"), nil
}

// dataFolder is where programs of an operating system keep a user's data.
func dataFolder(system string, vars map[string]string) (string, error) {
	home := vars["HOME"]
	switch {
	case system == "windows" && vars["LOCALAPPDATA"] != "":
		return vars["LOCALAPPDATA"], nil
	case system == "darwin" && home != "":
		return filepath.Join(home, "Library", "Application Support"), nil
	case filepath.IsAbs(vars["XDG_DATA_HOME"]):
		return vars["XDG_DATA_HOME"], nil
	case home != "":
		return filepath.Join(home, ".local", "share"), nil
	}
	return "", usagef("there is no folder for data, since HOME is not set: set WITHY_DATABASE_URL, as in sqlite:/srv/withybed.db")
}

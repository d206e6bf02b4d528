package cli

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/migrations"
	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
)

// door is the way to a server: over the network, or to the handler in this
// process.
type door struct {
	*api.Client
	base  string
	http  *http.Client
	close func() error
}

// run is what a command does with a client.
type run func(ctx context.Context, c *api.Client, args []string) error

// through opens the door, does what a command does, and closes it again.
func (s *session) through(do run) func(*cobra.Command, []string) error {
	return func(cmd *cobra.Command, args []string) error {
		d, err := s.openDoor(cmd.Context())
		if err != nil {
			return err
		}
		err = errors.Join(do(cmd.Context(), d.Client, args), d.close())
		s.remindOfWaiting()
		return err
	}
}

const (
	serverTime  = time.Minute      // how long a server far away may take to answer
	connectTime = 10 * time.Second // and how long to be reached
)

// farClient reaches a server over the network. It is not led on to another
// address: an entry would arrive there as a question.
func farClient() (*http.Client, *http.Transport) {
	network := http.DefaultTransport.(*http.Transport).Clone()
	network.DialContext = (&net.Dialer{Timeout: connectTime}).DialContext
	stay := func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	return &http.Client{Transport: network, Timeout: serverTime, CheckRedirect: stay}, network
}

func (s *session) openDoor(ctx context.Context) (*door, error) {
	if s.settings.Server == "" {
		return s.openHere(ctx)
	}
	base := s.settings.Server
	if !strings.HasPrefix(base, "http://") && !strings.HasPrefix(base, "https://") {
		if strings.Contains(base, "@") { // what stands before it may be a password
			base = "…" + base[strings.LastIndex(base, "@"):]
		}
		return nil, usagef("the server %q is not an address: write it with http://, as in http://%s", base, defaultListen)
	}
	if s.settings.Token != "" && inTheOpen(base) {
		s.warn("the token goes unencrypted to a server on another computer, and whoever is on the way can read it: use https://")
	}
	client, network := farClient()
	leave := func() error {
		network.CloseIdleConnections()
		return nil
	}
	return &door{s.client(base, client), base, client, leave}, nil
}

// inTheOpen says that what is sent to an address leaves this computer as it is.
func inTheOpen(base string) bool {
	at, err := url.Parse(base)
	if err != nil || at.Scheme != "http" {
		return false
	}
	reachable, err := api.CheckListen(net.JoinHostPort(at.Hostname(), "0"))
	return err == nil && reachable
}

// client calls the server at base with the token of this person.
func (s *session) client(base string, hc *http.Client) *api.Client {
	return api.NewClient(base, hc, s.env.NewID).WithToken(s.settings.Token)
}

// openHere serves the database of this computer within this process.
func (s *session) openHere(ctx context.Context) (*door, error) {
	h, err := s.openHouse(ctx, false)
	if err != nil {
		return nil, err
	}
	return s.doorOf(h), nil
}

// doorOf leads to a database within this process.
func (s *session) doorOf(h *house) *door {
	client, server := api.InProcess(s.handler(h, s.inside(), nil))
	return &door{
		s.client(api.InProcessBase, client), api.InProcessBase, client,
		func() error { return errors.Join(server.Close(), h.Close()) },
	}
}

// house is a database with its nursery.
type house struct {
	*store.Store
	*nursery.Nursery
	view models.NurseryView // as it was found
}

// openHouse opens the database, sees to its schema and makes the nursery where
// there is none. An embedded file is brought up to date; a database that others
// may share only where that was asked for.
func (s *session) openHouse(ctx context.Context, migrate bool) (*house, error) {
	h, err := s.bareHouse(ctx)
	if err != nil {
		return nil, err
	}
	db := h.Store
	if migrate || db.Dialect() == store.SQLite {
		_, err = migrations.Up(ctx, db.SQL(), db.Dialect(), db.LockPath())
	} else {
		err = migrations.Check(ctx, db.SQL(), db.Dialect())
	}
	if err == nil {
		err = s.findNursery(ctx, h)
	}
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return h, nil
}

// findHouse opens a database as it stands: nothing is made or brought up to date.
func (s *session) findHouse(ctx context.Context) (*house, error) {
	url, err := s.databaseURL()
	if err != nil {
		return nil, err
	}
	if path, embedded := strings.CutPrefix(url, "sqlite:"); embedded {
		if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("there is no database yet at %s: it is made by the first command that needs it, such as withy nursery show", path)
		}
	}
	h, err := s.bareHouse(ctx)
	if err != nil {
		return nil, err
	}
	if err := migrations.Check(ctx, h.SQL(), h.Dialect()); err != nil {
		return nil, errors.Join(err, h.Close())
	}
	return h, nil
}

// bareHouse is a database whose schema and nursery nobody has seen to yet.
func (s *session) bareHouse(ctx context.Context) (*house, error) {
	db, err := s.openStore(ctx)
	if err != nil {
		return nil, err
	}
	return &house{Store: db, Nursery: nursery.New(db, s.env.Clock, s.env.NewID, s.env.NewSecret)}, nil
}

func (s *session) openStore(ctx context.Context) (*store.Store, error) {
	url, err := s.databaseURL()
	if err != nil {
		return nil, err
	}
	return store.Open(ctx, url)
}

// findNursery looks at the nursery, and makes it in a database that has none,
// which is said once: its days begin somewhere.
func (s *session) findNursery(ctx context.Context, h *house) (err error) {
	h.view, err = h.See(ctx)
	if known := models.AsError(err); known == nil || known.Code != "not-made" {
		return err
	}
	if _, err = h.Make(ctx, nursery.Seed{TimeZone: s.settings.TimeZone}); err != nil {
		return err
	}
	if h.view, err = h.See(ctx); err != nil {
		return err
	}
	s.note("a new nursery was made, and its days are counted in %s%s", h.view.TimeZone, s.zoneHint())
	return nil
}

func (s *session) zoneHint() string {
	if s.settings.TimeZone != "" {
		return ""
	}
	return ": give its time zone with withy nursery edit --time-zone, as in America/Los_Angeles"
}

// ready says whether the database answers and has a schema that this program can
// work with. One that became newer under a running server is: steps of the schema
// only add, so that servers can be replaced one by one. To start on it is refused.
func (h *house) ready(ctx context.Context) (nursery.Readiness, error) {
	found, err := h.Nursery.Ready(ctx)
	if err != nil {
		return found, err
	}
	err = migrations.Check(ctx, h.SQL(), h.Dialect())
	var wrong *migrations.VersionError
	if errors.As(err, &wrong) && wrong.Newer() {
		return found, nil
	}
	return found, err
}

// numbers is where a server counts what it does, with those of its database.
func (s *session) numbers(h *house) *api.Metrics {
	b := thisBuild()
	m := api.NewMetrics(s.env.Clock, b.version, b.source())
	m.Watch(api.Database{
		Dialect: h.Dialect(), Pools: h.Pools(), Letters: h.MailCounts,
		Schema: func(ctx context.Context) (int64, error) { return migrations.Version(ctx, h.SQL(), h.Dialect()) },
	})
	return m
}

// handler is the door of a database. It counts what comes in where it is given
// something to count with.
func (s *session) handler(h *house, log *slog.Logger, counts *api.Metrics) http.Handler {
	b := thisBuild()
	return api.New(api.Deps{
		Log: log, Clock: s.env.Clock, NewID: s.env.NewID, Ready: h.ready,
		Version: b.version, Revision: b.source(), Metrics: counts,
		Proxies: s.settings.proxies, Rate: s.settings.rate,
	}, api.Mount(h.Nursery))
}

// logger writes to stderr from the level of WITHY_LOG, or else the usual one, in
// the form of WITHY_LOG_FORMAT.
func (s *session) logger(usual slog.Level) (*slog.Logger, error) {
	level, err := logLevel(s.settings.Log, usual)
	options := &slog.HandlerOptions{Level: level}
	if s.settings.LogAs == logJSON {
		return slog.New(slog.NewJSONHandler(s.env.Stderr, options)), err
	}
	return slog.New(slog.NewTextHandler(s.env.Stderr, options)), err
}

// inside is the log of what runs within a command. It is for those who look for a
// fault, and silent unless everything was asked for: the command itself says what
// went wrong.
func (s *session) inside() *slog.Logger {
	log, err := s.logger(slog.LevelInfo)
	if err != nil || !log.Enabled(context.Background(), slog.LevelDebug) {
		return slog.New(slog.DiscardHandler)
	}
	return log
}

// warnOfZone says that the environment and the nursery disagree. The nursery
// counts, so that two servers never have two todays.
func (s *session) warnOfZone(stored string) {
	if set := s.settings.TimeZone; set != "" && set != stored {
		s.warn("WITHY_TIME_ZONE is %s, and the nursery counts its days in %s, which holds: change it with withy nursery edit --time-zone", set, stored)
	}
}

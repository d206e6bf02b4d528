package cli

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"strconv"
	"syscall"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/jobs"
	"withybed/models"
)

func newServe(s *session) *cobra.Command {
	var listen string
	var migrate bool
	cmd := &cobra.Command{
		Use: "serve", Short: "Serve the API, and run what the nursery does by itself",
		Long: `Serves the API and a page of its problems, writes the flags every day, makes the
weekly reminder and sends the mail: see withy mail --help. It listens to this computer alone unless told otherwise, and
elsewhere only once there is a token: see withy token add. Ctrl-C stops it once
requests under way have ended.`,
		Example: examples("withy serve", "withy serve --listen 127.0.0.1:9000", "WITHY_DATABASE_URL=postgres://withy@db.wrenlow.example/withybed withy serve --migrate"),
		Args:    takes(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if cmd.Flags().Changed("server") {
				return usagef("withy serve is the server itself: leave out --server, or say where to listen with --listen")
			}
			if listen != "" {
				s.settings.Listen = listen
			}
			return s.serve(cmd.Context(), migrate)
		},
	}
	cmd.Flags().StringVar(&listen, "listen", "", "address and port to listen on (default WITHY_LISTEN, or "+defaultListen+")")
	cmd.Flags().BoolVar(&migrate, "migrate", false, "bring the schema of a PostgreSQL database up to date first; an embedded one always is")
	return cmd
}

func (s *session) serve(ctx context.Context, migrate bool) (err error) {
	log, err := s.logger(slog.LevelInfo)
	if err != nil {
		return err
	}
	reachable, err := api.CheckListen(s.settings.Listen)
	if err != nil {
		return err
	}
	way, err := s.mailWay()
	if err != nil {
		return err
	}
	listener, err := listenAt(s.settings.Listen) // before the database is touched
	if err != nil {
		return err
	}
	h, err := s.openHouse(ctx, migrate)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	defer func() { err = errors.Join(err, h.Close()) }()
	s.warnOfZone(h.view.TimeZone)
	if err := s.checkDoor(ctx, h, reachable); err != nil {
		return errors.Join(err, listener.Close())
	}

	counts := s.numbers(h)
	runner := jobs.New(append(jobs.Table(h.Nursery), s.mailJobs(h, way, counts.Letter)...), log)
	runner.Watch = counts.Job
	if err := runner.Start(ctx); err != nil {
		return errors.Join(err, listener.Close())
	}
	defer runner.Stop()

	s.say("Withybed is at http://%s. Ctrl-C stops it.", addressWords(listener.Addr()))
	if err := s.out.Flush(); err != nil {
		return errors.Join(err, listener.Close())
	}
	server := api.Server{Handler: s.handler(h, log, counts), Log: log}
	return server.Serve(ctx, listener)
}

// checkDoor refuses to let others reach a server that asks for no token yet, and
// says how far this computer is alone with one that nobody else can reach.
func (s *session) checkDoor(ctx context.Context, h *house, reachable bool) error {
	needed, err := h.TokensNeeded(ctx)
	switch {
	case err != nil || needed:
		return err
	case reachable:
		return models.Errorf(models.Forbidden, "not-loopback",
			"%s can be reached from other computers, and there is no token yet, so that everyone could change every record: make the first with withy token add NAME --role coordinator, or listen on %s",
			s.settings.Listen, defaultListen)
	}
	s.warn("there is no token yet: whoever reaches this address on this computer acts as coordinator. Behind a proxy it is not private: make a token first, with withy token add NAME --role coordinator")
	return nil
}

// addressWords is the address to reach a listener at from this computer: one that
// listens on every address is found at any, and has none of its own.
func addressWords(at net.Addr) string {
	if tcp, ok := at.(*net.TCPAddr); ok && tcp.IP.IsUnspecified() {
		return net.JoinHostPort("localhost", strconv.Itoa(tcp.Port)) + ", and at every address of this computer"
	}
	return at.String()
}

func listenAt(address string) (net.Listener, error) {
	listener, err := net.Listen("tcp", address)
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, fmt.Errorf("something else listens on %s already, perhaps another withy serve: stop it, or choose another port with --listen", address)
	case errors.Is(err, syscall.EACCES):
		return nil, fmt.Errorf("this user may not listen on %s: choose a port above 1023 with --listen", address)
	case err != nil:
		return nil, fmt.Errorf("listen on %s: %w", address, err)
	}
	return listener, nil
}

package api

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"strconv"
	"time"
)

// Server serves a handler to the network until it is told to stop.
type Server struct {
	Handler http.Handler
	Log     *slog.Logger
	Grace   time.Duration // how long requests under way may take to end; 10 s if 0
	Waits   Waits
}

// Waits are how long a peer is waited for; the usual time where one is 0.
type Waits struct {
	Headers time.Duration // from the first byte of a request to the end of its headers; 10 s
	Request time.Duration // to the end of its body; 2 min
	Answer  time.Duration // from the headers until the answer is taken, longer than Request, so that a body that never came can be told of; 150 s
	Next    time.Duration // for the next request on the same connection; 2 min
}

// Serve answers what comes in at the listener until ctx ends. Then it takes
// nothing new, lets what is under way end within the grace, and breaks off the
// rest, which is the only thing it reports as an error after a clean start.
func (s *Server) Serve(ctx context.Context, listener net.Listener) error {
	requests, breakOff := context.WithCancel(context.WithoutCancel(ctx))
	defer breakOff()
	server := newHTTPServer(s.Handler, s.Log, s.Waits)
	server.BaseContext = func(net.Listener) context.Context { return requests }

	failed := make(chan error, 1)
	go func() { failed <- server.Serve(listener) }()
	select {
	case err := <-failed:
		return fmt.Errorf("serve: %w", err)
	case <-ctx.Done():
	}
	return s.stop(server, breakOff)
}

func (s *Server) stop(server *http.Server, breakOff context.CancelFunc) error {
	grace := s.Grace
	if grace == 0 {
		grace = 10 * time.Second
	}
	ctx, cancel := context.WithTimeout(context.Background(), grace)
	defer cancel()
	err := server.Shutdown(ctx)
	if err == nil {
		return nil
	}
	breakOff()
	return fmt.Errorf("stop: some requests did not end within %v and were broken off: %w", grace, errors.Join(err, server.Close()))
}

// newHTTPServer sets the limits that keep one slow or greedy peer from holding
// up the others. A read deadline that passes ends the request's context, so it
// is longer than a request may take.
func newHTTPServer(h http.Handler, log *slog.Logger, w Waits) *http.Server {
	return &http.Server{
		Handler:           h,
		ReadHeaderTimeout: cmp.Or(w.Headers, 10*time.Second),
		ReadTimeout:       cmp.Or(w.Request, 2*time.Minute),
		WriteTimeout:      cmp.Or(w.Answer, 150*time.Second),
		IdleTimeout:       cmp.Or(w.Next, 2*time.Minute),
		MaxHeaderBytes:    64 << 10,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
		// OPTIONS * is asked like any other page, and does not slip past the door.
		DisableGeneralOptionsHandler: true,
	}
}

func validPort(port string) bool {
	_, err := strconv.ParseUint(port, 10, 16)
	return err == nil
}

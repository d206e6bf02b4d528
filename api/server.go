package api

import (
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
}

// Serve answers what comes in at the listener until ctx ends. Then it takes
// nothing new, lets what is under way end within the grace, and breaks off the
// rest, which is the only thing it reports as an error after a clean start.
func (s *Server) Serve(ctx context.Context, listener net.Listener) error {
	requests, breakOff := context.WithCancel(context.WithoutCancel(ctx))
	defer breakOff()
	server := newHTTPServer(s.Handler, s.Log)
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
func newHTTPServer(h http.Handler, log *slog.Logger) *http.Server {
	return &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       2 * time.Minute,
		WriteTimeout:      2 * time.Minute,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    64 << 10,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
}

func validPort(port string) bool {
	_, err := strconv.ParseUint(port, 10, 16)
	return err == nil
}

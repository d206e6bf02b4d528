package api

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"time"
)

// InProcessBase is the address by which a client in this process reaches the
// handler that InProcess serves.
const InProcessBase = "http://localhost"

// InProcess serves a handler within this process and gives the client that
// reaches it, whatever the address of a request. Requests and answers pass as
// bytes over pipes, so that streaming, cancelling and limits work as they do
// over the network. Close waits for requests under way.
func InProcess(handler http.Handler) (*http.Client, io.Closer) {
	pipes := &pipeListener{ends: make(chan net.Conn), closed: make(chan struct{})}
	server := newHTTPServer(handler, slog.New(slog.DiscardHandler), Waits{})
	transport := &http.Transport{
		DialContext:        func(ctx context.Context, _, _ string) (net.Conn, error) { return pipes.dial(ctx) },
		DisableCompression: true,
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		_ = server.Serve(pipes) // ends with ErrServerClosed, at Close
	}()
	return &http.Client{Transport: transport}, &inProcess{server: server, transport: transport, done: done}
}

type inProcess struct {
	server    *http.Server
	transport *http.Transport
	done      chan struct{}
}

// Close ends the server once its requests have ended, after ten seconds at most.
func (p *inProcess) Close() error {
	p.transport.CloseIdleConnections()
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	if err := p.server.Shutdown(ctx); err != nil {
		return fmt.Errorf("close the server in this process: %w", errors.Join(err, p.server.Close()))
	}
	<-p.done
	return nil
}

// pipeListener hands the far ends of pipes to a server.
type pipeListener struct {
	ends   chan net.Conn
	closed chan struct{}
	once   sync.Once
}

func (l *pipeListener) dial(ctx context.Context) (net.Conn, error) {
	near, far := net.Pipe()
	select {
	case l.ends <- far:
		return near, nil
	case <-l.closed:
		return nil, net.ErrClosed
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// Accept waits for the next pipe.
func (l *pipeListener) Accept() (net.Conn, error) {
	select {
	case conn := <-l.ends:
		return conn, nil
	case <-l.closed:
		return nil, net.ErrClosed
	}
}

// Close lets nobody dial any more.
func (l *pipeListener) Close() error {
	l.once.Do(func() { close(l.closed) })
	return nil
}

// Addr is a name for logs.
func (l *pipeListener) Addr() net.Addr { return pipeAddr{} }

type pipeAddr struct{}

func (pipeAddr) Network() string { return "pipe" }
func (pipeAddr) String() string  { return "pipe" }

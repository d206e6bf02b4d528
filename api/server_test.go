package api

import (
	"context"
	"io"
	"net"
	"net/http"
	"testing"
	"time"
)

func serve(t *testing.T, h http.Handler, grace time.Duration) (url string, stop context.CancelFunc, ended <-chan error) {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan error, 1)
	server := &Server{Handler: h, Log: testDeps(io.Discard).Log, Grace: grace}
	go func() { done <- server.Serve(ctx, listener) }()
	return "http://" + listener.Addr().String(), stop, done
}

func TestServerLetsRequestsEnd(t *testing.T) {
	began, goOn := make(chan struct{}), make(chan struct{})
	url, stop, ended := serve(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		close(began)
		<-goOn
		if r.Context().Err() != nil {
			w.WriteHeader(http.StatusServiceUnavailable)
		}
	}), time.Minute)
	go func() { <-began; stop(); close(goOn) }()
	answer, err := http.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		t.Errorf("status %d", answer.StatusCode)
	}
	if err := <-ended; err != nil {
		t.Error(err)
	}
	if _, err := http.Get(url); err == nil {
		t.Error("a stopped server answers")
	}
}

func TestServerBreaksOffWhatDoesNotEnd(t *testing.T) {
	began := make(chan struct{})
	url, stop, ended := serve(t, http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		close(began)
		<-r.Context().Done()
	}), time.Millisecond)
	go func() { <-began; stop() }()
	if answer, err := http.Get(url); err == nil {
		answer.Body.Close()
	}
	if err := <-ended; err == nil {
		t.Error("nothing was said of the request that was broken off")
	}
}

func TestServerSaysWhyItCannotServe(t *testing.T) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	listener.Close()
	server := &Server{Handler: http.NotFoundHandler(), Log: testDeps(io.Discard).Log}
	if err := server.Serve(t.Context(), listener); err == nil {
		t.Error("served at a closed listener")
	}
}

package api

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net/http"
	"strings"
	"sync"
	"testing"
)

func TestInProcessStreams(t *testing.T) {
	more := make(chan struct{})
	client, closer := InProcess(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		for _, line := range []string{"one\n", "two\n"} {
			_, _ = io.WriteString(w, line)
			_ = http.NewResponseController(w).Flush()
			<-more
		}
	}))
	defer closer.Close()
	answer, err := client.Get(InProcessBase)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	lines := bufio.NewReader(answer.Body)
	for _, want := range []string{"one\n", "two\n"} {
		if got, err := lines.ReadString('\n'); got != want || err != nil {
			t.Errorf("%q, %v", got, err)
		}
		more <- struct{}{}
	}
}

func TestInProcessCancels(t *testing.T) {
	began, ended := make(chan struct{}), make(chan struct{})
	client, closer := InProcess(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		close(began)
		<-r.Context().Done()
		close(ended)
	}))
	defer closer.Close()
	ctx, cancel := context.WithCancel(t.Context())
	go func() { <-began; cancel() }()
	r, err := http.NewRequestWithContext(ctx, "GET", InProcessBase, nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := client.Do(r); err == nil {
		t.Error("a cancelled request was answered")
	}
	<-ended
}

func TestInProcessServesManyAtOnce(t *testing.T) {
	client, closer := InProcess(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		text, err := io.ReadAll(r.Body)
		if err != nil {
			t.Error(err)
		}
		_, _ = w.Write(text)
	}))
	var all sync.WaitGroup
	for i := range 16 {
		all.Go(func() {
			text := strings.Repeat(fmt.Sprint(i), 100_000)
			answer, err := client.Post(InProcessBase, "text/plain", strings.NewReader(text))
			if err != nil {
				t.Error(err)
				return
			}
			defer answer.Body.Close()
			if got, err := io.ReadAll(answer.Body); string(got) != text || err != nil {
				t.Errorf("%d of %d bytes, %v", len(got), len(text), err)
			}
		})
	}
	all.Wait()
	if err := closer.Close(); err != nil {
		t.Error(err)
	}
	if _, err := client.Get(InProcessBase); err == nil {
		t.Error("a closed server answers")
	}
}

package api

import (
	"net/http"
	"runtime/debug"
)

// watched notes the status and the length of an answer as it passes.
type watched struct {
	http.ResponseWriter
	status int
	bytes  int64
}

// WriteHeader notes the final status; informational ones pass unseen.
func (w *watched) WriteHeader(status int) {
	if w.status == 0 && status >= http.StatusOK {
		w.status = status
	}
	w.ResponseWriter.WriteHeader(status)
}

// Write counts what was written.
func (w *watched) Write(b []byte) (int, error) {
	if w.status == 0 {
		w.status = http.StatusOK
	}
	n, err := w.ResponseWriter.Write(b)
	w.bytes += int64(n)
	return n, err
}

// Flush sends what is buffered, so that answers can be streamed.
func (w *watched) Flush() {
	if w.status == 0 {
		w.status = http.StatusOK
	}
	_ = http.NewResponseController(w.ResponseWriter).Flush() // a writer that cannot flush holds nothing back
}

// Unwrap lets deadlines be set on the connection beneath.
func (w *watched) Unwrap() http.ResponseWriter { return w.ResponseWriter }

func stack() string { return string(debug.Stack()) }

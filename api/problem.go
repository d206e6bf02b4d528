package api

import (
	"context"
	"encoding/json"
	"errors"
	"log/slog"
	"net/http"
	"strconv"
	"time"

	"withybed/models"
)

const problemType = "application/problem+json"

// Problem is an RFC 9457 problem document: every answer of this server that is
// not a success.
type Problem struct {
	Type        string          `json:"type" format:"uri-reference" doc:"Where the problem is explained" example:"/problems/over-allowance"`
	Title       string          `json:"title" doc:"The problem in a few words, the same each time" example:"More stems than the stand can spare"`
	Status      int             `json:"status" doc:"The HTTP status of this answer" example:"409"`
	Detail      string          `json:"detail" doc:"What is wrong this time, with the values, and what to do next"`
	Instance    string          `json:"instance,omitempty" format:"uri-reference" doc:"This occurrence: the path and the request id" example:"/v1/batches#01J9Z4"`
	Code        string          `json:"code" doc:"The stable name of the problem, as in type" example:"over-allowance"`
	Kind        models.Kind     `json:"kind" doc:"The reaction it calls for" enum:"malformed,invalid,not_found,unknown,refused,conflict,stale,unguarded,unauthenticated,forbidden,too_many,unavailable,internal" example:"refused"`
	Errors      []models.Field  `json:"errors,omitempty" doc:"The values at fault, one by one"`
	Suggestions []string        `json:"suggestions,omitempty" doc:"Near names that exist, nearest first"`
	Allowed     *int            `json:"allowed,omitempty" doc:"Stems still possible; on every refusal by a harvest rule" example:"12"`
	Binding     *models.Binding `json:"binding,omitempty" doc:"The harvest rule that refuses, with its numbers"`
	RequestID   string          `json:"request_id,omitempty" doc:"What this request is called in the server's log"`

	wait time.Duration // until it may be tried again
}

// Error is the detail.
func (p *Problem) Error() string { return p.Detail }

// GetStatus is the HTTP status.
func (p *Problem) GetStatus() int { return p.Status }

// ContentType is that of problem documents, whatever was negotiated.
func (p *Problem) ContentType(string) string { return problemType }

// GetHeaders says when to come back, where coming back helps, and how to say who
// one is.
func (p *Problem) GetHeaders() http.Header {
	switch p.Kind {
	case models.Unavailable:
		return http.Header{"Retry-After": {"1"}}
	case models.TooMany:
		return http.Header{"Retry-After": {strconv.Itoa(seconds(p.wait))}}
	case models.Unauthenticated:
		return http.Header{"Www-Authenticate": {`Bearer realm="Withybed"`}}
	}
	return nil
}

// newProblem is the document for an error.
func newProblem(ctx context.Context, err *models.Error) *Problem {
	entry := entryFor(err)
	at := requestFrom(ctx)
	at.kind, at.code = entry.Kind, err.Code
	p := &Problem{
		Type: "/problems/" + err.Code, Title: entry.Title, Status: entry.HTTPStatus(),
		Detail: err.Detail + untold(len(err.Fields)), Code: err.Code, Kind: entry.Kind,
		Errors: shortened(err.Fields), Suggestions: err.Suggestions,
		Allowed: err.Allowed, Binding: err.Binding, RequestID: at.id, wait: err.Wait,
	}
	if at.id != "" {
		p.Instance = at.path + "#" + at.id
	}
	if p.Kind == models.Refused && p.Allowed == nil {
		p.Allowed = new(int)
	}
	return p
}

// problemOf is the one place where an error becomes a problem document. What is
// not meant for the one who asked is logged and answered without detail.
func problemOf(ctx context.Context, log *slog.Logger, err error) *Problem {
	known := understood(err)
	id := requestFrom(ctx).id
	switch known.Kind {
	case models.Internal:
		log.ErrorContext(ctx, "request failed", "request_id", id, "error", err)
		known = internalError()
	case models.Unavailable:
		log.WarnContext(ctx, "request not served", "request_id", id, "error", err)
	}
	return newProblem(ctx, known)
}

// understood is the models.Error in err, or the one it amounts to.
func understood(err error) *models.Error {
	var p *Problem
	switch known := models.AsError(err); {
	case known != nil:
		return known
	case errors.As(err, &p):
		return &models.Error{Kind: p.Kind, Code: p.Code, Detail: p.Detail, Fields: p.Errors}
	case errors.Is(err, context.DeadlineExceeded):
		return models.Errorf(models.Unavailable, "timeout", "the answer was not ready in time: try again with the same Idempotency-Key")
	case errors.Is(err, context.Canceled):
		return models.Errorf(models.Unavailable, "stopping", "the request was broken off before it was done: try again with the same Idempotency-Key")
	}
	return internalError()
}

func internalError() *models.Error {
	return models.Errorf(models.Internal, "internal", "something went wrong here that is not your fault; the server's log has it under the request_id of this answer")
}

// writeProblem answers a request with an error, outside of huma.
func writeProblem(w http.ResponseWriter, r *http.Request, err *models.Error) {
	sendProblem(w, newProblem(r.Context(), err))
}

func sendProblem(w http.ResponseWriter, p *Problem) {
	for name, values := range p.GetHeaders() {
		w.Header()[name] = values
	}
	w.Header().Set("Content-Type", problemType)
	w.WriteHeader(p.Status)
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	_ = enc.Encode(p) // the client is gone if this fails
}

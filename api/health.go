package api

import (
	"context"
	"fmt"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"withybed/models"
)

// Health is the answer of /healthz and /readyz.
type Health struct {
	Status  string `json:"status" enum:"ok,ready" doc:"ok: the process runs; ready: the database answers and has the schema it needs" example:"ok"`
	Version string `json:"version" doc:"Version of the program" example:"0.1.0"`
}

type healthOutput struct{ Body Health }

// mountHealth puts up the two routes by which a supervisor watches the server.
func mountHealth(s *Surface, version string, ready func(context.Context) error) {
	Route(s, open(huma.Operation{
		OperationID: "health", Method: http.MethodGet, Path: "/healthz", Tags: []string{"server"},
		Summary: "Is the process up?", Description: "Answers as long as the process runs, whatever the database does.",
	}), func(context.Context, *struct{}) (*healthOutput, error) {
		return &healthOutput{Body: Health{Status: "ok", Version: version}}, nil
	})
	Route(s, open(huma.Operation{
		OperationID: "ready", Method: http.MethodGet, Path: "/readyz", Tags: []string{"server"},
		Summary: "Can it do its work?", Description: "Answers 200 when the database can be reached and its schema is the one this program needs, 503 otherwise.",
	}), func(ctx context.Context, _ *struct{}) (*healthOutput, error) {
		if err := ready(ctx); err != nil {
			return nil, notReady(err)
		}
		return &healthOutput{Body: Health{Status: "ready", Version: version}}, nil
	})
}

// notReady keeps the cause for the log; the answer does not show it.
func notReady(cause error) error {
	told := models.Errorf(models.Unavailable, "not-ready", "the database cannot be used: the server's log says why")
	return fmt.Errorf("%w: %w", told, cause)
}

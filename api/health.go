package api

import (
	"context"
	"fmt"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"withybed/models"
)

// Health is the answer of /healthz.
type Health struct {
	Status   string `json:"status" enum:"ok,ready" doc:"ok: the process runs; ready: the database answers and has the schema it needs" example:"ok"`
	Version  string `json:"version" doc:"Version of the program" example:"0.1.0"`
	Revision string `json:"revision,omitempty" doc:"Revision of the source it was built from, with +modified where that was changed; left out if unknown" example:"5bbd5bc"`
}

// Readiness is the answer of /readyz.
type Readiness struct {
	Health
	Today    models.Date `json:"today" doc:"Today in the nursery's time zone"`
	TimeZone string      `json:"time_zone" doc:"IANA name of the zone the nursery's days are counted in" example:"America/Los_Angeles"`
}

type (
	healthOutput    struct{ Body Health }
	readinessOutput struct{ Body Readiness }
)

// mountHealth puts up the two routes by which a supervisor watches the server.
// They ask nobody who they are.
func mountHealth(s *Surface, d Deps) {
	health := func(status string) Health { return Health{Status: status, Version: d.Version, Revision: d.Revision} }
	Route(s, open(huma.Operation{
		OperationID: "health", Method: http.MethodGet, Path: "/healthz", Tags: []string{"server"},
		Summary: "Is the process up?", Description: "Answers as long as the process runs, whatever the database does.",
	}), func(context.Context, *struct{}) (*healthOutput, error) {
		return &healthOutput{Body: health("ok")}, nil
	})
	Route(s, open(huma.Operation{
		OperationID: "ready", Method: http.MethodGet, Path: "/readyz", Tags: []string{"server"},
		Summary: "Can it do its work?", Description: "Answers 200 when the database can be reached and its schema is one this program can work with, 503 otherwise.",
	}), func(ctx context.Context, _ *struct{}) (*readinessOutput, error) {
		found, err := d.Ready(ctx)
		if err != nil {
			return nil, notReady(err)
		}
		return &readinessOutput{Body: Readiness{Health: health("ready"), Today: found.Today, TimeZone: found.TimeZone}}, nil
	})
}

// notReady keeps the cause for the log; the answer does not show it.
func notReady(cause error) error {
	told := models.Errorf(models.Unavailable, "not-ready", "the database cannot be used: the server's log says why")
	return fmt.Errorf("%w: %w", told, cause)
}

// Ready says that the server can do its work, and where its days stand.
func (c *Client) Ready(ctx context.Context) (Readiness, error) {
	r, _, err := get[Readiness](ctx, c, "/readyz", nil)
	return r, err
}

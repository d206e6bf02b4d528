package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"

	"github.com/spf13/cobra"

	"withybed/api"
)

// health is what the command health found.
type health struct {
	At string `json:"at"`
	api.Health
	Today    string `json:"today"`
	TimeZone string `json:"time_zone"`
}

func newHealth(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "health", Short: "Say whether the server or the database can do its work",
		Long: `Asks the server, or looks at the database of this computer where none is named, and
ends with 0 if it is ready to work and with 1 if it is not. It makes no database.`,
		Example: examples("withy health", "withy health --server http://127.0.0.1:8347"),
		Args:    takes(),
		RunE:    func(cmd *cobra.Command, _ []string) error { return s.health(cmd.Context()) },
	}
}

func (s *session) health(ctx context.Context) (err error) {
	d, err := s.healthDoor(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, d.close()) }()
	found := health{At: d.base}
	if d.base == api.InProcessBase {
		found.At = "this computer"
	}
	if found.Health, err = d.ready(ctx); err != nil {
		return err
	}
	view, err := d.Nursery(ctx)
	if err != nil {
		return err
	}
	s.warnOfZone(view.TimeZone)
	found.Today, found.TimeZone = view.Today.String(), view.TimeZone
	return show(s, found, func(h health) {
		s.say("%s: version %s, at %s. Today is %s (%s).", h.Status, h.Version, h.At, h.Today, h.TimeZone)
	})
}

// healthDoor leads to what is there: to be asked how it is makes no database.
func (s *session) healthDoor(ctx context.Context) (*door, error) {
	if s.settings.Server != "" {
		return s.openDoor(ctx)
	}
	h, err := s.findHouse(ctx)
	if err != nil {
		return nil, err
	}
	return s.doorOf(h), nil
}

// ready asks whether the database behind the door can do its work.
func (d *door) ready(ctx context.Context) (h api.Health, err error) {
	if _, err := d.Nursery(ctx); err != nil {
		return h, err // says in full why nothing answers
	}
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, d.base+"/readyz", nil)
	if err != nil {
		return h, fmt.Errorf("ask %s: %w", d.base, err)
	}
	answer, err := d.http.Do(request)
	if err != nil {
		return h, fmt.Errorf("ask %s: %w", d.base, err)
	}
	defer func() { err = errors.Join(err, answer.Body.Close()) }()
	if answer.StatusCode != http.StatusOK {
		return h, errors.New("it is not ready: its log says why")
	}
	return h, json.NewDecoder(answer.Body).Decode(&h)
}

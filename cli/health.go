package cli

import (
	"context"
	"errors"

	"github.com/spf13/cobra"

	"withybed/api"
)

// health is what the command health found.
type health struct {
	At string `json:"at"`
	api.Readiness
}

func newHealth(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "health", Short: "Say whether the server or the database can do its work",
		Long: `Asks the server, or looks at the database of this computer where none is named, and
ends with 0 if it is ready to work and with 1 if it is not. It needs no token, and
makes no database.`,
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
	if found.Readiness, err = d.Ready(ctx); err != nil {
		return err
	}
	s.warnOfZone(found.TimeZone)
	return show(s, found, func(h health) {
		s.say("%s: version %s, at %s. Today is %s (%s).", h.Status, h.Version, h.At, h.Today, h.TimeZone)
	})
}

// healthDoor leads to what is there: to be asked how it is makes no database. One
// of this computer is looked at first, since only then it is said in full what it
// lacks: at the door that is for the log.
func (s *session) healthDoor(ctx context.Context) (*door, error) {
	if s.settings.Server != "" {
		return s.openDoor(ctx)
	}
	h, err := s.findHouse(ctx)
	if err != nil {
		return nil, err
	}
	if _, err := h.ready(ctx); err != nil {
		return nil, errors.Join(err, h.Close())
	}
	return s.doorOf(h), nil
}

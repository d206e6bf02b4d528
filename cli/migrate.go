package cli

import (
	"context"
	"errors"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"withybed/migrations"
	"withybed/models/store"
)

func newMigrate(s *session) *cobra.Command {
	cmd := s.group("migrate", "See to the schema of the database", examples("withy migrate status", "withy migrate up"))
	cmd.Long = `Shows the steps of the schema, and takes those that are pending. An embedded
database is brought up to date by every command; for PostgreSQL it is done here or
by serve --migrate. Make a copy of the database first.`
	cmd.AddCommand(
		&cobra.Command{
			Use: "status", Short: "Show the steps of the schema", Example: examples("withy migrate status"),
			Args: takes(), RunE: s.onStore(s.migrateStatus),
		},
		&cobra.Command{
			Use: "up", Short: "Take the steps that are pending", Example: examples("withy migrate up"),
			Args: takes(), RunE: s.onStore(s.migrateUp),
		},
	)
	return cmd
}

// onStore does something with the bare database, whatever its schema.
func (s *session) onStore(do func(context.Context, *store.Store) error) func(*cobra.Command, []string) error {
	return func(cmd *cobra.Command, _ []string) error {
		if cmd.Flags().Changed("server") {
			return usagef("%s works on the database itself: leave out --server, and set WITHY_DATABASE_URL", cmd.CommandPath())
		}
		db, err := s.openStore(cmd.Context())
		if err != nil {
			return err
		}
		return errors.Join(do(cmd.Context(), db), db.Close())
	}
}

// step is a migration as it is shown.
type step struct {
	Version   int64      `json:"version"`
	Name      string     `json:"name"`
	AppliedAt *time.Time `json:"applied_at"`
}

func steps(migrations []migrations.Migration) []step {
	list := make([]step, len(migrations))
	for i, m := range migrations {
		list[i] = step{Version: m.Version, Name: m.Name}
		if !m.Pending {
			list[i].AppliedAt = &m.AppliedAt
		}
	}
	return list
}

func (s *session) migrateStatus(ctx context.Context, db *store.Store) error {
	all, err := migrations.Status(ctx, db.SQL(), db.Dialect())
	if err != nil {
		return err
	}
	return showItems(s, steps(all), s.stepTable)
}

func (s *session) migrateUp(ctx context.Context, db *store.Store) error {
	taken, err := migrations.Up(ctx, db.SQL(), db.Dialect(), db.LockPath())
	if err != nil {
		return err
	}
	return showItems(s, steps(taken), func(list []step) {
		if len(list) == 0 {
			s.say("The schema is up to date: nothing was pending.")
			return
		}
		s.stepTable(list)
		s.say("The schema is up to date.")
	})
}

func (s *session) stepTable(list []step) {
	var rows [][]string
	for _, step := range list {
		rows = append(rows, []string{strconv.FormatInt(step.Version, 10), dash(strings.TrimSuffix(step.Name, ".sql")), appliedWords(step.AppliedAt)})
	}
	s.table([]column{numCol("STEP"), textCol("NAME"), col("APPLIED")}, rows, "There are no steps.")
}

func appliedWords(at *time.Time) string {
	if at == nil {
		return "pending"
	}
	return at.UTC().Format("2006-01-02 15:04 UTC")
}

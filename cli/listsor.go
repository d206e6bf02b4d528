package cli

import (
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// bare says that no flag of the command's own is given.
func bare(cmd *cobra.Command) bool {
	given := false
	cmd.LocalFlags().VisitAll(func(f *pflag.Flag) { given = given || f.Changed })
	return !given
}

// listsOr makes a command list what is on file where no flag of its own is given, and
// record otherwise, for which some flags are needed.
func (s *session) listsOr(cmd *cobra.Command, list run, record func(*cobra.Command, []string) error, needed ...string) {
	cmd.PreRunE = func(cmd *cobra.Command, _ []string) error {
		if bare(cmd) {
			return nil
		}
		return given(cmd, needed)
	}
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if bare(cmd) {
			return s.through(list)(cmd, args)
		}
		return record(cmd, args)
	}
}

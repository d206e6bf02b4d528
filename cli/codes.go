package cli

import (
	"context"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models/nursery"
)

// offered is how many codes the shell is offered at most.
const offered = 200

// completeCodes offers the codes of stands, batches and people and the numbers of
// permits to the shell, wherever a command takes one.
func (s *session) completeCodes(cmd *cobra.Command) {
	switch {
	case strings.HasSuffix(cmd.Use, " STAND"):
		cmd.ValidArgsFunction = s.offer(standCodes)
	case strings.HasSuffix(cmd.Use, " BATCH"):
		cmd.ValidArgsFunction = s.offer(batchCodes)
	case strings.HasSuffix(cmd.Use, " PERSON"):
		cmd.ValidArgsFunction = s.offer(personCodes)
	case strings.HasSuffix(cmd.Use, " PERMIT"):
		cmd.ValidArgsFunction = s.offer(permitNumbers)
	}
	if cmd.Flags().Lookup("stand") != nil {
		_ = cmd.RegisterFlagCompletionFunc("stand", s.offer(standCodes)) // fails only for a flag that is not there
	}
	if cmd.Flags().Lookup("permit") != nil {
		_ = cmd.RegisterFlagCompletionFunc("permit", s.offer(permitNumbers)) // fails only for a flag that is not there
	}
	for _, child := range cmd.Commands() {
		s.completeCodes(child)
	}
}

// offer asks for codes in silence, and offers none where that fails: a shell
// that completes is no place for sentences, nor for making a database.
func (s *session) offer(codes func(context.Context, *api.Client) []string) cobra.CompletionFunc {
	return func(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
		s.env.Stderr = io.Discard
		if len(args) > 0 || s.nothingYet() {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		d, err := s.openDoor(cmd.Context())
		if err != nil {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		found := codes(cmd.Context(), d.Client)
		_ = d.close() // nothing was written
		return found, cobra.ShellCompDirectiveNoFileComp
	}
}

// nothingYet says that there is no server and no database file.
func (s *session) nothingYet() bool {
	url, err := s.databaseURL()
	path, embedded := strings.CutPrefix(url, "sqlite:")
	if s.settings.Server != "" || err != nil || !embedded {
		return err != nil
	}
	_, err = os.Stat(path)
	return err != nil
}

func standCodes(ctx context.Context, c *api.Client) (codes []string) {
	for stand, err := range c.Stands(ctx, nursery.StandQuery{}) {
		if err != nil || len(codes) == offered {
			break
		}
		codes = append(codes, stand.Code+"\t"+stand.Name)
	}
	return codes
}

func batchCodes(ctx context.Context, c *api.Client) (codes []string) {
	for batch, err := range c.Batches(ctx, nursery.BatchQuery{}) {
		if err != nil || len(codes) == offered {
			break
		}
		codes = append(codes, batch.Code+"\t"+batch.Taxon)
	}
	return codes
}

func personCodes(ctx context.Context, c *api.Client) (codes []string) {
	for person, err := range c.People(ctx) {
		if err != nil || len(codes) == offered {
			break
		}
		codes = append(codes, person.Code+"\t"+person.Name)
	}
	return codes
}

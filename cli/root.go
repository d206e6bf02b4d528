package cli

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/signal"
	"runtime/debug"
	"strings"
	"syscall"

	"github.com/spf13/cobra"
)

// session is one run of the command line.
type session struct {
	env      Env
	settings settings
	out      *bufio.Writer // what was asked for; flushed at the end
	json     bool          // print the API's JSON and nothing else
	hint     string        // a word that helps after a refusal

	field       bool // an entry is made, which is kept here if need be
	behind      bool // entries before this one wait, so that it waits as well
	dayFromHere bool // a day was counted from the clock of this computer
}

// newSession is a run that was given e. It can tell of its error even where the
// settings cannot be read.
func newSession(e Env) (*session, error) {
	s := &session{env: e, out: bufio.NewWriter(e.Stdout)}
	var err error
	s.settings, err = readSettings(&e)
	return s, err
}

// ourFault is said of what is no fault of the person's.
const ourFault = "something went wrong here that is not your fault; what was recorded before is safe. " +
	"Run it again with WITHY_LOG=debug to see what it was"

// Run does what the arguments say and gives the exit code. It never panics.
func Run(ctx context.Context, e Env) (code int) {
	s, err := newSession(e)
	defer func() {
		if fault := recover(); fault != nil {
			s.complain(ourFault)
			s.inside().Debug("panic", "panic", fault, "stack", string(debug.Stack()))
			code = exitOther
		}
	}()
	if err == nil {
		err = s.run(ctx)
	}
	return s.finish(err)
}

func (s *session) run(ctx context.Context) error {
	ctx, stop := signal.NotifyContext(ctx, os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second Ctrl-C does not wait
	root := newRoot(s)
	root.SetArgs(append([]string{}, s.env.Args...)) // never nil, which would be the arguments of the process
	root.SetIn(s.env.Stdin)
	root.SetOut(s.out)
	root.SetErr(s.env.Stderr)
	return root.ExecuteContext(ctx)
}

// The groups of commands in the help.
const (
	groupStands  = "stands"
	groupBatches = "batches"
	groupRunning = "running"
)

const about = `Withybed keeps wild stands within what they can spare, and follows each batch of
cuttings from the cut to the pot.

Without a server it works on a database of its own in your data folder; with
--server or WITHY_SERVER it talks to the server there. Days are written
2026-01-17, today, yesterday or 10-days-ago, days of a plan also tomorrow or
10-days-ahead. It counts stems and never gives leave to cut: local rules, the land
manager and the permit decide.`

func newRoot(s *session) *cobra.Command {
	root := s.group("withy", "Stands, cuttings and what is due", "")
	root.Long, root.Version = about, thisBuild().String()
	root.Example = examples(
		"withy demo",
		"withy allowance MB-03 --stems 24 --parents 6",
		"withy batch log --stand MB-03 --stems-cut 24 --cuttings 72 --collected-by RQ",
		"withy due")
	root.SetVersionTemplate("withy {{.Version}}\n")
	root.SetUsageTemplate(strings.ReplaceAll(root.UsageTemplate(), "FlagUsages", fmt.Sprintf("FlagUsagesWrapped %d", usualWidth)))
	root.SilenceErrors, root.SilenceUsage = true, true
	root.SetFlagErrorFunc(flagFault)
	root.PersistentFlags().StringVar(&s.settings.Server, "server", s.settings.Server, "address of a server to talk to, as in http://127.0.0.1:8347")
	root.PersistentFlags().Lookup("server").DefValue = "" // the help is the same everywhere
	root.PersistentFlags().StringVar(&s.settings.Token, "token", s.settings.Token, "token to show at the door; WITHY_TOKEN keeps it out of the list of processes")
	root.PersistentFlags().Lookup("token").DefValue = ""
	root.PersistentFlags().BoolVar(&s.json, "json", false, "print JSON, as the server answers it")
	root.AddGroup(
		&cobra.Group{ID: groupStands, Title: "Stands:"},
		&cobra.Group{ID: groupBatches, Title: "Batches:"},
		&cobra.Group{ID: groupRunning, Title: "Running it:"})
	add(root, groupStands, newTaxon(s), newStand(s), newPlace(s), newAllowance(s), newBoard(s), newLand(s), newSurvey(s), newSheet(s), newPermit(s), newShare(s))
	add(root, groupBatches, newBatch(s), newCheck(s), newPot(s), newDue(s), newRemind(s), newRooting(s), newStats(s), newQueue(s))
	add(root, groupRunning, newDemo(s), newNursery(s), newPerson(s), newChanges(s), newServe(s), newToken(s), newMigrate(s), newMail(s), newHealth(s))
	root.SetHelpCommandGroupID(groupRunning)
	root.SetCompletionCommandGroupID(groupRunning)
	s.completeCodes(root)
	foldHelp(root)
	return root
}

func add(root *cobra.Command, group string, commands ...*cobra.Command) {
	for _, c := range commands {
		c.GroupID = group
		root.AddCommand(c)
	}
}

// group is a command that only holds others. An argument that is none of them is
// a slip, answered with the near ones.
func (s *session) group(name, short, example string) *cobra.Command {
	return &cobra.Command{
		Use: name, Short: short, Example: example,
		Args:                       cobra.ArbitraryArgs,
		SuggestionsMinimumDistance: 2,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return cmd.Help()
			}
			return usagef("there is no command %q%s", cmd.CommandPath()+" "+args[0], meant(cmd.SuggestionsFor(args[0])))
		},
	}
}

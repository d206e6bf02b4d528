package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"syscall"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"withybed/models"
	"withybed/models/documents"
	"withybed/models/rules"
)

// The exit codes, by the reaction they call for.
const (
	exitDone        = 0
	exitOther       = 1 // out of reach, or a fault of ours
	exitUsage       = 2 // the command or a value in it cannot be
	exitMissing     = 3 // a name that does not exist
	exitRefused     = 4 // a harvest rule says no
	exitConflict    = 5 // taken, or changed meanwhile
	exitKept        = 6 // kept on this computer, and not on the server yet
	exitInterrupted = 130
)

// usage is a slip in the command itself.
type usage struct{ text string }

// Error says what the slip is.
func (u usage) Error() string { return u.text }

func usagef(format string, args ...any) error { return usage{fmt.Sprintf(format, args...)} }

// missing is a thing of this computer that was named and is not there.
type missing struct{ text string }

// Error says what is not there.
func (m missing) Error() string { return m.text }

// ended is the exit code of a command that has said all there is to say.
type ended int

// Error is for those who never see it printed.
func (e ended) Error() string { return fmt.Sprintf("ended with %d", int(e)) }

// finish says what went wrong, if anything did, and gives the exit code.
func (s *session) finish(err error) int {
	if flushed := s.out.Flush(); err == nil {
		err = flushed
	}
	if err == nil || errors.Is(err, syscall.EPIPE) || errors.Is(err, io.ErrClosedPipe) {
		return exitDone // a reader that has seen enough is not a fault
	}
	if errors.Is(err, context.Canceled) {
		return exitInterrupted
	}
	if over := ended(0); errors.As(err, &over) {
		return int(over)
	}
	s.complain(s.faultWords(err))
	if code := exitCode(err); code != exitRefused || s.hint == "" {
		return code
	}
	_, _ = fmt.Fprintln(s.env.Stderr, s.hint) // nothing can be said where stderr is gone
	return exitRefused
}

// faultWords is an error in words. What went wrong inside this process has no
// server whose log would tell of it.
func (s *session) faultWords(err error) string {
	if known := models.AsError(err); known != nil && known.Kind == models.Internal && s.settings.Server == "" {
		return ourFault
	}
	if known := models.AsError(err); known != nil && known.Code == "server-unreachable" {
		return sentence(err) + ": " + s.reachAdvice()
	}
	return sentence(err)
}

// reachAdvice is what to do where no server was reached. Who enters for a nursery
// elsewhere is not led to make a second, empty one here.
func (s *session) reachAdvice() string {
	q, err := s.queue()
	if s.field || err == nil && q.there() {
		return "see whether it runs, and whether this computer has a way to it"
	}
	return "start it with withy serve, or leave out --server and unset WITHY_SERVER to work on the database of this computer"
}

func (s *session) complain(text string) {
	_, _ = fmt.Fprintln(s.env.Stderr, "withy: "+documents.Printable(text)) // nothing can be said where stderr is gone
}

// exitCode is the exit code of an error, by its kind and nothing else.
func exitCode(err error) int {
	var slip usage
	if errors.As(err, &slip) {
		return exitUsage
	}
	var gone missing
	if errors.As(err, &gone) {
		return exitMissing
	}
	known := models.AsError(err)
	if known == nil {
		return exitOther
	}
	switch known.Kind {
	case models.Malformed, models.Invalid:
		return exitUsage
	case models.NotFound, models.Unknown:
		return exitMissing
	case models.Refused:
		return exitRefused
	case models.Conflict, models.Stale, models.Unguarded:
		return exitConflict
	}
	return exitOther
}

// sentence is an error as a person reads it: what is wrong, with each value at
// fault on a line of its own where there are several, and what may have been meant.
func sentence(err error) string {
	known := models.AsError(err)
	if known == nil {
		return err.Error()
	}
	text := known.Detail
	switch n := len(known.Fields); {
	case n == 0, n == 1 && known.Kind == models.Unknown: // the sentence names it already
	case n == 1:
		text += ": " + fieldWords(known.Fields[0])
	default:
		text += ":"
		for _, f := range known.Fields {
			text += "\n  " + fieldWords(f)
		}
	}
	switch {
	case strings.Contains(text, "(near: "), len(known.Suggestions) == 0:
		return text // rows of a day sheet name what is near to them
	case len(known.Fields) > 1:
		return text + "\n  " + strings.TrimPrefix(meant(known.Suggestions), ": ")
	}
	return text + meant(known.Suggestions)
}

// fieldWords is what is wrong with a field, on one line. Where a correction holds it
// among what it changes, it has the name that its flag has.
func fieldWords(f models.Field) string {
	name := strings.TrimPrefix(strings.TrimPrefix(f.Name, "changes."), "survey.")
	return strings.Join(strings.Fields(name+" "+f.Detail), " ")
}

// meant asks whether one of the near names was meant; nothing where there is none.
func meant(near []string) string {
	if len(near) == 0 {
		return ""
	}
	return ": did you mean " + models.OneOf(near) + "?"
}

// flagFault says in plain words what pflag found wrong with a flag.
func flagFault(cmd *cobra.Command, err error) error {
	var unknown *pflag.NotExistError
	var bare *pflag.ValueRequiredError
	var bad *pflag.InvalidValueError
	switch {
	case errors.As(err, &unknown) && unknown.GetSpecifiedShortnames() == "":
		name := unknown.GetSpecifiedName()
		return usagef("%s has no flag --%s%s", cmd.CommandPath(), name, meant(nearFlags(cmd, name, "--")))
	case errors.As(err, &bare):
		return usagef("--%s needs a value", bare.GetSpecifiedName())
	case errors.As(err, &bad):
		return usagef("--%s %s", bad.GetFlag().Name, badValue(bad))
	}
	return usage{err.Error()}
}

// badValue says what is wrong with a value: our own flags say it themselves, the
// others are numbers or yes and no.
func badValue(bad *pflag.InvalidValueError) string {
	var ours usage
	if errors.As(bad.Unwrap(), &ours) {
		return ours.text
	}
	want := map[string]string{"int": "a whole number", "float64": "a number", "bool": "true or false"}[bad.GetFlag().Value.Type()]
	if want == "" {
		return bad.Unwrap().Error()
	}
	return fmt.Sprintf("is %q, and must be %s", bad.GetValue(), want)
}

// nearFlags are the flags that a name is near to, written with a prefix.
func nearFlags(cmd *cobra.Command, name, prefix string) []string {
	var names []string
	cmd.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	near := rules.Near(name, names)
	for i := range near {
		near[i] = prefix + near[i]
	}
	return near
}

package cli

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"withybed/models"
	"withybed/models/rules"
)

// value is a flag that reads its text with a function.
type value struct {
	text, kind string
	set        func(text string) error
}

// String is the text that was given.
func (v *value) String() string { return v.text }

// Type names what the flag takes, for the help.
func (v *value) Type() string { return v.kind }

// Set reads a text. What is wrong with it is a slip of the person's.
func (v *value) Set(text string) error {
	if err := v.set(text); err != nil {
		return usage{err.Error()}
	}
	v.text = text
	return nil
}

func addValue(cmd *cobra.Command, name, kind, help string, set func(string) error) {
	cmd.Flags().Var(&value{kind: kind, set: set}, name, help)
}

// Each of these reads a flag into a field that is left alone where the flag is
// not given.

func optionalInt(cmd *cobra.Command, to **int, name, help string) {
	addValue(cmd, name, "count", help, func(text string) error {
		n, err := parseCount(text)
		*to = &n
		return err
	})
}

func optionalNumber(cmd *cobra.Command, to **float64, name, help string) {
	addValue(cmd, name, "number", help, func(text string) error {
		x, err := parseNumber(text)
		*to = &x
		return err
	})
}

func optionalDecimal(cmd *cobra.Command, to **models.Decimal, name, kind, help string) {
	addValue(cmd, name, kind, help, func(text string) error {
		d, err := parseShare(text)
		*to = &d
		return err
	})
}

func optionalText(cmd *cobra.Command, to **string, name, help string) {
	addValue(cmd, name, "text", help, func(text string) error {
		*to = &text
		return nil
	})
}

func intFlag(cmd *cobra.Command, to *int, name, help string) {
	addValue(cmd, name, "count", help, func(text string) (err error) {
		*to, err = parseCount(text)
		return err
	})
}

// usualMost is how many entries of a list without end are shown unless more are
// asked for.
const usualMost = 50

func mostFlag(cmd *cobra.Command, to *int, what string) {
	*to = usualMost
	addValue(cmd, "most", "count", fmt.Sprintf("most %s to show; %d by default, 0 shows all", what, usualMost), func(text string) (err error) {
		if *to, err = parseCount(text); err == nil && *to < 0 {
			err = fmt.Errorf("is %d, and must be 0 or more", *to)
		}
		return err
	})
}

// noValue is how an edit takes a value away.
const noValue = "none"

func patchFlag[T any](cmd *cobra.Command, to *models.Patch[T], name, kind, help string, parse func(string) (T, error)) {
	addValue(cmd, name, kind, help, func(text string) error {
		if text == noValue {
			*to = models.SetNull[T]()
			return nil
		}
		v, err := parse(text)
		*to = models.SetTo(v)
		return err
	})
}

func asText(text string) (string, error) { return text, nil }

func parseCount(text string) (int, error) {
	n, err := strconv.Atoi(text)
	if err != nil {
		return 0, fmt.Errorf("is %q, and must be a whole number", text)
	}
	return n, nil
}

func parseNumber(text string) (float64, error) {
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || x-x != 0 { // neither infinite nor no number at all
		return 0, fmt.Errorf("is %q, and must be a number with a decimal point", text)
	}
	return x, nil
}

func parseShare(text string) (models.Decimal, error) {
	d, err := models.ParseDecimal(text)
	if err != nil {
		return 0, fmt.Errorf("is %q, and must be a decimal number of at most four places, as in 0.05", text)
	}
	return d, nil
}

func parseYesNo(text string) (bool, error) {
	switch strings.ToLower(text) {
	case "yes", "true":
		return true, nil
	case "no", "false":
		return false, nil
	}
	return false, fmt.Errorf("is %q, and must be yes or no", text)
}

// parseWord reads one of a few words, with dashes or spaces for underscores.
func parseWord[T ~string](known []T) func(string) (T, error) {
	return func(text string) (T, error) {
		word := T(strings.NewReplacer(" ", "_").Replace(models.NameKey(text)))
		for _, k := range known {
			if word == k || strings.ReplaceAll(string(word), "-", "_") == string(k) {
				return k, nil
			}
		}
		var names []string
		for _, k := range known {
			names = append(names, string(k))
		}
		return "", fmt.Errorf("is %q, and must be %s%s", text, models.OneOf(known), meant(rules.Near(text, names)))
	}
}

func wordFlag[T ~string](cmd *cobra.Command, to *T, name, help string, known []T) {
	read := parseWord(known)
	addValue(cmd, name, "word", help+": "+models.OneOf(known), func(text string) (err error) {
		*to, err = read(text)
		return err
	})
	complete(cmd, name, known)
}

// complete offers the words of a flag to the shell.
func complete[T ~string](cmd *cobra.Command, name string, known []T) {
	var words []string
	for _, k := range known {
		words = append(words, string(k))
	}
	_ = cmd.RegisterFlagCompletionFunc(name, cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp)) // fails only for a flag that is not there
}

// alias lets a flag be given under other names as well: those of the fields of
// the API.
func alias(cmd *cobra.Command, name string, others ...string) {
	before := cmd.Flags().GetNormalizeFunc()
	cmd.Flags().SetNormalizeFunc(func(set *pflag.FlagSet, given string) pflag.NormalizedName {
		given = strings.ReplaceAll(given, "_", "-")
		if slices.Contains(others, given) {
			given = name
		}
		return before(set, given)
	})
}

// needs marks flags that a command cannot do without.
func needs(cmd *cobra.Command, names ...string) {
	for _, name := range names {
		cmd.Flags().Lookup(name).Usage += " (needed)"
	}
	cmd.PreRunE = func(cmd *cobra.Command, _ []string) error { return given(cmd, names) }
}

// given says which of the flags are missing.
func given(cmd *cobra.Command, names []string) error {
	var missing []string
	for _, name := range names {
		if !cmd.Flags().Changed(name) {
			missing = append(missing, "--"+name)
		}
	}
	switch len(missing) {
	case 0:
		return nil
	case 1:
		return usagef("%s needs %s: see %s --help", cmd.CommandPath(), missing[0], cmd.CommandPath())
	}
	last := len(missing) - 1
	return usagef("%s needs %s and %s: see %s --help", cmd.CommandPath(), strings.Join(missing[:last], ", "), missing[last], cmd.CommandPath())
}

// takes wants exactly the arguments it names.
func takes(names ...string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		switch {
		case len(args) < len(names):
			return usagef("%s needs a %s: %s", cmd.CommandPath(), strings.ToLower(names[len(args)]), cmd.UseLine())
		case len(args) > len(names):
			return usagef("%s does not know what to do with %q: put quotes around a name of several words", cmd.CommandPath(), args[len(names)])
		}
		return nil
	}
}

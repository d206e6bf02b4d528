package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"withybed/models/stats"
)

// newStats is the group of calculators, which need no data.
func newStats(s *session) *cobra.Command {
	cmd := s.group("stats", "Calculate with rooting figures, without any data", "")
	cmd.Long = `Calculators for figures that are written down elsewhere. Parameters are flags, or one
JSON object with the same names with --input FILE, or - for standard input. Nothing
is read from a nursery, and nothing is kept.`
	cmd.Example = examples("withy stats proportion --rooted 14 --cuttings 20", "withy stats difference --one 14/20,17/20 --other 9/20,12/20",
		"withy stats need --plants 100 --rate 0.6", "withy stats pot --day 21 --rooted 12 --open 20 --rate 0.7 --t50 24 --t90 40")
	cmd.AddCommand(newProportion(s), newDifference(s), newNeed(s), newPotting(s))
	return cmd
}

// calculator is one calculation: its parameters are filled from flags or from JSON,
// checked, and worked out.
type calculator struct {
	*session
	input string
}

// command adds what all calculators have: where parameters come from, and the run.
func (c *calculator) command(cmd *cobra.Command, parameters any, work func() error) *cobra.Command {
	cmd.Args = takes()
	cmd.Flags().StringVar(&c.input, "input", "", "file with the parameters as one JSON object; - is standard input")
	cmd.RunE = func(cmd *cobra.Command, _ []string) error {
		if c.input != "" {
			if err := alone(cmd, "input", "json"); err != nil {
				return usagef("--input says it all: leave out the other flags")
			}
			if err := c.read(parameters); err != nil {
				return err
			}
		}
		return work()
	}
	return cmd
}

const mostInput = 1 << 20

// read fills parameters from one JSON object without unknown names.
func (c *calculator) read(parameters any) error {
	text, err := c.inputText()
	if err != nil {
		return err
	}
	decoder := json.NewDecoder(bytes.NewReader(text))
	decoder.DisallowUnknownFields()
	if err := decoder.Decode(parameters); err != nil {
		return usagef("the parameters cannot be read: %s", jsonSlip(err))
	}
	if _, err := decoder.Token(); !errors.Is(err, io.EOF) {
		return usagef("the parameters cannot be read: there is more than one JSON object")
	}
	return nil
}

func (c *calculator) inputText() ([]byte, error) {
	from := c.env.Stdin
	if c.input != "-" {
		f, err := os.Open(c.input)
		if err != nil {
			return nil, usagef("the parameters cannot be read: %s", strings.TrimPrefix(err.Error(), "open "))
		}
		defer func() { _ = f.Close() }()
		from = f
	}
	text, err := io.ReadAll(io.LimitReader(from, mostInput+1))
	if err == nil && len(text) > mostInput {
		err = usagef("the parameters cannot be read: there is more than a megabyte of them")
	}
	return text, err
}

// jsonSlip says in plain words what is wrong with JSON.
func jsonSlip(err error) string {
	var misfit *json.UnmarshalTypeError
	var slip usage
	switch name, unknown := strings.CutPrefix(err.Error(), "json: unknown field "); {
	case errors.As(err, &slip):
		return slip.text
	case errors.As(err, &misfit):
		return fmt.Sprintf("%s cannot be a %s", misfit.Field, misfit.Value)
	case unknown:
		return "there is no parameter " + name
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return "it is not one whole JSON object"
	}
	return "it is not JSON: " + strings.TrimPrefix(err.Error(), "json: ")
}

// lotShares are batches written 14/20,17/20, or in JSON as [[14,20],[17,20]].
type lotShares []stats.Share

func parseShares(text string) (lotShares, error) {
	var shares lotShares
	for part := range strings.SplitSeq(text, ",") {
		rooted, stuck, ok := strings.Cut(strings.TrimSpace(part), "/")
		r, err := strconv.Atoi(rooted)
		n, err2 := strconv.Atoi(stuck)
		if !ok || err != nil || err2 != nil {
			return nil, usagef("is %q, and batches are written rooted/stuck with commas, as in 14/20,17/20", text)
		}
		shares = append(shares, stats.Share{Rooted: r, Stuck: n})
	}
	return shares, shares.check()
}

// UnmarshalJSON reads pairs of rooted and stuck.
func (l *lotShares) UnmarshalJSON(text []byte) error {
	var pairs [][]int
	if err := json.Unmarshal(text, &pairs); err != nil {
		return usagef("batches are written as pairs of rooted and stuck, as in [[14,20],[17,20]]")
	}
	*l = nil
	for _, p := range pairs {
		if len(p) != 2 {
			return usagef("batches are written as pairs of rooted and stuck, as in [[14,20],[17,20]]")
		}
		*l = append(*l, stats.Share{Rooted: p[0], Stuck: p[1]})
	}
	return l.check()
}

// mostStuck bounds what a calculator is asked of.
const mostStuck = 10_000_000

func (l lotShares) check() error {
	for _, s := range l {
		if s.Stuck < 1 || s.Stuck > mostStuck || s.Rooted < 0 || s.Rooted > s.Stuck {
			return usagef("has %d of %d rooted: there must be 1 to %d stuck, and no more rooted than that", s.Rooted, s.Stuck, mostStuck)
		}
	}
	return nil
}

func sharesFlag(cmd *cobra.Command, to *lotShares, name, help string) {
	addValue(cmd, name, "rooted/stuck,...", help, func(text string) (err error) {
		*to, err = parseShares(text)
		return err
	})
}

// wantShare wants a share between 0 and 1, both ends within if with is true.
func wantShare(name string, x float64, with bool) error {
	if within := x > 0 && x < 1 || with && (x == 0 || x == 1); !within {
		return usagef("%s is %s, and must be a share between 0 and 1", name, number(x, 6))
	}
	return nil
}

// wantAtLeast wants a whole number from least to most.
func wantAtLeast(name string, n, least, most int) error {
	if n < least || n > most {
		return usagef("%s is %d, and must be from %d to %d", name, n, least, most)
	}
	return nil
}

func wantOver(name string, x float64) error {
	if !(x > 0) || math.IsInf(x, 0) {
		return usagef("%s is %s, and must be over 0", name, number(x, 6))
	}
	return nil
}

// numberFlag is a flag for a number.
func numberFlag(cmd *cobra.Command, to *float64, name, help string) {
	addValue(cmd, name, "number", help, func(text string) (err error) {
		*to, err = parseNumber(text)
		return err
	})
}

// limitsWords are limits in percent.
func limitsWords(lower, upper float64) string {
	return fmt.Sprintf("between %s and %s", percent(100*lower), percent(100*upper))
}

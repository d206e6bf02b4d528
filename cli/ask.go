package cli

import (
	"context"
	"errors"
	"fmt"
	"io"

	"charm.land/huh/v2"
)

// asks says that what is missing may be asked for: a person sits at a terminal,
// and not a program that reads JSON. What is piped is never asked.
func (s *session) asks() bool { return s.env.Terminal && !s.json }

// asksPlainly says to ask line by line, as screen readers and simple terminals
// need it: where the terminal is one of those, and where it was asked for.
func (s *session) asksPlainly() bool {
	return s.settings.Plainly != "" || s.env.Vars["NO_COLOR"] != "" || s.env.Vars["TERM"] == "dumb"
}

// question is one thing that is asked for, and what was answered.
type question struct {
	flag, title, help string
	known             []string // answers to choose from; others can be typed
	check             func(text string) error
	answer            string
}

// field is the question as it is asked. Line by line only its title is shown, which
// then holds the help too.
func (q *question) field(plainly bool) huh.Field {
	title := q.title
	if plainly {
		title += " (" + q.help + "):"
	}
	return huh.NewInput().Title(title).Description(q.help).Prompt("> ").Suggestions(q.known).
		Validate(func(text string) error {
			if err := q.check(text); err != nil {
				return fmt.Errorf("%s %w", q.title, err)
			}
			return nil
		}).Value(&q.answer)
}

// ask puts questions to the person. It ends with context.Canceled where they leave
// by Ctrl-C or by ending the input, so that nothing half answered is used.
func (s *session) ask(ctx context.Context, questions ...*question) error {
	if len(questions) == 0 {
		return nil
	}
	var fields []huh.Field
	for _, q := range questions {
		fields = append(fields, q.field(s.asksPlainly()))
	}
	return s.fill(ctx, fields...)
}

// confirm asks whether to go on.
func (s *session) confirm(ctx context.Context, title string) (yes bool, err error) {
	yes = true
	err = s.fill(ctx, huh.NewConfirm().Title(title).Value(&yes))
	return yes && err == nil, err
}

func (s *session) fill(ctx context.Context, fields ...huh.Field) error {
	if err := s.out.Flush(); err != nil {
		return err
	}
	form := huh.NewForm(huh.NewGroup(fields...)).WithOutput(s.env.Stdout)
	if s.asksPlainly() {
		return s.fillPlainly(ctx, form)
	}
	err := form.WithInput(s.env.Stdin).WithTheme(huh.ThemeFunc(huh.ThemeBase16)).RunWithContext(ctx)
	if ctx.Err() != nil || errors.Is(err, huh.ErrUserAborted) {
		return context.Canceled
	}
	return err
}

// fillPlainly asks line by line. The person is waited for only until they leave.
func (s *session) fillPlainly(ctx context.Context, form *huh.Form) error {
	input := &keyboard{from: s.env.Stdin}
	filled := make(chan error, 1)
	go func() {
		filled <- form.WithTheme(huh.ThemeFunc(huh.ThemeBase)).WithAccessible(true).WithInput(input).RunWithContext(ctx)
	}()
	select {
	case err := <-filled:
		if input.ended {
			return context.Canceled
		}
		return err
	case <-ctx.Done():
		return ctx.Err()
	}
}

// keyboard is what is typed at a terminal. It is read byte by byte, so that no
// question takes the answer to the next one, and it notes its end.
type keyboard struct {
	from  io.Reader
	ended bool
}

// Read reads one byte.
func (k *keyboard) Read(p []byte) (int, error) {
	n, err := k.from.Read(p[:min(1, len(p))])
	k.ended = k.ended || err != nil
	return n, err
}

package cli

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"sync/atomic"
	"time"

	"github.com/spf13/cobra"

	"withybed/jobs"
	"withybed/models"
)

// The demo's morning, in the time zone of the example nursery: a Monday in the
// cutting season. Its records are entered before the hour of the reminder.
const (
	demoZone  = "America/Los_Angeles"
	demoDay   = "2026-01-19"
	demoEnter = 6*time.Hour + 30*time.Minute
	demoTell  = 9*time.Hour + 30*time.Minute
)

func newDemo(s *session) *cobra.Command {
	var serve bool
	var listen string
	cmd := &cobra.Command{
		Use: "demo", Short: "See it work on an example nursery, and leave nothing behind",
		Long: `Makes an example nursery in a database that is thrown away at the end, and tells
the story of one morning with the commands that a person would type. Its clock
stands on a Monday in January 2026, so that the story is always the same.`,
		Example: examples("withy demo", "withy demo --serve"),
		Args:    takes(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			switch {
			case cmd.Flags().Changed("server") || s.json:
				return usagef("withy demo has a nursery of its own and tells a story: leave out --server and --json")
			case listen != "" && !serve:
				return usagef("--listen goes with --serve")
			case listen != "":
				s.settings.Listen = listen
			}
			return s.demo(cmd.Context(), serve)
		},
	}
	cmd.Flags().BoolVar(&serve, "serve", false, "tell no story, and serve the example nursery until Ctrl-C")
	cmd.Flags().StringVar(&listen, "listen", "", "with --serve, address and port to listen on (default WITHY_LISTEN, or "+defaultListen+")")
	return cmd
}

// demo makes the example nursery in a folder of its own, tells its story or
// serves it, and removes the folder.
func (s *session) demo(ctx context.Context, serve bool) (err error) {
	folder, err := os.MkdirTemp("", "withy-demo-")
	if err != nil {
		return fmt.Errorf("make a folder for the demo: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(folder)) }()
	d := &demo{session: s, url: "sqlite:" + filepath.Join(folder, "demo.db")}
	if err := d.load(ctx); err != nil {
		return err
	}
	if serve {
		return d.serve(ctx)
	}
	return d.tell(ctx)
}

// demo is the example nursery in its throwaway database.
type demo struct {
	*session
	url     string
	ids     atomic.Int64
	example example
}

// at is the Env of a run at a time of the demo's day. Nothing of this computer
// gets into it: neither its environment nor its clock, chance or terminal.
func (d *demo) at(sinceMidnight time.Duration, out io.Writer, args ...string) Env {
	return Env{
		Args: args, Stdout: out, Stderr: out,
		Vars:  map[string]string{"WITHY_DATABASE_URL": d.url, "WITHY_TIME_ZONE": demoZone},
		Clock: models.FixedClock(demoMidnight().Add(sinceMidnight)),
		NewID: d.newID,
	}
}

func demoMidnight() time.Time {
	place, err := time.LoadLocation(demoZone)
	if err != nil {
		panic(err) // the zones are built in
	}
	return models.MustDate(demoDay).At(0, place)
}

// newID counts, so that the demo is the same from run to run.
func (d *demo) newID() string { return fmt.Sprintf("00000000-0000-7000-8000-%012d", d.ids.Add(1)) }

// inside is a session in the example nursery.
func (d *demo) inside(sinceMidnight time.Duration, out io.Writer) (within *session, err error) {
	within = &session{env: d.at(sinceMidnight, out), out: bufio.NewWriter(out)}
	within.settings, err = readSettings(&within.env)
	return within, err
}

// load enters the example nursery.
func (d *demo) load(ctx context.Context) (err error) {
	if d.example, err = readExample(); err != nil {
		return err
	}
	within, err := d.inside(demoEnter, io.Discard)
	if err != nil {
		return err
	}
	door, err := within.openHere(ctx)
	if err != nil {
		return err
	}
	entering := loader{Client: door.Client, warned: func(string, []string) {}, passed: d.progress}
	return errors.Join(entering.load(ctx, d.example), door.close())
}

// progress keeps a person at a terminal company.
func (d *demo) progress(done, of int) {
	if d.env.Width == 0 {
		return
	}
	line := fmt.Sprintf("\rLoading the example nursery: %d of %d batches", done, of)
	if done == of {
		line = "\r\x1b[K"
	}
	_, _ = io.WriteString(d.env.Stderr, line) // nothing is lost with it
}

// serve keeps the example nursery up until it is told to stop.
func (d *demo) serve(ctx context.Context) error {
	within, err := d.inside(demoTell, d.env.Stdout)
	if err != nil {
		return err
	}
	within.env.Stderr = d.env.Stderr
	within.settings.Listen = d.settings.Listen
	within.settings.Log = d.settings.Log
	within.say("The example nursery, in a valley that is made up. It is %s, 09:30 there,", demoDay)
	within.say("and stays so: the clock of this server stands still. Try, from another terminal:")
	within.say("  withy --server http://%s due", within.settings.Listen)
	within.say("  withy --server http://%s batch log --file testdata/day.csv", within.settings.Listen)
	within.say("What is entered is gone when it stops.")
	return within.serve(ctx, false)
}

// runJobs does what a server does by itself: the flags of the day, and the
// reminder of the week.
func (d *demo) runJobs(ctx context.Context) error {
	within, err := d.inside(demoTell, io.Discard)
	if err != nil {
		return err
	}
	h, err := within.openHouse(ctx, false)
	if err != nil {
		return err
	}
	jobs.New(jobs.Table(h.Nursery), slog.New(slog.DiscardHandler)).RunOnce(ctx)
	return h.Close()
}

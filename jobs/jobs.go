// Package jobs runs what the nursery does by itself: flags every day, a reminder
// every week, and the mail as soon as there is some. A job asks the data what is
// due at this moment, so that a missed tick loses nothing and a second one, or a
// second server, does nothing.
package jobs

import (
	"cmp"
	"context"
	"fmt"
	"log/slog"
	"runtime/debug"
	"sync"
	"time"

	"github.com/robfig/cron/v3"

	"withybed/models/nursery"
)

// heartbeat is how often jobs look whether they are due, unless they say
// otherwise. What is due in the nursery's own time is decided from the data, never
// by the schedule, which would skip or repeat an hour when the clocks change.
const heartbeat = 5 * time.Minute

// patience is how long one run of a job may take.
const patience = 5 * time.Minute

// Job is a name and one use case, which says whether it did anything. Every is how
// often it looks whether it is due; 0 is every five minutes.
type Job struct {
	Name  string
	Every time.Duration
	Run   func(ctx context.Context) (did bool, err error)
}

// Table lists the jobs of a nursery. Models come before the flags they bring
// forward, and flags and crew shares before the reminder, which is read beside them.
func Table(n *nursery.Nursery) []Job {
	return []Job{
		{Name: "rooting models", Run: n.FitModels},
		{Name: "flags", Run: n.WriteFlags},
		{Name: "crew shares", Run: n.ReleaseShares},
		{Name: "reminder", Run: n.RemindIfDue},
		{Name: "forget keys", Run: func(ctx context.Context) (bool, error) {
			forgotten, err := n.ForgetKeys(ctx)
			return forgotten > 0, err
		}},
	}
}

// Runner runs jobs on the heartbeat until it is stopped.
type Runner struct {
	// Watch is told that a job begins, and what it gives back is told how the run
	// ended. It is set before Start; nil watches nothing.
	Watch func(job string) (ended func(did bool, err error))

	jobs   []Job
	log    *slog.Logger
	cron   *cron.Cron
	first  sync.WaitGroup // the runs at the start, which cron knows nothing of
	cancel context.CancelFunc
}

// New is a runner of jobs, not started yet.
func New(jobs []Job, log *slog.Logger) *Runner {
	return &Runner{jobs: jobs, log: log, cron: cron.New()}
}

// Start runs every job once and then on each of its beats, in the background.
// Jobs of one beat run one after the other, in order; a beat that comes while the
// last one is still at work is left out.
func (r *Runner) Start(ctx context.Context) error {
	ctx, r.cancel = context.WithCancel(ctx)
	for every, jobs := range byBeat(r.jobs) {
		beat := cron.NewChain(cron.SkipIfStillRunning(cron.DiscardLogger)).
			Then(cron.FuncJob(func() { r.runAll(ctx, jobs) }))
		if _, err := r.cron.AddJob("@every "+every.String(), beat); err != nil {
			return fmt.Errorf("schedule the jobs: %w", err)
		}
		r.first.Go(beat.Run)
	}
	r.cron.Start()
	return nil
}

// byBeat are the jobs of each beat, in order.
func byBeat(jobs []Job) map[time.Duration][]Job {
	beats := map[time.Duration][]Job{}
	for _, job := range jobs {
		every := cmp.Or(job.Every, heartbeat)
		beats[every] = append(beats[every], job)
	}
	return beats
}

// Stop ends the beats, breaks off what is under way and waits for it.
func (r *Runner) Stop() {
	r.cancel()
	<-r.cron.Stop().Done()
	r.first.Wait()
}

// RunOnce runs every job once, in order. One that fails or panics is logged and
// tried again at its next beat; it does not hold up the others.
func (r *Runner) RunOnce(ctx context.Context) { r.runAll(ctx, r.jobs) }

func (r *Runner) runAll(ctx context.Context, jobs []Job) {
	for _, job := range jobs {
		if ctx.Err() != nil {
			return
		}
		r.run(ctx, job)
	}
}

func (r *Runner) run(ctx context.Context, job Job) {
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	ended := func(bool, error) {}
	if r.Watch != nil {
		ended = r.Watch(job.Name)
	}
	defer func() {
		if fault := recover(); fault != nil {
			r.log.Error("job panicked", "job", job.Name, "panic", fault, "stack", string(debug.Stack()))
			ended(false, fmt.Errorf("panicked: %v", fault))
		}
	}()
	did, err := job.Run(ctx)
	ended(did, err)
	switch {
	case err != nil:
		r.log.Error("job failed", "job", job.Name, "error", err)
	case did:
		r.log.Info("job done", "job", job.Name)
	}
}

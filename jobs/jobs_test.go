package jobs_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"withybed/jobs"
)

const heartbeat = 5 * time.Minute

// lines is a log that several goroutines may write and the test reads.
type lines struct {
	mutex sync.Mutex
	text  bytes.Buffer
}

func (l *lines) Write(p []byte) (int, error) {
	l.mutex.Lock()
	defer l.mutex.Unlock()
	return l.text.Write(p)
}

func (l *lines) has(t *testing.T, words ...string) {
	t.Helper()
	l.mutex.Lock()
	defer l.mutex.Unlock()
	for _, word := range words {
		if !strings.Contains(l.text.String(), word) {
			t.Errorf("the log does not say %q:\n%s", word, l.text.String())
		}
	}
}

// started is a runner of jobs that has started and is stopped at the end.
func started(t *testing.T, list ...jobs.Job) (*jobs.Runner, *lines) {
	t.Helper()
	log := &lines{}
	r := jobs.New(list, slog.New(slog.NewTextHandler(log, nil)))
	if err := r.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	return r, log
}

// counting is a job that counts its runs, and then does something.
func counting(name string, runs *atomic.Int64, then func(ctx context.Context) (bool, error)) jobs.Job {
	return jobs.Job{Name: name, Run: func(ctx context.Context) (bool, error) {
		runs.Add(1)
		return then(ctx)
	}}
}

func nothing(context.Context) (bool, error) { return false, nil }

func TestJobsRunAtOnceAndOnEveryHeartbeat(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var runs atomic.Int64
		r, log := started(t, counting("flags", &runs, func(context.Context) (bool, error) { return true, nil }))
		defer r.Stop()
		synctest.Wait()
		for want := int64(1); want <= 4; want++ {
			if runs.Load() != want {
				t.Fatalf("after %d heartbeats it ran %d times", want-1, runs.Load())
			}
			time.Sleep(heartbeat)
			synctest.Wait()
		}
		log.has(t, "job done", "flags")
	})
}

// Two jobs of four minutes each are at work for longer than a heartbeat, though
// neither is longer than one job may take.
func TestAHeartbeatIsLeftOutWhileTheLastOneIsAtWork(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		slow := func(context.Context) (bool, error) {
			time.Sleep(4 * time.Minute)
			return false, nil
		}
		var runs atomic.Int64
		r, _ := started(t, counting("slow", &runs, slow), counting("as slow", new(atomic.Int64), slow))
		defer r.Stop()
		began := time.Now()
		for _, look := range []struct{ minute, runs int64 }{{1, 1}, {6, 1}, {9, 1}, {11, 2}, {16, 2}, {21, 3}} {
			time.Sleep(time.Until(began.Add(time.Duration(look.minute) * time.Minute)))
			synctest.Wait()
			if runs.Load() != look.runs {
				t.Errorf("after %d minutes it has run %d times, want %d", look.minute, runs.Load(), look.runs)
			}
		}
	})
}

// The mail does not wait for the heartbeat, nor for the jobs that are at work on it.
func TestAJobHasItsOwnBeat(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var slow, quick atomic.Int64
		mail := counting("mail", &quick, nothing)
		mail.Every = 15 * time.Second
		r, _ := started(t, mail, counting("slow", &slow, func(ctx context.Context) (bool, error) {
			<-ctx.Done()
			return false, ctx.Err()
		}))
		defer r.Stop()
		time.Sleep(2*time.Minute + time.Second)
		synctest.Wait()
		if slow.Load() != 1 || quick.Load() != 9 {
			t.Errorf("in two minutes one ran %d times, the other %d times", slow.Load(), quick.Load())
		}
	})
}

func TestAJobThatFailsOrPanicsHoldsUpNoOther(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var failed, panicked, ran atomic.Int64
		r, log := started(t,
			counting("failing", &failed, func(context.Context) (bool, error) { return false, errors.New("the disk is full") }),
			counting("panicking", &panicked, func(context.Context) (bool, error) { panic("no such tray") }),
			counting("reminder", &ran, nothing))
		defer r.Stop()
		time.Sleep(2*heartbeat + time.Second)
		synctest.Wait()
		if failed.Load() != 3 || panicked.Load() != 3 || ran.Load() != 3 {
			t.Errorf("in three rounds one failed %d times, one panicked %d times, and the last ran %d times", failed.Load(), panicked.Load(), ran.Load())
		}
		log.has(t, "job failed", "the disk is full", "job panicked", "no such tray", "panicking")
	})
}

// Whoever watches the jobs is told of every run that began how it ended.
func TestRunsAreWatched(t *testing.T) {
	var seen []string
	r := jobs.New([]jobs.Job{
		{Name: "flags", Run: func(context.Context) (bool, error) { return true, nil }},
		{Name: "reminder", Run: nothing},
		{Name: "failing", Run: func(context.Context) (bool, error) { return false, errors.New("the disk is full") }},
		{Name: "panicking", Run: func(context.Context) (bool, error) { panic("no such tray") }},
	}, slog.New(slog.DiscardHandler))
	r.Watch = func(job string) func(bool, error) {
		return func(did bool, err error) { seen = append(seen, fmt.Sprint(job, " ", did, " ", err)) }
	}
	r.RunOnce(t.Context())
	want := []string{"flags true <nil>", "reminder false <nil>", "failing false the disk is full", "panicking false panicked: no such tray"}
	if !slices.Equal(seen, want) {
		t.Errorf("%q, want %q", seen, want)
	}
}

func TestAJobIsGivenUpAfterAWhile(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		began := time.Now()
		var ran atomic.Int64
		var took time.Duration
		r, log := started(t, counting("stuck", new(atomic.Int64), func(ctx context.Context) (bool, error) {
			<-ctx.Done()
			took = time.Since(began)
			return false, ctx.Err()
		}), counting("reminder", &ran, nothing))
		defer r.Stop()
		time.Sleep(heartbeat + time.Second)
		synctest.Wait()
		if took != 5*time.Minute || ran.Load() != 1 {
			t.Errorf("it was given up after %s, and the next ran %d times", took, ran.Load())
		}
		log.has(t, "deadline exceeded")
	})
}

func TestStopBreaksOffAndWaits(t *testing.T) {
	for name, wait := range map[string]time.Duration{"the first run": time.Second, "a later one": heartbeat + time.Second} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				ended := false
				var runs, next atomic.Int64
				r, _ := started(t, counting("long", &runs, func(ctx context.Context) (bool, error) {
					if wait > heartbeat && runs.Load() == 1 {
						return false, nil
					}
					<-ctx.Done()
					time.Sleep(3 * time.Second) // cleaning up
					ended = true
					return false, ctx.Err()
				}), counting("after", &next, nothing))
				time.Sleep(wait)
				synctest.Wait()
				before, began := next.Load(), time.Now()
				r.Stop()
				if !ended || time.Since(began) != 3*time.Second {
					t.Errorf("it ended: %t, and stopping took %s", ended, time.Since(began))
				}
				time.Sleep(3 * heartbeat)
				synctest.Wait()
				if next.Load() != before {
					t.Error("a job ran after the stop")
				}
			})
		})
	}
}

func TestJobsEndWithTheContextTheyWereStartedWith(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		var runs atomic.Int64
		r := jobs.New([]jobs.Job{counting("flags", &runs, nothing)}, slog.New(slog.DiscardHandler))
		if err := r.Start(ctx); err != nil {
			t.Fatal(err)
		}
		defer r.Stop()
		synctest.Wait()
		cancel()
		time.Sleep(3 * heartbeat)
		synctest.Wait()
		if runs.Load() != 1 {
			t.Errorf("it ran %d times", runs.Load())
		}
	})
}

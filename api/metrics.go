package api

import (
	"cmp"
	"context"
	"database/sql"
	"log/slog"
	"net/http"
	"runtime"
	"slices"
	"strconv"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"

	"withybed/models"
)

// Metrics counts what a server does, in a registry of its own. No label holds what
// a person or a client wrote: operations, jobs and problems are from tables of ours.
// It is safe for use by many goroutines.
type Metrics struct {
	clock    models.Clock
	registry *prometheus.Registry
	database *Database // nil where there is none to look at

	requests    *prometheus.HistogramVec
	problems    *prometheus.CounterVec
	refusals    *prometheus.CounterVec
	jobRuns     *prometheus.CounterVec
	jobSeconds  *prometheus.CounterVec
	jobSuccess  *prometheus.GaugeVec
	letterTries *prometheus.CounterVec
	letters     *prometheus.GaugeVec
	databaseUp  prometheus.Gauge
	schema      prometheus.Gauge
}

// requestSeconds are the bounds of the buckets of requests: a write takes a few
// milliseconds, and a request is given up after thirty seconds.
var requestSeconds = []float64{.001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5, 10, 30}

// NewMetrics has counted nothing yet. The clock says how long things took; version
// and revision say what the program was built from.
func NewMetrics(clock models.Clock, version, revision string) *Metrics {
	m := &Metrics{
		clock:    clock,
		registry: prometheus.NewRegistry(),
		requests: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name: "withy_request_duration_seconds", Help: "Time requests took, by operation, method and class of status.", Buckets: requestSeconds,
		}, []string{"operation", "method", "status"}),
		problems:    counter("withy_problems_total", "Requests answered with a problem, by its kind.", "kind"),
		refusals:    counter("withy_refusals_total", "Requests refused by a harvest rule, by the code of the problem.", "code"),
		jobRuns:     counter("withy_job_runs_total", "Runs of jobs, by outcome: done, nothing (to do) or failed.", "job", "outcome"),
		jobSeconds:  counter("withy_job_seconds_total", "Time jobs took in all.", "job"),
		jobSuccess:  gauge("withy_job_last_success_timestamp_seconds", "When a job last ran without failing, in Unix time.", "job"),
		letterTries: counter("withy_mail_tries_total", "Tries of this server to send a letter, by outcome: sent or failed.", "outcome"),
		letters:     gauge("withy_mail_letters", "Letters in the database: waiting, or given_up within the last seven days.", "state"),
		databaseUp:  prometheus.NewGauge(prometheus.GaugeOpts{Name: "withy_database_up", Help: "1 if the database answered when these numbers were read, 0 if not."}),
		schema:      prometheus.NewGauge(prometheus.GaugeOpts{Name: "withy_database_schema_version", Help: "Version of the schema of the database."}),
	}
	m.registry.MustRegister(m.requests, m.problems, m.refusals, m.jobRuns, m.jobSeconds, m.jobSuccess, m.letterTries,
		info("withy_build_info", "What the program was built from; always 1.", map[string]string{
			"version": version, "revision": revision, "goversion": runtime.Version(),
		}),
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

func counter(name, help string, labels ...string) *prometheus.CounterVec {
	return prometheus.NewCounterVec(prometheus.CounterOpts{Name: name, Help: help}, labels)
}

func gauge(name, help string, labels ...string) *prometheus.GaugeVec {
	return prometheus.NewGaugeVec(prometheus.GaugeOpts{Name: name, Help: help}, labels)
}

// info is a number that is always 1 and says something by its labels.
func info(name, help string, labels map[string]string) prometheus.Gauge {
	g := prometheus.NewGauge(prometheus.GaugeOpts{Name: name, Help: help, ConstLabels: labels})
	g.Set(1)
	return g
}

// Database is what is looked at in the database when the numbers are read.
type Database struct {
	Dialect string
	Pools   map[string]*sql.DB // by what they are for
	Schema  func(context.Context) (int64, error)
	Letters func(context.Context) (models.MailCounts, error)
}

// Watch adds the numbers of a database. It is called once, before the first look.
func (m *Metrics) Watch(d Database) {
	m.database = &d
	m.registry.MustRegister(m.databaseUp, m.schema, m.letters,
		info("withy_database_info", "The kind of database; always 1.", map[string]string{"dialect": d.Dialect}))
	for name, pool := range d.Pools {
		m.registry.MustRegister(collectors.NewDBStatsCollector(pool, name))
	}
}

// look asks the database for its numbers. Where it does not answer they are left
// out, and withy_database_up says so.
func (m *Metrics) look(ctx context.Context, log *slog.Logger) {
	if m.database == nil {
		return
	}
	schema, err := m.database.Schema(ctx)
	var letters models.MailCounts
	if err == nil {
		letters, err = m.database.Letters(ctx)
	}
	if err != nil {
		log.WarnContext(ctx, "the database could not be looked at for metrics", "error", err)
		m.letters.Reset()
		m.databaseUp.Set(0)
		return
	}
	m.databaseUp.Set(1)
	m.schema.Set(float64(schema))
	m.letters.WithLabelValues(string(models.LetterWaiting)).Set(float64(letters.Waiting))
	m.letters.WithLabelValues(string(models.LetterGivenUp)).Set(float64(letters.GivenUp))
}

// Job notes that a job begins. The function it gives back is called when the run
// ends, with what it did.
func (m *Metrics) Job(name string) func(did bool, err error) {
	began := m.clock.Now()
	return func(did bool, err error) {
		ended := m.clock.Now()
		m.jobSeconds.WithLabelValues(name).Add(max(0, ended.Sub(began).Seconds())) // a clock may be set back
		outcome := "nothing"
		switch {
		case err != nil:
			outcome = "failed"
		case did:
			outcome = "done"
		}
		m.jobRuns.WithLabelValues(name, outcome).Inc()
		if err == nil {
			m.jobSuccess.WithLabelValues(name).Set(float64(ended.UnixMilli()) / 1000)
		}
	}
}

// Letter notes that a letter was tried, and whether it was sent.
func (m *Metrics) Letter(sent bool) {
	outcome := "failed"
	if sent {
		outcome = "sent"
	}
	m.letterTries.WithLabelValues(outcome).Inc()
}

// counted is the layer that counts requests and what they were answered.
func (m *Metrics) counted(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		began := m.clock.Now()
		seen := &watched{ResponseWriter: w}
		defer func() {
			took := m.clock.Now().Sub(began)
			at := requestFrom(r.Context())
			m.requests.WithLabelValues(cmp.Or(at.operation, "none"), methodOf(r), classOf(seen.status)).Observe(took.Seconds())
			if at.kind != "" {
				m.problems.WithLabelValues(string(at.kind)).Inc()
			}
			if at.kind == models.Refused {
				m.refusals.WithLabelValues(at.code).Inc()
			}
		}()
		next.ServeHTTP(seen, r)
	})
}

// methods are those that are counted by name; a client may send any word.
var methods = []string{http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPatch, http.MethodPut, http.MethodDelete, http.MethodOptions}

func methodOf(r *http.Request) string {
	if slices.Contains(methods, r.Method) {
		return r.Method
	}
	return "other"
}

// classOf is the class of a status, as in 2xx; of an answer that was broken off,
// none.
func classOf(status int) string {
	if status == 0 {
		return "none"
	}
	return strconv.Itoa(status/100) + "xx"
}

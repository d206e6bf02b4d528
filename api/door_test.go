package api

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"withybed/models"
	"withybed/models/nursery"
)

var update = flag.Bool("update", false, "write the golden files anew")

// A bench of trays stands in for the nursery's routes: every kind of value,
// header and error passes through it.
type newTray struct {
	Code     string         `json:"code" minLength:"1" maxLength:"12" example:"T-1" doc:"Code"`
	FilledOn models.Date    `json:"filled_on" doc:"Day"`
	Cells    int            `json:"cells" minimum:"1" maximum:"10000000" example:"72" doc:"Cells"`
	Share    models.Decimal `json:"share,omitzero" minimum:"0" maximum:"1" doc:"Share"`
	Medium   string         `json:"medium,omitempty" enum:"sand,perlite" doc:"Medium"`
	Rows     []trayRow      `json:"rows,omitempty" doc:"Rows"`
}

type trayRow struct {
	Count int         `json:"count" doc:"Count"`
	Until models.Date `json:"until,omitzero" doc:"Last day"`
}

type trayEdit struct {
	Medium   models.Patch[string]         `json:"medium,omitzero" maxLength:"10" doc:"Medium"`
	FilledOn models.Patch[models.Date]    `json:"filled_on,omitzero" doc:"Day"`
	Share    models.Patch[models.Decimal] `json:"share,omitzero" doc:"Share"`
}

type tray struct {
	Code   string `json:"code" doc:"Code"`
	Cells  int    `json:"cells" doc:"Cells"`
	Medium string `json:"medium" doc:"Medium"`
	Said   string `json:"said" doc:"What was read"`
}

type trayInput struct {
	Keyed
	Body newTray
}

type trayEditInput struct {
	Guarded
	Tray string `path:"tray" maxLength:"12" doc:"Code"`
	Body trayEdit
}

type trayQuery struct {
	Tray  string      `path:"tray" doc:"Code"`
	On    models.Date `query:"on" doc:"Day"`
	Cells int         `query:"cells" minimum:"1" doc:"Cells"`
}

type trayOutput struct {
	Status int
	ETag   string `header:"ETag"`
	Body   tray
}

type trayListInput struct {
	After int `query:"after" minimum:"0" doc:"Where the page begins"`
}

type trayListOutput struct{ Body Page[tray] }

// trayErrors are what the route /v1/trays/{tray} says for some codes.
var trayErrors = map[string]error{
	"none":     &models.Error{Kind: models.NotFound, Code: "no-such-batch", Detail: "no batch is called none", Suggestions: []string{"nine", "noon"}},
	"full":     &models.Error{Kind: models.Refused, Code: "over-allowance", Detail: "24 stems are too many", Allowed: new(int), Binding: &models.Binding{Code: "stand", Detail: "42 of 42 stems are taken"}},
	"shut":     models.Errorf(models.Refused, "closed-season", "closed until 31 July"),
	"twice":    models.Errorf(models.Conflict, "taken", "the code is taken"),
	"nobody":   models.Errorf(models.Unknown, "unknown-taxon", "no taxon of that name"),
	"busy":     fmt.Errorf("write: %w", models.Errorf(models.Unavailable, "database-busy", "the database is busy")),
	"slow":     fmt.Errorf("read: %w", context.DeadlineExceeded),
	"leaving":  fmt.Errorf("read: %w", context.Canceled),
	"broken":   errors.New("password=hunter2 in the middle"),
	"longname": models.InvalidField("out-of-range", "note", strings.Repeat("é", 500), "has 500 characters, and may have 80"),
}

func mountTrays(s *Surface) {
	Route(s, open(huma.Operation{OperationID: "add-tray", Method: http.MethodPost, Path: "/v1/trays", DefaultStatus: http.StatusCreated}),
		func(_ context.Context, in *trayInput) (*trayOutput, error) {
			said := fmt.Sprintf("key %q on %v share %v rows %d", in.Key, in.Body.FilledOn, in.Body.Share, len(in.Body.Rows))
			return &trayOutput{Status: http.StatusCreated, ETag: ETag(1), Body: tray{in.Body.Code, in.Body.Cells, in.Body.Medium, said}}, nil
		})
	Route(s, open(huma.Operation{OperationID: "edit-tray", Method: http.MethodPatch, Path: "/v1/trays/{tray}"}),
		func(_ context.Context, in *trayEditInput) (*trayOutput, error) {
			version, err := in.Version()
			if err != nil {
				return nil, err
			}
			said := fmt.Sprintf("medium set %v null %v on %v", in.Body.Medium.IsSet(), in.Body.Medium.IsNull(), in.Body.FilledOn.Value)
			return &trayOutput{Status: http.StatusOK, ETag: ETag(version + 1), Body: tray{Code: in.Tray, Medium: in.Body.Medium.Or("sand"), Said: said}}, nil
		})
	Route(s, open(huma.Operation{OperationID: "show-tray", Method: http.MethodGet, Path: "/v1/trays/{tray}"}),
		func(ctx context.Context, in *trayQuery) (*trayOutput, error) {
			if err := trayErrors[in.Tray]; err != nil {
				return nil, err
			}
			switch in.Tray {
			case "panic":
				panic("a tray fell")
			case "wait":
				<-ctx.Done()
				return nil, ctx.Err()
			}
			return &trayOutput{Status: http.StatusOK, ETag: ETag(7), Body: tray{Code: in.Tray, Cells: in.Cells, Said: in.On.String()}}, nil
		})
	Route(s, open(huma.Operation{OperationID: "list-trays", Method: http.MethodGet, Path: "/v1/trays"}),
		func(_ context.Context, in *trayListInput) (*trayListOutput, error) {
			items := []tray{{Code: fmt.Sprint("T-", in.After+1)}, {Code: fmt.Sprint("T-", in.After+2)}}
			next := ""
			if in.After < 4 {
				next = fmt.Sprint("/v1/trays?after=", in.After+2)
			}
			return &trayListOutput{Body: NewPage(items, next)}, nil
		})
}

// door is a running door with the bench of trays.
type door struct {
	http   *http.Client
	log    *bytes.Buffer
	closer io.Closer
}

// logText closes the door, so that every request has been logged, and gives
// back what was.
func (d door) logText(t *testing.T) string {
	t.Helper()
	if err := d.closer.Close(); err != nil {
		t.Fatal(err)
	}
	return d.log.String()
}

func testDeps(log io.Writer) Deps {
	var n atomic.Int64
	return Deps{
		Log:     slog.New(slog.NewTextHandler(log, nil)),
		Clock:   models.FixedClock(time.Date(2026, 1, 17, 9, 0, 0, 0, time.UTC)),
		NewID:   func() string { return fmt.Sprint("id-", n.Add(1)) },
		Version: "test",
		Ready: func(context.Context) (nursery.Readiness, error) {
			return nursery.Readiness{Today: models.MustDate("2026-01-17"), TimeZone: "UTC"}, nil
		},
	}
}

func openDoor(t *testing.T, change func(*Deps)) door {
	t.Helper()
	log := &bytes.Buffer{}
	deps := testDeps(log)
	if change != nil {
		change(&deps)
	}
	client, closer := InProcess(New(deps, mountTrays))
	t.Cleanup(func() {
		if err := closer.Close(); err != nil {
			t.Error(err)
		}
	})
	return door{http: client, log: log, closer: closer}
}

// ask sends a request and gives back the status, the headers and the body.
func (d door) ask(t *testing.T, method, path, body string, headers ...string) (int, http.Header, string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, InProcessBase+path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	for i := 0; i < len(headers); i += 2 {
		if headers[i] == "Host" {
			r.Host = headers[i+1]
		}
		r.Header.Set(headers[i], headers[i+1])
	}
	answer, err := d.http.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer.StatusCode, answer.Header, string(text)
}

// answers are the golden bodies by name, kept in one file.
type answers struct {
	file string
	want map[string]json.RawMessage
}

func goldenAnswers(t *testing.T, name string) *answers {
	t.Helper()
	a := &answers{file: filepath.Join("testdata", name+".json"), want: map[string]json.RawMessage{}}
	text, err := os.ReadFile(a.file)
	if err == nil && !*update {
		err = json.Unmarshal(text, &a.want)
	}
	if err != nil && !*update {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if *update {
			a.write(t)
		}
	})
	return a
}

func (a *answers) write(t *testing.T) {
	var text bytes.Buffer
	enc := json.NewEncoder(&text)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(a.want); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(a.file, text.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

// hold compares a body with the golden one of that name.
func (a *answers) hold(t *testing.T, name, body string) {
	t.Helper()
	if *update {
		a.want[name] = json.RawMessage(body)
		return
	}
	var got, want bytes.Buffer
	if err := errors.Join(json.Indent(&got, []byte(body), "", "  "), json.Indent(&want, a.want[name], "", "  ")); err != nil {
		t.Fatalf("%s: %v: %s", name, err, body)
	}
	if strings.TrimSpace(got.String()) != strings.TrimSpace(want.String()) {
		t.Errorf("the answer is\n%s\nand should be\n%s", &got, &want)
	}
}

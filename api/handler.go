package api

import (
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"net/http"
	"net/netip"
	"strings"
	"sync"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humagin"
	"github.com/gin-gonic/gin"

	"withybed/models"
	"withybed/models/nursery"
)

// Deps are what the door is given from outside.
type Deps struct {
	Log      *slog.Logger  // where requests and faults are written
	Clock    models.Clock  // what time it is
	NewID    func() string // makes an id for a request that brings none
	Version  string        // version of the program
	Revision string        // of the source it was built from; empty if unknown
	Metrics  *Metrics      // where requests are counted; in a registry of its own if nil

	// Ready answers where the nursery's days stand, and an error unless the database
	// answers and has a schema that this program can work with.
	Ready func(context.Context) (nursery.Readiness, error)

	Hosts     []string       // names the server answers to before there are tokens; LoopbackHosts if empty
	Proxies   []netip.Prefix // whose word on where a request comes from is taken
	Rate      int            // requests a second that one token may make; 50 if 0
	BodyLimit int64          // longest body in bytes; 1 MiB if 0
	BodyTime  time.Duration  // longest wait for a body; 60 s if 0
	Time      time.Duration  // longest a request may take; 30 s if 0
}

func (d Deps) withDefaults() Deps {
	if len(d.Hosts) == 0 {
		d.Hosts = LoopbackHosts
	}
	if d.Rate == 0 {
		d.Rate = 50
	}
	if d.Metrics == nil {
		d.Metrics = NewMetrics(d.Clock, d.Version, d.Revision)
	}
	if d.BodyLimit == 0 {
		d.BodyLimit = 1 << 20
	}
	if d.BodyTime == 0 {
		d.BodyTime = time.Minute
	}
	if d.Time == 0 {
		d.Time = 30 * time.Second
	}
	return d
}

// New is the whole door: every route, with what surrounds it. Each mount puts
// routes on the surface.
func New(d Deps, mounts ...func(*Surface)) http.Handler {
	d = d.withDefaults()
	engine := newEngine()
	s := newSurface(engine, d)
	mountHealth(s, d)
	for _, mount := range mounts {
		mount(s)
	}
	mountProblems(engine)
	mountDocument(engine, s)
	mountDocs(engine)
	mountMetrics(engine, d.Metrics, d.Log)
	return layered(engine, identify(d.NewID), logged(d.Log, d.Clock), d.Metrics.counted, caught(d.Log), guarded(d.Proxies),
		unchained, sameOrigin, addressed, limited(d.Time), s.admitting, headAsGet)
}

// newEngine is gin without its own ideas of redirects and of how a missing page
// looks.
func newEngine() *gin.Engine {
	engine := gin.New()
	engine.RedirectTrailingSlash = false
	engine.RedirectFixedPath = false
	engine.HandleMethodNotAllowed = true
	// A slash escaped in a name is a part of the name, not the way to another page.
	engine.UseRawPath = true
	engine.NoRoute(func(c *gin.Context) {
		writeProblem(c.Writer, c.Request, models.Errorf(models.NotFound, "no-such-page",
			"there is nothing at %s: /v1/openapi.json lists the routes there are", cut(c.Request.URL.Path)))
	})
	engine.NoMethod(func(c *gin.Context) {
		writeProblem(c.Writer, c.Request, models.Errorf(models.NotFound, "method-not-allowed",
			"%s is not possible at %s: use %s", cut(c.Request.Method), cut(c.Request.URL.Path), c.Writer.Header().Get("Allow")))
	})
	return engine
}

func newSurface(engine *gin.Engine, d Deps) *Surface {
	registry := huma.NewMapRegistry("#/components/schemas/", huma.DefaultSchemaNamer)
	describeModels(registry)
	config := huma.Config{
		OpenAPI: &huma.OpenAPI{
			OpenAPI: "3.1.0",
			Info: &huma.Info{Title: "Withybed", Version: d.Version, Description: strings.TrimSpace(about),
				License: &huma.License{Name: "Apache-2.0", Identifier: "Apache-2.0"}},
			Components: &huma.Components{Schemas: registry, SecuritySchemes: schemes},
		},
		Formats:                      map[string]huma.Format{jsonType: strictJSON, problemType: strictJSON},
		DefaultFormat:                jsonType,
		RejectUnknownQueryParameters: true,
	}
	s := &Surface{api: humagin.New(engine, config), deps: d}
	s.api.UseMiddleware(noteOperation, s.allowed, s.negotiate)
	return s
}

const about = `
Keeps wild stands within what they can spare, and follows each batch of
cuttings from the cut to the pot. Everything but a success is answered with a
problem document (RFC 9457); its type leads to an explanation. A POST may carry
an Idempotency-Key, and a PATCH carries the ETag of what it edits as If-Match.
`

// mountDocument serves the description of all routes. It is written when it is first
// asked for: a command of the command line that works without a server never does.
func mountDocument(engine *gin.Engine, s *Surface) {
	document := sync.OnceValue(func() []byte {
		text, err := json.Marshal(s.api.OpenAPI())
		if err != nil {
			panic(fmt.Errorf("write the OpenAPI document: %w", err)) // a fault in a route's own description
		}
		return text
	})
	engine.GET("/v1/openapi.json", called("openapi"), func(c *gin.Context) {
		c.Data(http.StatusOK, "application/vnd.oai.openapi+json;version=3.1", document())
	})
}

package api

import (
	"html/template"
	"net/http"

	"github.com/gin-gonic/gin"
	"github.com/swaggest/swgui/v5emb"
)

// docsPolicy lets the page of the API run the scripts of this server and ask this
// server, and nothing and nobody else. Its pictures are in its style sheet.
const docsPolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; " +
	"base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// docsAssets are the files of the page that the program brings along, by their
// names in the library.
var docsAssets = []string{"swagger-ui.css", "swagger-ui-bundle.js", "favicon-16x16.png", "favicon-32x32.png"}

// mountDocs puts up the page on which the routes can be read and tried. All of it
// is within the program, so that it works where there is no network.
func mountDocs(engine *gin.Engine) {
	engine.GET("/", called("docs"), func(c *gin.Context) { c.Redirect(http.StatusSeeOther, "/docs") })
	engine.GET("/docs", called("docs"), showDocs)
	files := v5emb.New("Withybed", "/v1/openapi.json", "/docs")
	for _, name := range docsAssets {
		engine.GET("/docs/"+name, called("docs"), func(c *gin.Context) {
			c.Header("Cache-Control", "no-cache") // kept, and asked for again by its ETag
			files.ServeHTTP(c.Writer, c.Request)
		})
	}
	engine.GET("/docs/start.js", called("docs"), func(c *gin.Context) {
		c.Data(http.StatusOK, "text/javascript; charset=utf-8", []byte(docsStart))
	})
}

func showDocs(c *gin.Context) {
	const html, text = "text/html", "text/plain"
	kind := prefer(c.GetHeader("Accept"), html, text)
	if kind == "" {
		writeProblem(c.Writer, c.Request, shapeError(http.StatusNotAcceptable, "", nil))
		return
	}
	c.Header("Vary", "Accept")
	if kind == text {
		c.String(http.StatusOK, "%s\n%s\n", docsWords, docsNext)
		return
	}
	c.Header("Content-Type", "text/html; charset=utf-8")
	c.Header("Content-Security-Policy", docsPolicy)
	c.Status(http.StatusOK)
	_ = docsPage.Execute(c.Writer, docsWords) // fails only when the reader has gone
}

const (
	docsWords = "The routes of this server are described in /v1/openapi.json (OpenAPI 3.1), and what can go wrong in /problems."
	docsNext  = "Read this page in a browser to look through them and try them."
)

var docsPage = template.Must(template.New("docs").Parse(`<!doctype html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>The routes · Withybed</title>
<link rel="icon" type="image/png" href="/docs/favicon-32x32.png" sizes="32x32">
<link rel="icon" type="image/png" href="/docs/favicon-16x16.png" sizes="16x16">
<link rel="stylesheet" href="/docs/swagger-ui.css">
<script src="/docs/swagger-ui-bundle.js" defer></script>
<script src="/docs/start.js" defer></script>
<main id="routes"><noscript><p>{{.}}</p></noscript></main>
<footer><p><a href="/v1/openapi.json">/v1/openapi.json</a> · <a href="/problems">/problems</a></p></footer>
</html>
`))

// docsStart shows the document. A token given on the page is kept as long as it is
// open and no longer, and nothing is sent anywhere else to be looked over.
const docsStart = `SwaggerUIBundle({
  url: "/v1/openapi.json",
  dom_id: "#routes",
  deepLinking: true,
  docExpansion: "list",
  defaultModelsExpandDepth: -1,
  persistAuthorization: false,
  queryConfigEnabled: false,
  validatorUrl: null
});
`

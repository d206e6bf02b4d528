package api

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"maps"
	"net/http"
	"slices"

	"github.com/gin-gonic/gin"

	"withybed/models"
)

// explained is an entry of the catalogue as the pages show it.
type explained struct {
	Code    string `json:"code"`
	Title   string `json:"title"`
	Status  int    `json:"status"`
	Meaning string `json:"meaning"`
	Next    string `json:"next"`
}

func explain(code string) explained {
	e := Catalogue[code]
	return explained{Code: code, Title: e.Title, Status: e.HTTPStatus(), Meaning: e.Meaning, Next: e.Next}
}

// mountProblems puts up the pages that explain problems in words, as HTML, JSON
// or plain text, whichever is asked for.
func mountProblems(engine *gin.Engine) {
	engine.GET("/problems", called("problems"), func(c *gin.Context) {
		all := make([]explained, 0, len(Catalogue))
		for _, code := range slices.Sorted(maps.Keys(Catalogue)) {
			all = append(all, explain(code))
		}
		show(c, "What can go wrong", all)
	})
	engine.GET("/problems/:code", called("problems"), func(c *gin.Context) {
		code := c.Param("code")
		if _, ok := Catalogue[code]; !ok {
			writeProblem(c.Writer, c.Request, models.Errorf(models.NotFound, "no-such-problem", "no problem has the code %q: see /problems for all", cut(code)))
			return
		}
		show(c, Catalogue[code].Title, []explained{explain(code)})
	})
}

func show(c *gin.Context, title string, problems []explained) {
	const html, text = "text/html", "text/plain"
	kind := prefer(c.GetHeader("Accept"), html, jsonType, text)
	if kind == "" {
		writeProblem(c.Writer, c.Request, shapeError(http.StatusNotAcceptable, "", nil))
		return
	}
	c.Header("Content-Type", kind+"; charset=utf-8")
	c.Header("Vary", "Accept")
	c.Status(http.StatusOK)
	// Writing fails only when the reader has gone.
	switch kind {
	case jsonType:
		_ = json.NewEncoder(c.Writer).Encode(map[string]any{"problems": problems})
	case text:
		writeText(c.Writer, problems)
	default:
		c.Header("Content-Security-Policy", contentPolicy(pageStyleHash))
		_ = problemPage.Execute(c.Writer, map[string]any{"Title": title, "Problems": problems, "Style": template.CSS(pageStyle)})
	}
}

func writeText(w io.Writer, problems []explained) {
	for _, p := range problems {
		fmt.Fprintf(w, "%s (%d): %s\n  %s\n  %s\n\n", p.Code, p.Status, p.Title, p.Meaning, p.Next)
	}
}

const pageStyle = `body{max-width:44rem;margin:2rem auto;padding:0 1rem;font:1rem/1.5 system-ui,sans-serif;color:#1d2a1f;background:#fbfbf7}` +
	`h1{font-size:1.5rem}h2{font-size:1.1rem;margin:2rem 0 0}code{background:#e8ede4;padding:.1em .3em}p{margin:.4rem 0}`

// pageStyleHash lets a browser apply this one style and no other.
var pageStyleHash = func() string {
	sum := sha256.Sum256([]byte(pageStyle))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}()

var problemPage = template.Must(template.New("problems").Parse(`<!doctype html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{{.Title}} · Withybed</title>
<style>{{.Style}}</style>
<h1>{{.Title}}</h1>
{{range .Problems}}<h2 id="{{.Code}}">{{.Title}}</h2>
<p><code>{{.Code}}</code> · status {{.Status}}</p>
<p>{{.Meaning}}</p>
<p>{{.Next}}</p>
{{end}}</html>
`))

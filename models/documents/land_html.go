package documents

import (
	"bytes"
	"fmt"
	"html/template"
	"strings"

	"withybed/models"
)

// landHTML is the page with everything in it escaped, to be read on a telephone, on a
// dark screen and on paper. It has no scripts and fetches nothing; but for the pictures,
// which are drawn in grey too, no style names a colour.
var landHTML = template.Must(template.New("land").Funcs(template.FuncMap{"picture": courseInline}).Parse(`<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>{{.Title}}</title>
<style>
body { margin: 0; padding: 1em; font-family: sans-serif; font-size: 1em; line-height: 1.5 }
main { max-width: 50em; margin: 0 auto; overflow-wrap: break-word }
h1 { font-size: 1.3em; margin: 0 0 0.5em }
h2 { font-size: 1.1em; margin: 1.6em 0 0.3em; border-top: 1px solid; padding-top: 0.6em }
p, ul { margin: 0 0 0.5em }
ul { padding-left: 1.2em }
dt { font-weight: bold }
dd { margin: 0 0 0.4em }
.wide { overflow-x: auto }
table { border-collapse: collapse; margin: 0.5em 0 }
th, td { text-align: left; vertical-align: top; padding: 0.15em 0.6em 0.15em 0; border-bottom: 1px solid; overflow-wrap: normal }
.n { text-align: right }
svg { max-width: 100%; height: auto }
@media (min-width: 40em) { dl { display: grid; grid-template-columns: 11em auto } }
@media print { body { padding: 0 } h2, tr, figure, svg { break-inside: avoid } h2 { break-after: avoid } .wide { overflow: visible } }
</style>
</head>
<body>
<main>
<h1>{{.Title}}</h1>
{{- range .Lead}}
<p>{{.}}</p>
{{- end}}
{{- range .Parts}}
<section>
<h2>{{.Heading}}</h2>
{{- with .Over}}
<p><strong>{{.}}</strong></p>
{{- end}}
<dl>
{{- range .Facts}}
<dt>{{.Name}}</dt>
<dd>{{.Text}}</dd>
{{- end}}
</dl>
<ul>
{{- range .Beyond}}
<li>{{.}}</li>
{{- end}}
</ul>
{{- if .Cuts}}
<div class="wide">
<table>
<thead><tr><th>Day</th><th class="n">Stems</th><th>What</th><th>Batch</th><th>Who</th><th>Permit</th><th>Note</th></tr></thead>
<tbody>
{{- range .Cuts}}
<tr><td>{{.Day}}</td><td class="n">{{.Stems}}</td><td>{{.What}}</td><td>{{.Batch}}</td><td>{{.Who}}</td><td>{{.Permit}}</td><td>{{.Note}}</td></tr>
{{- end}}
</tbody>
</table>
</div>
{{- else}}
<p>` + nothingCut + `</p>
{{- end}}
<figure style="margin:0.5em 0">{{picture .Course}}</figure>
</section>
{{- end}}
{{- range .Foot}}
<p style="margin-top:1.2em">{{.}}</p>
{{- end}}
</main>
</body>
</html>
`))

// LandHTML is the page of a land manager as HTML, whole in itself.
func LandHTML(l *models.Land) ([]byte, error) {
	page := pageOfLand(l)
	var out bytes.Buffer
	if err := landHTML.Execute(&out, &page); err != nil {
		return nil, fmt.Errorf("write the page: %w", err)
	}
	return []byte(Printable(out.String())), nil
}

// courseInline is the picture of a course as part of a page, with a name for those who
// do not see it.
func courseInline(c models.Course) (template.HTML, error) {
	svg, err := CoursePicture(c, SVG)
	if err != nil {
		return "", err
	}
	_, drawn, found := strings.Cut(string(svg), "<svg ")
	if !found {
		return "", fmt.Errorf("the picture of %s is no SVG", c.Stand)
	}
	name := template.HTMLEscapeString(fmt.Sprintf("Stems taken at %s in the window that ends on a day, against the limit, from %s to %s; the table above has the same cuts", c.Stand, c.From, c.To))
	drawn = strings.ReplaceAll(drawn, "\t", " ")
	return template.HTML(`<svg role="img" aria-label="` + name + `" ` + drawn), nil //nolint:gosec // drawn here, its texts escaped
}

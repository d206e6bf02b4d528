package documents

import (
	"html/template"
	"slices"
	"strings"
	"unicode"

	"withybed/models"
)

// Message is what a letter says: its subject in one line, and the rest twice, as
// plain text of 72 columns and as HTML.
type Message struct {
	Subject string
	Text    string
	HTML    string
}

// letter is a letter before it is written out.
type letter struct {
	Nursery string
	About   string // what its subject says after the name of the nursery
	Lead    []string
	Parts   []part
	Care    [][]string
	Foot    string // who gets it, and why
}

// SubjectLength is how long a subject is at most, in characters.
const SubjectLength = 200

// program begins every subject, so that a rule of a mailbox can tell them.
const program = "Withybed"

func (l *letter) message() Message {
	subject := program + ": " + l.About
	if l.Nursery != "" {
		subject = program + ", " + l.Nursery + ": " + l.About
	}
	return Message{subjectLine(subject), Printable(l.text()), Printable(l.html())}
}

func (l *letter) text() string {
	p := newPage(usualWidth)
	p.write(0, l.Title())
	for _, line := range l.Lead {
		p.write(0, line)
	}
	p.parts(l.Parts)
	p.paragraphs(l.Care)
	if l.Foot != "" {
		p.paragraphs([][]string{{l.Foot}})
	}
	return p.String()
}

// Title heads the letter.
func (l *letter) Title() string {
	if l.Nursery == "" {
		return program
	}
	return l.Nursery
}

// letterPage is a letter as HTML, with everything in it escaped. No style names a
// colour, so that it reads as well in grey and on a dark screen, and nothing is
// fetched from elsewhere.
var letterPage = template.Must(template.New("letter").Parse(`<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>{{.Title}}: {{.About}}</title>
</head>
<body style="margin:0;padding:1em;font-family:sans-serif;font-size:1em;line-height:1.5">
<div role="main" style="max-width:40em;margin:0 auto;overflow-wrap:break-word">
<h1 style="font-size:1.3em;margin:0 0 0.5em">{{.Title}}</h1>
{{- range .Lead}}
<p style="margin:0 0 0.5em">{{.}}</p>
{{- end}}
{{- range .Parts}}
<h2 style="font-size:1.1em;margin:1.2em 0 0.3em">{{.Heading}}</h2>
{{- range .Groups}}
{{- with .Place}}
<h3 style="font-size:1em;margin:0.8em 0 0.2em">{{.}}</h3>
{{- end}}
<ul style="margin:0;padding-left:1.2em">
{{- range .Entries}}
<li style="margin:0 0 0.6em"><strong>{{.What}}</strong><br>{{.Why}}</li>
{{- end}}
</ul>
{{- end}}
{{- end}}
{{- range .Care}}
<p style="margin:1.2em 0 0">{{range .}}{{.}} {{end}}</p>
{{- end}}
{{- with .Foot}}
<p style="margin:1.2em 0 0;font-size:0.9em">{{.}}</p>
{{- end}}
</div>
</body>
</html>
`))

func (l *letter) html() string {
	var text strings.Builder
	_ = letterPage.Execute(&text, l) // a builder takes everything, and the template only reads fields
	return text.String()
}

// subjectLine is a text as it may stand in the subject of a letter.
func subjectLine(text string) string {
	// Mail programs would decode what looks like an encoded word (RFC 2047).
	return OneLine(strings.ReplaceAll(text, "=?", "= ?"), SubjectLength)
}

// OneLine is a text on one line of at most so many characters, without control
// characters and without marks that turn the direction of writing: what breaks a
// line becomes a space.
func OneLine(text string, most int) string {
	text = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsControl(r):
			return ' '
		case unicode.Is(unicode.Bidi_Control, r):
			return -1
		}
		return r
	}, strings.ToValidUTF8(text, "\uFFFD"))
	runes := []rune(strings.Join(strings.Fields(text), " "))
	if len(runes) > most {
		runes = append(runes[:most-1], '…')
	}
	return string(runes)
}

// Printable is a text without control characters but line ends, and without marks
// that turn the direction of writing: both could change what a terminal or a mail
// program shows.
func Printable(text string) string {
	return strings.Map(func(r rune) rune {
		if r != '\n' && (unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r)) {
			return '\uFFFD'
		}
		return r
	}, strings.ToValidUTF8(text, "\uFFFD"))
}

// footWords says to whom a letter goes.
func footWords(lists []models.MailList) string {
	var words []string
	for _, list := range models.MailLists {
		if slices.Contains(lists, list) {
			words = append(words, string(list))
		}
	}
	return "This goes to those who get " + strings.Join(words, " and ") +
		" mail on the nursery's list of people. Ask a coordinator to change what you get."
}

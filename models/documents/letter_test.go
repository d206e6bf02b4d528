package documents_test

import (
	"encoding/xml"
	"errors"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/documents"
)

const valley = "Wrenlow Valley Native Plants"

func wantMessage(t *testing.T, name string, m documents.Message) {
	t.Helper()
	wantGolden(t, "letter-"+name+".txt", m.Subject+"\n\n"+m.Text)
	wantGolden(t, "letter-"+name+".html", m.HTML)
}

func TestReminderLetters(t *testing.T) {
	for name, lists := range map[string][]models.MailList{
		"bench": {models.BenchMail}, "stands": {models.StandMail}, "both": {models.StandMail, models.BenchMail},
	} {
		t.Run(name, func(t *testing.T) {
			wantMessage(t, name, documents.ReminderLetter(valley, fullReminder(), lists))
		})
	}
}

func soaking() models.DueItem { return fullReminder().Body.Due[0] }

func TestAlertLetters(t *testing.T) {
	body := fullReminder().Body
	over := body.Stands[:1]
	for name, m := range map[string]documents.Message{
		"review":      documents.ReviewLetter(valley, body.Review, nil),
		"review-over": documents.ReviewLetter(valley, body.Review, over),
		"exceeded":    documents.ExceededLetter(valley, over[0]),
		"soak":        documents.SoakLetter(valley, soaking(), day("2026-02-07")),
		"test":        documents.TestLetter(),
	} {
		t.Run(name, func(t *testing.T) { wantMessage(t, name, m) })
	}
}

func TestWhomAReminderTells(t *testing.T) {
	full := fullReminder().Body
	bench := models.Notices{Coming: full.Coming}
	stands := models.Notices{Expiring: full.Expiring}
	for _, c := range []struct {
		body models.Notices
		want []models.MailList
	}{
		{full, models.MailLists},
		{bench, []models.MailList{models.BenchMail}},
		{stands, []models.MailList{models.StandMail}},
		{models.Notices{Permits: full.Permits}, []models.MailList{models.StandMail}},
		{models.Notices{}, nil},
	} {
		if got := documents.ReminderLists(&c.body); !slices.Equal(got, c.want) {
			t.Errorf("%+v tells %q, want %q", c.body, got, c.want)
		}
	}
}

func TestSubjects(t *testing.T) {
	full := fullReminder()
	quiet := full
	quiet.Body = models.Notices{Coming: full.Body.Coming}
	expiring := full
	expiring.Body = models.Notices{Expiring: full.Body.Expiring}
	for _, c := range []struct {
		m    documents.Message
		want string
	}{
		{documents.ReminderLetter(valley, full, models.MailLists), "1 batch to review, 4 to pot up, 1 to take out of the soak, 1 to check, 2 stands near a limit, 1 survey running out, 2 permits ending"},
		{documents.ReminderLetter(valley, full, models.MailLists[:1]), "4 batches to pot up, 1 to take out of the soak, 1 to check"},
		{documents.ReminderLetter(valley, quiet, models.MailLists), "1 batch due before the next reminder"},
		{documents.ReminderLetter(valley, expiring, models.MailLists), "1 survey running out"},
	} {
		if want := "Withybed, " + valley + ": " + c.want; c.m.Subject != want {
			t.Errorf("%q, want %q", c.m.Subject, want)
		}
	}
}

// What people typed cannot become markup, nor bring anything from elsewhere.
func TestLettersEscapeWhatWasTyped(t *testing.T) {
	const nasty = `<script>alert(1)</script><img src="http://elsewhere.example/x.png" onerror=alert(1)>&"'`
	r := fullReminder()
	r.Body.PotUp[0].Bench, r.Body.PotUp[0].Taxon = nasty, nasty
	r.Body.Stands[0].Name, r.Body.Review[0].Text, r.Body.Coming[0].Reason = nasty, nasty, nasty
	for _, m := range []documents.Message{
		documents.ReminderLetter(nasty, r, models.MailLists),
		documents.ReviewLetter(nasty, r.Body.Review, r.Body.Stands),
		documents.SoakLetter(nasty, r.Body.PotUp[0], day("2026-02-07")),
	} {
		for _, bad := range []string{"<script", "<img", "src=", "href=", "url("} {
			if strings.Contains(strings.ReplaceAll(m.HTML, "src=&#34;", ""), bad) { // one within a text
				t.Errorf("the HTML holds %q:\n%s", bad, m.HTML)
			}
		}
		if !strings.Contains(m.HTML, "&lt;script&gt;alert(1)&lt;/script&gt;") || !strings.Contains(m.Text, "<script>alert(1)</script>") {
			t.Error("what was typed is not told")
		}
		wellFormed(t, m.HTML)
	}
}

var void = regexp.MustCompile(`<(meta|br)[^>]*>`)

// wellFormed wants every element closed in its place.
func wellFormed(t *testing.T, html string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(void.ReplaceAllString(html, "")))
	d.Entity = xml.HTMLEntity
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return
		} else if err != nil {
			t.Fatalf("%v in\n%s", err, html)
		}
	}
}

// FuzzSubject feeds names of a nursery and codes of a stand into a letter. Its
// subject stays one line that no header can be hidden in.
func FuzzSubject(f *testing.F) {
	for _, name := range []string{
		valley, "", "Wrenlow\r\nBcc: all@elsewhere.example", "a\x00b\u2028c\u2029d\u0085e", "=?utf-8?q?=0D=0ABcc:_x?=",
		"\u202egnp.exe", "\xff\xfe", strings.Repeat("Väl ", 300), "\r", "\n \n",
	} {
		f.Add(name, "MB-03")
		f.Add(valley, name)
	}
	f.Fuzz(func(t *testing.T, name, code string) {
		m := documents.ExceededLetter(name, models.StandNotice{Stand: code, Name: name, Text: code})
		if !utf8.ValidString(m.Subject) || utf8.RuneCountInString(m.Subject) > documents.SubjectLength {
			t.Fatalf("the subject is %q", m.Subject)
		}
		for _, r := range m.Subject {
			if unicode.IsControl(r) || r == '\u2028' || r == '\u2029' || unicode.Is(unicode.Bidi_Control, r) {
				t.Fatalf("the subject %q holds %q", m.Subject, r)
			}
		}
		if strings.Contains(m.Subject, "=?") || !strings.HasPrefix(m.Subject, "Withybed") {
			t.Fatalf("the subject is %q", m.Subject)
		}
		for _, text := range []string{m.Text, m.HTML} {
			if !utf8.ValidString(text) || strings.ContainsFunc(text, func(r rune) bool { return r != '\n' && unicode.IsControl(r) }) {
				t.Fatalf("%q", text)
			}
		}
	})
}

// Whatever stands in a reminder stands in the letter to both lists, in both forms;
// the letters of the two lists share it out between them.
func TestLettersLoseNothing(t *testing.T) {
	word := rapid.StringMatching(`[a-z0-9]{1,20}`)
	rapid.Check(t, func(t *rapid.T) {
		r := fullReminder()
		r.Body.Due[0].Reason, r.Body.Review[0].Text, r.Body.Coming[0].Batch = word.Draw(t, "reason"), word.Draw(t, "text"), word.Draw(t, "batch")
		bench := documents.ReminderLetter(valley, r, models.MailLists[:1])
		stands := documents.ReminderLetter(valley, r, models.MailLists[1:])
		both := documents.ReminderLetter(valley, r, models.MailLists)
		for _, part := range []struct {
			says string
			of   documents.Message
		}{
			{r.Body.Due[0].Reason, bench}, {r.Body.Coming[0].Batch, bench}, {r.Body.PotUp[0].Batch, bench},
			{r.Body.Review[0].Text, stands}, {r.Body.Stands[1].Stand, stands}, {r.Body.Expiring[0].Stand, stands},
			{r.Body.Permits[0].Permit, stands},
		} {
			for _, m := range []documents.Message{part.of, both} {
				if !strings.Contains(m.Text, part.says) || !strings.Contains(m.HTML, part.says) {
					t.Fatalf("the letter lacks %q:\n%s", part.says, m.Text)
				}
			}
		}
		if strings.Contains(bench.Text, "near a limit") || strings.Contains(stands.Text, "Pot up") {
			t.Fatal("a letter tells what the other list is told")
		}
	})
}

func TestPrintableHidesWhatTurnsATextRound(t *testing.T) {
	for text, want := range map[string]string{
		"a\x1b[31mb\nc": "a\uFFFD[31mb\nc", "a\u202eb": "a\uFFFDb", "a\u2066b\u2069": "a\uFFFDb\uFFFD", "naïve ‑ 24 h": "naïve ‑ 24 h",
	} {
		if got := documents.Printable(text); got != want {
			t.Errorf("%q is printed as %q, want %q", text, got, want)
		}
	}
}

package api

import (
	"encoding/json"
	"regexp"
	"strings"
	"testing"
)

func TestProblemsInEveryForm(t *testing.T) {
	d := openDoor(t, nil)
	_, header, html := d.ask(t, "GET", "/problems", "", "Accept", "text/html,*/*;q=0.8")
	if !strings.HasPrefix(header.Get("Content-Type"), "text/html") || !strings.Contains(header.Get("Content-Security-Policy"), pageStyleHash) {
		t.Errorf("headers %v", header)
	}
	if regexp.MustCompile(`(?i)https?://|<script|<link|<img|url\(`).MatchString(html) {
		t.Error("the page fetches something")
	}
	for code := range Catalogue {
		if !strings.Contains(html, `id="`+code+`"`) {
			t.Errorf("%s is not on the page", code)
		}
		status, _, text := d.ask(t, "GET", "/problems/"+code, "", "Accept", "text/plain")
		if status != 200 || !strings.Contains(text, Catalogue[code].Next) {
			t.Errorf("%s: %d %s", code, status, text)
		}
	}
	_, header, text := d.ask(t, "GET", "/problems", "", "Accept", "application/json")
	var all struct{ Problems []explained }
	if err := json.Unmarshal([]byte(text), &all); err != nil || len(all.Problems) != len(Catalogue) {
		t.Errorf("%v: %d problems as %s", err, len(all.Problems), header.Get("Content-Type"))
	}
	if status, _, _ := d.ask(t, "GET", "/problems", "", "Accept", "image/png"); status != 406 {
		t.Errorf("as a picture: %d", status)
	}
}

func TestEveryProblemLeadsToItsPage(t *testing.T) {
	d := openDoor(t, nil)
	for name := range trayErrors {
		_, _, body := d.ask(t, "GET", "/v1/trays/"+name, "")
		var p Problem
		if err := json.Unmarshal([]byte(body), &p); err != nil {
			t.Fatal(err)
		}
		if status, _, _ := d.ask(t, "GET", p.Type, ""); status != 200 {
			t.Errorf("%s leads nowhere: %d", p.Type, status)
		}
	}
}

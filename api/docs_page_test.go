package api

import (
	"regexp"
	"strings"
	"testing"
)

// Everything the page of the API needs comes from this server, and the policy lets
// it come from nowhere else.
func TestTheDocsNeedNoNetwork(t *testing.T) {
	d := openDoor(t, nil)
	status, header, page := d.ask(t, "GET", "/docs", "", "Accept", "text/html,*/*;q=0.8")
	if status != 200 || !strings.HasPrefix(header.Get("Content-Type"), "text/html") || header.Get("Content-Security-Policy") != docsPolicy {
		t.Errorf("%d %v", status, header)
	}
	if strings.Contains(docsPolicy, "unsafe") || regexp.MustCompile(`[a-z]+://|\*`).MatchString(docsPolicy) {
		t.Errorf("the policy is loose: %s", docsPolicy)
	}
	if regexp.MustCompile(`(?i)(src|href)="(https?:)?//|<script>|<style|\son[a-z]+=`).MatchString(page) {
		t.Errorf("the page needs another host, or what its policy forbids: %s", page)
	}
	places := regexp.MustCompile(`(?:src|href)="([^"]+)"`).FindAllStringSubmatch(page, -1)
	if len(places) < 6 {
		t.Fatalf("the page names %d places", len(places))
	}
	for _, place := range places {
		if status, _, body := d.ask(t, "GET", place[1], "", "Accept", "*/*"); status != 200 || body == "" {
			t.Errorf("%s: %d, %d bytes", place[1], status, len(body))
		}
	}
	for _, said := range []string{"<noscript>", `href="/problems"`, `href="/v1/openapi.json"`} {
		if !strings.Contains(page, said) {
			t.Errorf("the page lacks %s", said)
		}
	}
}

func TestTheDocsFilesAreWhatTheySay(t *testing.T) {
	d := openDoor(t, nil)
	for name, kind := range map[string]string{
		"swagger-ui-bundle.js": "/javascript", "start.js": "/javascript", "swagger-ui.css": "text/css", "favicon-32x32.png": "image/png",
	} {
		status, header, _ := d.ask(t, "GET", "/docs/"+name, "")
		if status != 200 || !strings.Contains(header.Get("Content-Type"), kind) {
			t.Errorf("%s: %d as %s", name, status, header.Get("Content-Type"))
		}
	}
	_, header, _ := d.ask(t, "GET", "/docs/swagger-ui-bundle.js", "")
	etag := header.Get("ETag")
	if status, _, body := d.ask(t, "GET", "/docs/swagger-ui-bundle.js", "", "If-None-Match", etag); etag == "" || status != 304 || body != "" {
		t.Errorf("asked for again by %q: %d, %d bytes", etag, status, len(body))
	}
	for _, name := range []string{"embed.go", "oauth2-redirect.html", "none.js", ""} {
		if status, _, _ := d.ask(t, "GET", "/docs/"+name, ""); status != 404 {
			t.Errorf("%q is answered with %d", name, status)
		}
	}
	_, header, text := d.ask(t, "GET", "/docs", "", "Accept", "text/plain")
	if !strings.HasPrefix(header.Get("Content-Type"), "text/plain") || !strings.Contains(text, "/v1/openapi.json") || !strings.Contains(text, "/problems") {
		t.Errorf("as text: %s", text)
	}
	if status, _, _ := d.ask(t, "GET", "/docs", "", "Accept", "image/png"); status != 406 {
		t.Errorf("as a picture: %d", status)
	}
}

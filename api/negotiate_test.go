package api

import "testing"

func TestPrefer(t *testing.T) {
	const html, text = "text/html", "text/plain"
	for _, c := range []struct{ accept, want string }{
		{"", html},
		{"*/*", html},
		{"application/json", jsonType},
		{"text/*", html},
		{"text/plain", text},
		{"text/html;q=0.1, text/plain;q=0.9, */*;q=0.2", text},
		{"text/*;q=0.3, text/html;q=0, */*;q=0.1", text},
		{"TEXT/HTML", html},
		{"image/png", ""},
		{"application/json;q=0", ""},
		{"nonsense, application/json", jsonType},
		{"text/html;q=x", html},
	} {
		if got := prefer(c.accept, html, jsonType, text); got != c.want {
			t.Errorf("%q: %q, want %q", c.accept, got, c.want)
		}
	}
}

func FuzzPrefer(f *testing.F) {
	f.Add("text/html;q=0.1, */*")
	f.Add(",;,q=;")
	f.Fuzz(func(t *testing.T, accept string) {
		if got := prefer(accept, jsonType); got != "" && got != jsonType {
			t.Fatalf("%q gave %q, which was not offered", accept, got)
		}
	})
}

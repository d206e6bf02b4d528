package api

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"
)

// Requests that are none, or that two servers in a row would read in two ways,
// are refused; nobody gets a second request past the first.
func TestHostileFraming(t *testing.T) {
	besieged(t, outside, nil, Waits{}, func(f *fort) {
		hidden := "POST /v1/taxa HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: 37\r\n" + f.authorization() + "\r\n" + `{"scientific_name":"Physocarpus x x"}`
		post := func(lines, body string) string {
			return "POST /v1/taxa HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n" + f.authorization() + lines + "\r\n" + body
		}
		get := func(line string) string { return line + "\r\nHost: localhost\r\n" + f.authorization() + "\r\n" }
		for what, c := range map[string]struct {
			bytes string
			want  []int
		}{
			"no HTTP":                    {"hello\r\n\r\n", []int{400}},
			"TLS":                        {"\x16\x03\x01\x00\xa5\x01\x00\x00\xa1\x03\x03\r\n\r\n", []int{400}},
			"HTTP/2 at once":             {"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n", []int{map[bool]int{true: 401, false: 403}[f.token != ""]}},
			"HTTP/0.9":                   {"GET /healthz\r\n\r\n", []int{400}},
			"HTTP/3.7":                   {get("GET /healthz HTTP/3.7"), []int{505}},
			"NULs":                       {strings.Repeat("\x00", 4000) + "\r\n\r\n", []int{400}},
			"a method of signs":          {get("G(T /healthz HTTP/1.1"), []int{400}},
			"no host":                    {"GET /healthz HTTP/1.1\r\n\r\n", []int{400}},
			"two hosts":                  {get("GET /healthz HTTP/1.1\r\nHost: elsewhere.example"), []int{400}},
			"a host of signs":            {"GET /healthz HTTP/1.1\r\nHost: a b<>\r\n\r\n", []int{400}},
			"a header without a name":    {get("GET /healthz HTTP/1.1\r\n: x"), []int{400}},
			"a blank before the colon":   {post("Content-Length : 5\r\n", "{}   "+hidden), []int{400}},
			"a folded header":            {get("GET /healthz HTTP/1.1\r\n folded: x"), []int{400}},
			"a bare CR in a header":      {get("GET /healthz HTTP/1.1\r\nX-A: a\rb"), []int{400}},
			"a NUL in a header":          {get("GET /healthz HTTP/1.1\r\nX-A: a\x00b"), []int{400}},
			"length and chunks":          {post("Content-Length: 5\r\nTransfer-Encoding: chunked\r\n", "0\r\n\r\n"+hidden), []int{400}},
			"chunks and length":          {post("Transfer-Encoding: chunked\r\nContent-Length: 400\r\n", "0\r\n\r\n"+hidden), []int{400}},
			"two lengths":                {post("Content-Length: 2\r\nContent-Length: 200\r\n", "{}"+hidden), []int{400}},
			"two lengths in one":         {post("Content-Length: 2, 200\r\n", "{}"+hidden), []int{400}},
			"a length below 0":           {post("Content-Length: -1\r\n", "{}"+hidden), []int{400}},
			"a length with a sign":       {post("Content-Length: +2\r\n", "{}"+hidden), []int{400}},
			"a length beyond numbers":    {post("Content-Length: 99999999999999999999\r\n", "{}"), []int{400}},
			"chunks written otherwise":   {post("Transfer-Encoding: xchunked\r\n", "0\r\n\r\n"+hidden), []int{501}},
			"chunks twice":               {post("Transfer-Encoding: chunked, chunked\r\n", "0\r\n\r\n"+hidden), []int{501}},
			"chunks and identity":        {post("Transfer-Encoding: chunked\r\nTransfer-Encoding: identity\r\n", "0\r\n\r\n"+hidden), []int{501}},
			"chunks in HTTP/1.0":         {"POST /v1/taxa HTTP/1.0\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n" + f.authorization() + "\r\n0\r\n\r\n" + hidden, []int{400}},
			"a chunk size of words":      {post("Transfer-Encoding: chunked\r\n", "five\r\nhello\r\n0\r\n\r\n"), []int{400}},
			"a chunk size beyond":        {post("Transfer-Encoding: chunked\r\n", "fffffffffffffffff\r\n{}\r\n0\r\n\r\n"), []int{400}},
			"a chunk longer than said":   {post("Transfer-Encoding: chunked\r\n", "2\r\n{}{}\r\n0\r\n\r\n"+hidden), []int{400}},
			"a chunk of bare LFs":        {post("Transfer-Encoding: chunked\r\n", "2;\n{}\n0\n\n"+hidden), []int{400}},
			"endless chunk extensions":   {post("Transfer-Encoding: chunked\r\n", "2;"+strings.Repeat("x", 100<<10)+"\r\n{}\r\n0\r\n\r\n"), []int{400}},
			"a trailer with a secret":    {post("Transfer-Encoding: chunked\r\nTrailer: Content-Length\r\n", "0\r\nContent-Length: 5\r\n\r\n"), []int{400}},
			"headers beyond the limit":   {get("GET /healthz HTTP/1.1\r\nX-A: " + strings.Repeat("a", 80<<10)), []int{431}},
			"thousands beyond it":        {get("GET /healthz HTTP/1.1\r\n" + strings.TrimSuffix(strings.Repeat("X-A: a\r\n", 20000), "\r\n")), []int{431}},
			"a target beyond it":         {get("GET /" + strings.Repeat("a", 80<<10) + " HTTP/1.1"), []int{431}},
			"an expectation we have not": {post("Expect: a-miracle\r\nContent-Length: 2\r\n", "{}"), []int{417}},
		} {
			if got := statusesOf(f.say(what, c.bytes)); !slices.Equal(got, c.want) {
				t.Errorf("%s: %v, want %v", what, got, c.want)
			}
		}
	})
}

// What is a request and asks for what there is not is answered as such.
func TestHostileRequests(t *testing.T) {
	besieged(t, everywhere, nil, Waits{}, func(f *fort) {
		shut := map[bool]int{true: 401, false: 200}[f.token != ""]
		for what, c := range map[string]struct {
			bytes string
			want  int
		}{
			"CONNECT":                 {f.request("CONNECT", "elsewhere.example:443", ""), map[bool]int{true: 404, false: 403}[f.token != ""]},
			"CONNECT to a path":       {f.request("CONNECT", "/v1/batches", ""), 405},
			"TRACE":                   {f.request("TRACE", "/v1/batches", "", "Cookie: a=b"), 405},
			"lower case":              {f.request("get", "/v1/batches", ""), 405},
			"a method of its own":     {f.request("BREW", "/v1/batches", ""), 405},
			"a very long method":      {f.request(strings.Repeat("A", 30<<10), "/v1/batches", ""), 405},
			"DELETE":                  {f.request("DELETE", "/v1/batches/MB-03-2026-1", ""), 405},
			"PUT":                     {f.request("PUT", "/v1/stands/MB-03", "{}"), 405},
			"OPTIONS *":               {f.request("OPTIONS", "*", ""), 404},
			"GET *":                   {f.request("GET", "*", ""), 404},
			"overruled method":        {f.request("GET", "/v1/batches", "", "X-HTTP-Method-Override: DELETE"), 200},
			"another host's page":     {f.request("GET", "http://elsewhere.example/v1/batches", ""), map[bool]int{true: 200, false: 403}[f.token != ""]},
			"a file":                  {f.request("GET", "file:///etc/passwd", ""), 404},
			"a path without a slash":  {f.request("GET", "v1/batches", ""), 400},
			"dots":                    {f.request("GET", "/docs/../v1/batches", ""), 404},
			"dots, escaped":           {f.request("GET", "/docs/%2e%2e/%2e%2e/etc/passwd", ""), 404},
			"backslashes":             {f.request("GET", `/docs/..\..\etc\passwd`, ""), 404},
			"slashes":                 {f.request("GET", "///v1//batches", ""), 404},
			"escaped slashes":         {f.request("GET", "/v1%2fbatches", ""), 404},
			"an escaped slash inside": {f.request("GET", "/v1/batches/..%2f..%2fstands", ""), 404},
			"a NUL":                   {f.request("GET", "/v1/batches/%00", ""), 400},
			"a bare NUL":              {f.request("GET", "/v1/batches/\x00", ""), 400},
			"half a character":        {f.request("GET", "/v1/batches/%ff%fe", ""), 400},
			"half an escape":          {f.request("GET", "/v1/batches/%f", ""), 400},
			"a surrogate":             {f.request("GET", "/v1/stands/%ed%a0%80", ""), 400},
			"a very long name":        {f.request("GET", "/v1/stands/"+strings.Repeat("x", 50<<10), ""), 422},
			"a fragment":              {f.request("GET", "/v1/batches#x", ""), 404},
			"a query of signs":        {f.request("GET", "/v1/batches?%zz=1;2&&=", ""), 400},
			"a parameter twice":       {f.request("GET", "/v1/batches?limit=1&limit=2", ""), 422},
			"thousands of them":       {f.request("GET", "/v1/batches?"+strings.Repeat("&a=1", 12000), ""), 400},
			"a NUL in a parameter":    {f.request("GET", "/v1/batches?stand=%00", ""), 422},
			"SQL in a parameter":      {f.request("GET", "/v1/batches?stand=%27%3B+DROP+TABLE+batches%3B--", ""), 422},
			"a limit beyond numbers":  {f.request("GET", "/v1/batches?limit=99999999999999999999", ""), 422},
			"a cursor of nothing":     {f.request("GET", "/v1/batches?after=bnVsbA", ""), 422},
			"a day of no year":        {f.request("GET", "/v1/due?on=0000-00-00", ""), 422},
			"a forged page":           {f.request("POST", "/v1/taxa", `{"scientific_name":"Salix x"}`, "Origin: http://elsewhere.example"), 403},
			"a forged page's form":    {f.request("POST", "/v1/taxa", `{"scientific_name":"Salix x"}`, "Sec-Fetch-Site: cross-site"), 403},

			"no such answer":         {f.request("GET", "/v1/batches", "", "Accept: image/png"), 406},
			"an answer of signs":     {f.request("GET", "/v1/batches", "", "Accept: ;;;,,,q=q=q"), 406},
			"answers of all kinds":   {f.request("GET", "/v1/batches", "", "Accept: "+strings.Repeat("a/b;q=0.1,", 5000)), 406},
			"a body to be gunzipped": {f.request("POST", "/v1/taxa", "\x1f\x8b\x08\x00", "Content-Encoding: gzip"), 415},
			"a body of five layers":  {f.request("POST", "/v1/taxa", "{}", "Content-Encoding: gzip, br, zstd, deflate, gzip"), 415},
			"a form":                 {strings.Replace(f.request("POST", "/v1/taxa", "a=b"), jsonType, "application/x-www-form-urlencoded", 1), 415},
			"text":                   {strings.Replace(f.request("POST", "/v1/taxa", "{}"), jsonType, "text/plain", 1), 415},
			"a type of signs":        {strings.Replace(f.request("POST", "/v1/taxa", "{}"), jsonType, "a/;;=", 1), 415},
			"JSON in UTF-16":         {strings.Replace(f.request("POST", "/v1/taxa", "{}"), jsonType, jsonType+"; charset=utf-16", 1), 415},
			"a form of many parts":   {strings.Replace(f.request("POST", "/v1/days", "--x--"), jsonType, "multipart/form-data; boundary=x", 1), 415},

			"a key of signs":       {f.request("POST", "/v1/taxa", "{}", "Idempotency-Key: a b c"), 422},
			"a very long key":      {f.request("POST", "/v1/taxa", "{}", "Idempotency-Key: "+strings.Repeat("k", 9000)), 422},
			"a key of broken text": {f.request("POST", "/v1/taxa", "{}", "Idempotency-Key: \xff\xfe"), 422},
			"no tag":               {f.request("PATCH", "/v1/nursery", "{}"), 428},
			"any tag":              {f.request("PATCH", "/v1/nursery", "{}", "If-Match: *"), 428},
			"a tag of broken text": {f.request("PATCH", "/v1/nursery", "{}", "If-Match: \"\xff\""), 412},
			"a tag beyond numbers": {f.request("PATCH", "/v1/nursery", "{}", `If-Match: "99999999999999999999"`), 412},
			"a tag below 0":        {f.request("PATCH", "/v1/nursery", "{}", `If-Match: "-1"`), 412},
			"many tags":            {f.request("PATCH", "/v1/nursery", "{}", "If-Match: "+strings.Repeat(`"1",`, 9000)), 412},
			"an id of signs":       {f.request("GET", "/v1/batches", "", "X-Request-Id: \"}\xff{\" level=ERROR"), 200},
			"thousands of headers": {f.request("GET", "/v1/batches", "", strings.TrimSuffix(strings.Repeat("A: b\r\n", 9000), "\r\n")), 200},
			"another host":         {strings.Replace(f.request("GET", "/v1/batches", ""), "localhost", "elsewhere.example", 1), map[bool]int{true: 200, false: 403}[f.token != ""]},
			"a proxy that is none": {f.request("GET", "/v1/batches", "", "X-Forwarded-For: "+strings.Repeat("127.0.0.1,", 5000), "X-Forwarded-Host: localhost"), map[bool]int{true: 200, false: 401}[f.token != ""]},

			"a token in the address": {"GET /v1/batches?access_token=" + f.token + " HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n", map[bool]int{true: 401, false: 422}[f.token != ""]},
			"no token":               {bare(), shut},
			"half a token":           {bare("Authorization: Bearer withy-"), shut},
			"another scheme":         {bare("Authorization: Basic b3A6b3A="), shut},
			"a scheme alone":         {bare("Authorization: Bearer"), shut},
			"an empty one":           {bare("Authorization: "), shut},
			"a very long one":        {bare("Authorization: Bearer " + strings.Repeat("a", 40<<10)), shut},
			"one of signs":           {bare("Authorization: Bearer withy-\xff\xfe\xfd"), shut},
			"one with SQL":           {bare("Authorization: Bearer withy-'or1=1-" + strings.Repeat("'", 44)), shut},
			"two of them":            {bare("Authorization: Bearer a", "Authorization: Bearer b"), shut},
		} {
			if got := statusesOf(f.say(what, c.bytes)); len(got) != 1 || got[0] != c.want {
				t.Errorf("%s: %v, want %d", what, got, c.want)
			}
		}
	})
}

// bare is a request with no token but what its header lines say.
func bare(lines ...string) string {
	return (&fort{}).request("GET", "/v1/batches", "", lines...)
}

// Requests sent ahead of their answers are each answered, in order, and one that
// is broken ends the row.
func TestHostilePipelines(t *testing.T) {
	besieged(t, outside, nil, Waits{}, func(f *fort) {
		next := strings.Replace(f.request("GET", "/v1/batches", ""), "Connection: close\r\n", "", 1)
		lost := strings.Replace(f.request("GET", "/v1/batches/none", ""), "Connection: close\r\n", "", 1)
		got := statusesOf(f.say("a row", strings.Repeat(next+lost, 100)+f.request("GET", "/v1/batches", "")))
		if len(got) != 201 || got[0] != 200 || got[1] != 404 || got[200] != 200 {
			t.Errorf("a row of 201 is answered %v", got)
		}
		if got := statusesOf(f.say("a broken row", next+"rubbish\r\n\r\n"+next)); !slices.Equal(got, []int{200, 400}) {
			t.Errorf("a broken row is answered %v", got)
		}
	})
}

// A client that breaks the connection off in the middle of an answer, or at once,
// costs nothing but that answer.
func TestHostileCuts(t *testing.T) {
	besieged(t, outside, nil, Waits{}, func(f *fort) {
		var all sync.WaitGroup
		for i := range 60 {
			all.Go(func() {
				conn := f.dial()
				if conn == nil {
					return
				}
				defer conn.Close()
				_ = conn.SetLinger(0) // a close is a reset
				target := []string{"/v1/openapi.json", "/docs/swagger-ui-bundle.js", "/v1/batches"}[i%3]
				_, _ = fmt.Fprint(conn, f.request(http.MethodGet, target, ""))
				_, _ = conn.Read(make([]byte, i)) // as much of the answer as it cares for
			})
		}
		all.Wait()
	})
}

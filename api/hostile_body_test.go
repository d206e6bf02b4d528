package api

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"strings"
	"testing"
)

// largest is as much of a body as is read here, less a little: an eighth of what is
// read otherwise, which the race detector takes as long over.
const (
	readHere = 128 << 10
	largest  = readHere - 200
)

// many repeats a pattern, which takes the number of the turn once or twice, up to
// the largest body, with a sign between.
func many(pattern, between string) string {
	var text strings.Builder
	for i := 0; text.Len() < largest; i++ {
		if i > 0 {
			text.WriteString(between)
		}
		fmt.Fprintf(&text, pattern, i)
	}
	return text.String()[:strings.LastIndex(text.String(), between)]
}

// flat is a pattern without a number.
func flat(pattern, between string) string {
	n := largest / (len(pattern) + len(between))
	return strings.Repeat(pattern+between, n-1) + pattern
}

func bomb(t *testing.T) string {
	t.Helper()
	var packed bytes.Buffer
	w := gzip.NewWriter(&packed)
	for range 64 {
		if _, err := w.Write(make([]byte, 1<<20)); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return packed.String()
}

// Whatever stands in a body is answered with a problem, in no more words than it
// takes, and changes nothing.
func TestHostileBodies(t *testing.T) {
	packed := bomb(t)
	besieged(t, inside, func(d *Deps) { d.BodyLimit = readHere }, Waits{}, func(f *fort) {
		taxon := func(body string) string { return f.request("POST", "/v1/taxa", body) }
		check := func(fields string) string {
			return f.request("POST", "/v1/batches/MB-03-2026-1/checks", `{"checked_on":"2026-01-16"`+fields+`}`)
		}
		split := func(arms string) string {
			return f.request("POST", "/v1/batches/MB-03-2026-1/splits", `{"arms":[`+arms+`]}`)
		}
		nursery := func(body string) string { return f.request("PATCH", "/v1/nursery", body, `If-Match: "1"`) }
		sheet := func(body string) string {
			return strings.Replace(f.request("POST", "/v1/days", body), jsonType, csvType, 1)
		}
		const columns = "stand,collected_on,stems_cut,cuttings,collected_by\n"
		for what, c := range map[string]struct {
			bytes string
			want  int
		}{
			"as many lists":            {taxon(strings.Repeat("[", largest)), 400},
			"as many objects":          {taxon(flat(`{"a":`, "")), 400},
			"lists, closed":            {taxon(strings.Repeat("[", 5000) + strings.Repeat("]", 5000)), 400},
			"a wide list":              {taxon("[" + flat("[]", ",") + "]"), 422},
			"unknown fields":           {taxon("{" + many(`"a%d":1`, ",") + "}"), 422},
			"unknown fields with dots": {taxon("{" + many(`"a.b.c.d.%d":1`, ",") + "}"), 400},
			"lists of dotted fields":   {split(many(`{"a.%d":1}`, ",")), 400},
			"bracketed fields":         {taxon("{" + many(`"a[b[%d":1`, ",") + "}"), 400},
			"one unknown field":        {taxon(`{"` + strings.Repeat("a.", largest/4) + `":{` + many(`"a%d":1`, ",")[:largest/3] + `1}}`), 400},
			"keys twice":               {taxon("{" + many(`"a%[1]d":1,"a%[1]d":2`, ",") + "}"), 400},
			"one key over and over":    {taxon("{" + flat(`"a":1`, ",") + "}"), 400},
			"a key of many":            {taxon(`{"scientific_name":"Salix x","Scientific_Name":"Salix y"}`), 422},
			"over the limit":           {taxon(`{"note":"` + strings.Repeat("x", 3<<20) + `"}`), 413},
			"a bomb":                   {f.request("POST", "/v1/taxa", packed, "Content-Encoding: gzip"), 415},
			"a bomb by surprise":       {taxon(packed), 400},

			"half UTF-8":           {taxon("{\"scientific_name\":\"Salix \xc3\"}"), 400},
			"overlong UTF-8":       {taxon("{\"scientific_name\":\"Salix \xc0\xaf\"}"), 400},
			"UTF-16":               {taxon("\xff\xfe{\x00}\x00"), 400},
			"a mark of byte order": {taxon("\xef\xbb\xbf{}"), 400},
			"a NUL":                {taxon(`{"scientific_name":"Salix \u0000 x"}`), 400},
			"a NUL as a name":      {taxon(`{"\u0000":1}`), 400},
			"a bare NUL":           {taxon("{\"scientific_name\":\"Salix \x00\"}"), 400},
			"many NULs":            {taxon("{" + many(`"a%d":"\u0000"`, ",") + "}"), 400},
			"half a surrogate":     {taxon(`{"scientific_name":"Salix \ud800 x"}`), 400},
			"surrogates reversed":  {taxon(`{"scientific_name":"Salix \udc00\ud800"}`), 400},
			"an escape cut off":    {taxon(`{"scientific_name":"\u12`), 400},
			"turned around":        {taxon(`{"scientific_name":"` + strings.Repeat("\u202e\u0301", 60) + `"}`), 422},
			"backslashes":          {taxon(`{"scientific_name":"` + flat(`\\`, "") + `"}`), 422},

			"a number of many digits":     {check(`,"rooted":` + strings.Repeat("9", largest/2)), 400},
			"an exponent of as many":      {check(`,"rooted":1e` + strings.Repeat("9", largest/2)), 400},
			"a number too large":          {check(`,"rooted":9223372036854775808`), 422},
			"a number that nearly fits":   {check(`,"rooted":9223372036854775807`), 422},
			"a number below":              {check(`,"rooted":-9223372036854775808`), 422},
			"a fraction":                  {check(`,"rooted":1.00000000000000001`), 422},
			"no number":                   {check(`,"rooted":NaN`), 400},
			"losses of no cause":          {check(`,"lost":{` + many(`"mould%d":1`, ",") + `}`), 422},
			"losses of one cause":         {check(`,"lost":{"mould":9007199254740993,"Mould":9007199254740993}`), 422},
			"losses beyond numbers":       {check(`,"lost":{"mould":9223372036854775807,"MOULD":9223372036854775807}`), 422},
			"arms of nothing":             {split(flat("{}", ",")), 422},
			"arms that are none":          {split(flat("7", ",")), 422},
			"arms of one":                 {split(flat(`{"count":1,"treatment":"a"}`, ",")), 422},
			"settings of no name":         {nursery(`{"settings":{` + many(`"a%d":1`, ",") + `}}`), 422},
			"thresholds of no name":       {nursery(`{"thresholds":{` + many(`"soak%d":1`, ",") + `}}`), 422},
			"nulls":                       {nursery(`{"thresholds":{` + many(`"soak%d":null`, ",") + `}}`), 422},
			"a zone that leads elsewhere": {nursery(`{"time_zone":"../../etc/passwd"}`), 422},

			"a sheet of commas":     {sheet(flat(",", "")), 422},
			"a sheet of quotes":     {sheet(columns + flat(`"`, "") + `"`), 400},
			"a quote never closed":  {sheet(columns + `"` + flat("x\n", "")), 400},
			"a sheet of columns":    {sheet(many("a%d", ",") + "\n"), 422},
			"a sheet of rows":       {sheet(columns + flat("MB-03,2026-01-02,1,1,RQ\n", "")), 422},
			"a sheet of other rows": {sheet(columns + many("XX-%d,never,many,-1,\n", "")), 422},
			"a sheet with a NUL":    {sheet(columns + "MB-03\x00,2026-01-02,1,1,RQ\n"), 400},
			"a sheet in UTF-16":     {sheet("\xff\xfes\x00t\x00"), 400},
			"a sheet of formulas":   {sheet(columns + "=cmd|' /C calc'!A0,2026-01-02,1,1,RQ\n"), 422},
			"SQL in a field":        {f.request("POST", "/v1/batches", `{"stand":"MB-03'; DROP TABLE","collected_on":"2026-01-02","stems_cut":1,"cuttings":1,"collected_by":"RQ"}`), 422},
			"a link without end":    {f.request("POST", "/v1/people", `{"code":"RQ","name":"R","email":"rq@wrenlow.example\r\nBcc: all@wrenlow.example"}`), 422},
		} {
			if got := statusesOf(f.say(what, c.bytes)); len(got) != 1 || got[0] != c.want {
				t.Errorf("%s: %v, want %d", what, got, c.want)
			}
		}
	})
}

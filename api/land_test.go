package api

import (
	"net/http"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// The board, the page of a land manager and the course of a stand come in the form that
// Accept asks for, and a problem always as one.
func TestPagesAboutStandsComeAsTheyAreAskedFor(t *testing.T) {
	h := begun(t, storetest.Open(t, store.SQLite))
	const board, plot, land = "/v1/board", "/v1/stands/MB-03/plot", "/v1/land?land_manager=wrenlow%20valley%20parks"
	browser := "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"
	for _, c := range []struct{ path, accept, kind, begins string }{
		{board, "", jsonType, `{"on":`}, {board, "text/csv", "text/csv; charset=utf-8", "on,stand,name,"}, {board, "text/*", "text/csv; charset=utf-8", "on,stand"},
		{plot, "*/*", jsonType, `{"stand":"MB-03"`}, {plot, "image/svg+xml", svgType, "<?xml"}, {plot, "image/png", pngType, "\x89PNG"},
		{land, "application/json", jsonType, `{"nursery":`}, {land, "text/plain", "text/plain; charset=utf-8", "Wrenlow Valley Native Plants: stands on the land of"},
		{land, browser, "text/html; charset=utf-8", "<!DOCTYPE html>"}, {land, "application/pdf", pdfType, "%PDF-1."}, {land + "&paper=letter", "application/pdf", pdfType, "%PDF-1."},
	} {
		status, header, body := h.ask(t, "GET", c.path, "", "Accept", c.accept)
		if status != http.StatusOK || header.Get("Content-Type") != c.kind || !strings.HasPrefix(body, c.begins) || header.Get("Vary") == "" {
			t.Errorf("%s, Accept %q: %d, %s, %.60q", c.path, c.accept, status, header.Get("Content-Type"), body)
		}
		policy := header.Get("Content-Security-Policy")
		if styled := strings.Contains(policy, "style-src 'unsafe-inline'"); styled != strings.HasPrefix(c.kind, "text/html") || !strings.HasPrefix(policy, "default-src 'none'") {
			t.Errorf("%s as %s: the policy is %q", c.path, c.kind, policy)
		}
	}
	for _, c := range []struct {
		path, accept, code string
		status             int
	}{
		{"/v1/land", "text/html", "invalid", 422}, {"/v1/land?land_manager=nobody", "application/pdf", "unknown-land-manager", 422}, {"/v1/land?place=nowhere", "", "unknown-place", 422},
		{land + "&from=2026-02-01&to=2026-01-01", "text/plain", "out-of-order", 422}, {land, "image/png", "not-acceptable", 406}, {land + "&paper=napkin", "", "invalid", 422},
		{"/v1/board?taxon=Cornus", "text/csv", "unknown-taxon", 422}, {board, "application/pdf", "not-acceptable", 406},
		{"/v1/stands/MB-30/plot", "image/svg+xml", "no-such-stand", 404}, {plot + "?from=2026-02-01&to=2026-01-01", "image/png", "out-of-order", 422},
		{"/v1/stands/MB-03/parents?season=2025", "", "invalid", 422}, {"/v1/stands/MB-30/parents", "", "no-such-stand", 404},
	} {
		status, header, body := h.ask(t, "GET", c.path, "", "Accept", c.accept)
		if status != c.status || header.Get("Content-Type") != problemType || !strings.Contains(body, `"code":"`+c.code+`"`) {
			t.Errorf("%s: %d, %s, %s", c.path, status, header.Get("Content-Type"), body)
		}
	}
}

// The client's answers agree with each other.
func TestClientAsksAboutLand(t *testing.T) {
	ctx := t.Context()
	h := begun(t, storetest.Open(t, store.SQLite))
	board := must(h.client.Board(ctx, nursery.BoardQuery{LandManager: "Wrenlow Valley Parks"}))
	if len(board.Stands) == 0 || board.Stands[0].Stand != "MB-03" {
		t.Fatalf("%+v", board)
	}
	table := must(h.client.BoardCSV(ctx, nursery.BoardQuery{On: board.On}))
	if !strings.Contains(string(table), board.On.String()+",MB-03,") {
		t.Errorf("%s", table)
	}
	q := nursery.LandQuery{LandManager: "Wrenlow Valley Parks"}
	land := must(h.client.Land(ctx, q))
	if s := land.Stands[0]; *s.Left != *board.Stands[0].Left || s.Limit != board.Stands[0].Limit || s.Taken != board.Stands[0].Taken {
		t.Errorf("%+v, and on the board %+v", s, board.Stands[0])
	}
	sum := 0
	for _, line := range all(t, h.client.Ledger(ctx, "MB-03", models.Date{})) {
		if !line.TakenOn.Before(land.From) && !line.TakenOn.After(land.To) {
			sum += line.Stems
		}
	}
	if land.Stands[0].Totals.All != sum {
		t.Errorf("%d stems on the page, and %d on the ledger", land.Stands[0].Totals.All, sum)
	}
	text, html := must(h.client.LandText(ctx, q)), must(h.client.LandHTML(ctx, q))
	if !strings.Contains(text, "MB-03") || !strings.Contains(string(html), "<svg role=") {
		t.Errorf("%s", text)
	}
	if a4, letter := must(h.client.LandPDF(ctx, q, "")), must(h.client.LandPDF(ctx, q, models.PaperLetter)); !strings.Contains(string(letter), "612.00 792.00") || strings.Contains(string(a4), "612.00 792.00") {
		t.Error("the papers are not those asked for")
	}
	course := must(h.client.Course(ctx, "mb-03", nursery.CourseQuery{From: models.MustDate("2025-07-01"), To: models.MustDate("2026-06-30")}))
	if course.Stand != "MB-03" || course.From != land.From || len(course.Points) == 0 {
		t.Errorf("%+v", course)
	}
	if parents := must(h.client.StandParents(ctx, "MB-03", nursery.ParentsQuery{Season: "2025/26"})); parents.From != land.From || parents.To != land.To {
		t.Errorf("%+v", parents)
	}
}

// A land manager's token shows its own land, without being told whose.
func TestALandManagersTokenShowsItsLand(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		g := openGate(t, s, nil)
		c := g.token(models.NewToken{Name: "OP", Role: models.Coordinator})
		g.wants(g.ask(c, "POST", "/v1/taxa", `{"scientific_name":"Cornus sericea"}`), 201, "")
		for _, body := range []string{`{"code":"MB-03","name":"Mallow Bend","taxon":"Cornus sericea","land_manager":"Wrenlow Valley Parks"}`,
			`{"code":"RS-1","name":"Rook Slope","taxon":"Cornus sericea","land_manager":"Rook Slope Farm"}`} {
			g.wants(g.ask(c, "POST", "/v1/stands", body), 201, "")
		}
		m := g.token(models.NewToken{Name: "farm", Role: models.Manager, LandManager: "rook slope  farm"})
		for _, path := range []string{"/v1/board", "/v1/land", "/v1/land?land_manager=Rook%20Slope%20Farm"} {
			w := g.ask(m, "GET", path, "")
			if body := w.Body.String(); w.Code != 200 || !strings.Contains(body, "RS-1") || strings.Contains(body, "MB-03") {
				t.Errorf("%s: %d %s", path, w.Code, body)
			}
		}
		for _, path := range []string{"/v1/board?land_manager=Wrenlow%20Valley%20Parks", "/v1/land?land_manager=Wrenlow%20Valley%20Parks"} {
			g.wants(g.ask(m, "GET", path, ""), 403, "not-for-role")
		}
		for _, path := range []string{"/v1/stands/MB-03/plot", "/v1/stands/MB-03/parents"} {
			g.wants(g.ask(m, "GET", path, ""), 404, "no-such-stand")
		}
	})
}

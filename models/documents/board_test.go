package documents_test

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/documents"
)

func ptrTo[T any](v T) *T { return &v }

// board is one with a stand of everything and one of next to nothing.
func board() models.Board {
	return models.Board{On: day("2026-01-17"), Stands: []models.BoardRow{
		{Stand: "MB-03", Name: "=Mallow Bend, \"upper\" bank", Taxon: "Cornus sericea", CommonName: "red-osier dogwood", Place: "Mallow Bend", LandManager: "Wrenlow Valley Parks",
			StandUse: models.StandUse{
				Limit: 33, Taken: 28, SetAside: 5, Left: ptrTo(0), Over: 2, Exceeded: "35 stems were taken, 2 over the limit of 33",
				Binding: &models.Binding{Code: "stand", Detail: "33 of 33 stems"}, OpenFrom: ptrTo(day("2026-12-26")),
				State: models.StandOpen, Survey: &models.SurveyBrief{SurveyedOn: day("2025-09-12"), Method: models.PlotCount, LowerBound: models.MustDecimal("663.2")},
				SurveyAge: ptrTo(127), SurveyGood: true, Permit: models.PermitOnFile, PermitNo: "WV-2026-12", PermitTo: day("2026-03-31"),
			}},
		{Stand: "RS-1", Name: "Rook Slope", Taxon: "Salix scouleriana", StandUse: models.StandUse{
			State: models.StandUncounted, StateDetail: "never counted", Instead: "not before a new count", Permit: models.PermitUnknown,
		}},
	}}
}

func TestBoardCSV(t *testing.T) {
	b := board()
	text, err := documents.BoardCSV(&b)
	if err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(text, []byte("\r\n")); n != 3 || bytes.Count(text, []byte("\n")) != n {
		t.Errorf("%d lines end with CR LF: %q", n, text)
	}
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil || len(rows) != 3 {
		t.Fatalf("%v: %q", err, text)
	}
	want := []string{
		"on,stand,name,taxon,common_name,place,land_manager,limit,taken,set_aside,left,over,binding,binding_detail,open_from,instead,state,state_detail,surveyed_on,survey_method,survey_age,lower_bound,survey_good,permit,permit_number,permit_to,exceeded",
		"2026-01-17|MB-03|'=Mallow Bend, \"upper\" bank|Cornus sericea|red-osier dogwood|Mallow Bend|Wrenlow Valley Parks|33|28|5|0|2|stand|33 of 33 stems|2026-12-26||open||2025-09-12|plots|127|663.2|true|on_file|WV-2026-12|2026-03-31|35 stems were taken, 2 over the limit of 33",
		"2026-01-17|RS-1|Rook Slope|Salix scouleriana||||0|0|0||0||||not before a new count|count_again|never counted||||||not_on_file|||",
	}
	for i, row := range rows {
		sign := "|"
		if i == 0 {
			sign = ","
		}
		if got := strings.Join(row, sign); got != want[i] {
			t.Errorf("line %d is\n%s\nand not\n%s", i+1, got, want[i])
		}
	}
}

// No cell is taken for a formula, and none turns the text round.
func TestCSVIsInert(t *testing.T) {
	for _, name := range []string{"=1+1", "+1", "-1", "@sum", "\n=1", "a\u202eb", "\tx"} {
		b := models.Board{Stands: []models.BoardRow{{Name: name}}}
		text, err := documents.BoardCSV(&b)
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		if cell := rows[1][2]; strings.ContainsAny(cell[:1], "=+-@\t\n") || strings.ContainsAny(cell, "\u202e\t") {
			t.Errorf("%q is written %q", name, cell)
		}
	}
}

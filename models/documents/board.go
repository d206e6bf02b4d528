package documents

import (
	"strconv"

	"withybed/models"
)

// boardColumns are the columns of the board as CSV, by the names of its fields.
var boardColumns = []string{
	"on", "stand", "name", "taxon", "common_name", "place", "land_manager", "limit", "taken", "set_aside", "left", "over",
	"binding", "binding_detail", "open_from", "instead", "state", "state_detail", "surveyed_on", "survey_method", "survey_age",
	"lower_bound", "survey_good", "permit", "permit_number", "permit_to", "exceeded",
}

// BoardCSV is the board as CSV (RFC 4180) in UTF-8, with a line of column names first.
func BoardCSV(b *models.Board) ([]byte, error) {
	rows := make([][]string, len(b.Stands))
	for i := range b.Stands {
		rows[i] = boardCells(b.On, &b.Stands[i])
	}
	return csvTable(boardColumns, rows)
}

func boardCells(on models.Date, r *models.BoardRow) []string {
	cells := []string{
		on.String(), r.Stand, r.Name, r.Taxon, r.CommonName, r.Place, r.LandManager,
		strconv.Itoa(r.Limit), strconv.Itoa(r.Taken), strconv.Itoa(r.SetAside), numberOf(r.Left), strconv.Itoa(r.Over),
	}
	binding := models.Binding{}
	if r.Binding != nil {
		binding = *r.Binding
	}
	cells = append(cells, binding.Code, binding.Detail, dayText(r.OpenFrom), r.Instead, string(r.State), r.StateDetail)
	survey := []string{"", "", "", "", ""}
	if r.Survey != nil {
		survey = []string{r.Survey.SurveyedOn.String(), string(r.Survey.Method), numberOf(r.SurveyAge), r.Survey.LowerBound.String(), strconv.FormatBool(r.SurveyGood)}
	}
	return append(append(cells, survey...), string(r.Permit), r.PermitNo, r.PermitTo.String(), r.Exceeded)
}

// numberOf is a number, or nothing where there is none.
func numberOf(n *int) string {
	if n == nil {
		return ""
	}
	return strconv.Itoa(*n)
}

func dayText(day *models.Date) string {
	if day == nil {
		return ""
	}
	return day.String()
}

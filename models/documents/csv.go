package documents

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strings"
)

// csvTable writes rows as CSV (RFC 4180) under their titles.
func csvTable(titles []string, rows [][]string) ([]byte, error) {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	w.UseCRLF = true
	_ = w.Write(titles) // the writer keeps its error
	for _, row := range rows {
		cells := make([]string, len(row))
		for i, cell := range row {
			cells[i] = inert(cell)
		}
		_ = w.Write(cells)
	}
	if w.Flush(); w.Error() != nil {
		return nil, fmt.Errorf("write a table: %w", w.Error())
	}
	return out.Bytes(), nil
}

// inert is a text from people that no spreadsheet takes for a formula: these begin with
// one of a few signs.
func inert(cell string) string {
	cell = Printable(cell)
	if strings.ContainsAny(cell[:min(1, len(cell))], "=+-@\n") {
		return "'" + cell
	}
	return cell
}

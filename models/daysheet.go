package models

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// MaxDayRows is the most batches one day sheet may hold.
const MaxDayRows = 2000

// DayRow is one row of a day sheet: a batch, and what could not be read of it.
type DayRow struct {
	Line   int
	Batch  NewBatch
	Faults []Field
}

// column says how the text of a cell is read.
type column func(cell string) (any, error)

// dayColumns are the columns of a day sheet: the JSON names of a new batch, with
// the parts of a treatment after a dot.
var dayColumns = map[string]column{
	"stand": textCell, "collected_on": dateCell, "stems_cut": countCell, "cuttings": countCell,
	"collected_by": textCell, "taxon": textCell, "parent_plants": countCell, "parents": parentsCell,
	"identified_by": textCell, "identification": textCell, "record_number": textCell,
	"purpose": textCell, "kind": textCell, "length_cm": numberCell, "diameter_mm": numberCell,
	"nodes": countCell, "wood_age_years": numberCell, "health": textCell, "hours_to_water": numberCell,
	"note": textCell, "permit": textCell, "permit_quantity": decimalCell, "share": textCell, "already_cut": yesNoCell, "reason": textCell,
	"stuck_on": dateCell, "count": countCell, "medium": textCell, "container": textCell, "bench": textCell,
	"bottom_heat": heatCell, "mist": yesNoCell, "stuck_by": textCell,
	"treatment": textCell, "treatment.soak_days": numberCell, "treatment.wound": textCell,
	"treatment.auxin": textCell, "treatment.auxin_ppm": numberCell, "treatment.auxin_percent": numberCell,
	"treatment.auxin_form": textCell, "treatment.willow_water_g_per_l": numberCell,
	"treatment.willow_water_hours": numberCell,
}

var neededColumns = []string{"stand", "collected_on", "stems_cut", "cuttings", "collected_by"}

// DayColumns lists the columns a day sheet may have, by name.
func DayColumns() []string {
	names := make([]string, 0, len(dayColumns))
	for name := range dayColumns {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// ParseDay reads a day sheet: CSV (RFC 4180) in UTF-8 with a line of column names
// first. Cells that cannot be read are told row by row; the error is for a sheet
// that cannot be read at all.
func ParseDay(sheet []byte) ([]DayRow, error) {
	if line := garbled(sheet); line > 0 {
		return nil, Errorf(Malformed, "malformed", "line %d of the day sheet is not text in UTF-8: save the sheet again as CSV in UTF-8", line)
	}
	reader := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(sheet, []byte("\xef\xbb\xbf"))))
	reader.FieldsPerRecord = -1
	header, err := reader.Read()
	if errors.Is(err, io.EOF) {
		return nil, Errorf(Malformed, "malformed", "the day sheet is empty: its first line names the columns, such as %s", strings.Join(neededColumns, ","))
	}
	if err != nil {
		return nil, sheetError(err)
	}
	if err := checkHeader(header); err != nil {
		return nil, err
	}
	return readRows(reader, header)
}

func readRows(reader *csv.Reader, header []string) ([]DayRow, error) {
	var rows []DayRow
	for {
		cells, err := reader.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, sheetError(err)
		}
		if blank(cells) {
			continue // as spreadsheets leave at the end
		}
		if len(rows) == MaxDayRows {
			return nil, Errorf(Invalid, "invalid", "the day sheet has more than %d rows: enter it in parts", MaxDayRows)
		}
		line, _ := reader.FieldPos(0)
		rows = append(rows, readRow(line, header, cells))
	}
	if len(rows) == 0 {
		return nil, Errorf(Invalid, "invalid", "the day sheet has no rows below its column names")
	}
	return rows, nil
}

func blank(cells []string) bool {
	return strings.TrimSpace(strings.Join(cells, "")) == ""
}

// garbled is the first line that is not text in UTF-8, or holds a NUL, which no
// database keeps; 0 where there is none.
func garbled(sheet []byte) int {
	for i, line := range bytes.Split(sheet, []byte("\n")) {
		if !utf8.Valid(line) || bytes.IndexByte(line, 0) >= 0 {
			return i + 1
		}
	}
	return 0
}

func sheetError(err error) error {
	var parse *csv.ParseError
	if errors.As(err, &parse) {
		return Errorf(Malformed, "malformed", "line %d of the day sheet is not CSV: %s", parse.Line, parse.Err)
	}
	return fmt.Errorf("read the day sheet: %w", err)
}

func checkHeader(header []string) error {
	var f Faults
	seen := map[string]bool{}
	for i, name := range header {
		name = strings.TrimSpace(name)
		header[i] = name
		switch _, known := dayColumns[name]; {
		case !known:
			f.Add("unknown-column", name, nil, "is not a column of a day sheet: they are the names of a batch's fields, such as %s", strings.Join(neededColumns, ", "))
		case seen[name]:
			f.Add("invalid", name, nil, "is there twice")
		}
		seen[name] = true
	}
	for _, name := range neededColumns {
		if !seen[name] {
			f.Add("invalid", name, nil, "is a column that is missing")
		}
	}
	return f.Err()
}

func readRow(line int, header, cells []string) DayRow {
	row := DayRow{Line: line}
	if len(cells) != len(header) {
		row.Faults = append(row.Faults, Field{Name: "row", Detail: fmt.Sprintf("has %d cells, and the sheet has %d columns", len(cells), len(header))})
		return row
	}
	object, treatment := map[string]any{}, map[string]any{}
	for i, name := range header {
		cell := strings.TrimSpace(cells[i])
		if cell == "" {
			if slices.Contains(neededColumns, name) {
				row.Faults = append(row.Faults, Field{Name: name, Detail: "is missing"})
			}
			continue
		}
		value, err := dayColumns[name](cell)
		if err != nil {
			row.Faults = append(row.Faults, Field{Name: name, Detail: err.Error(), Value: cell})
			continue
		}
		if part, ok := strings.CutPrefix(name, "treatment."); ok {
			treatment[part] = value
		} else {
			object[name] = value
		}
	}
	if name, ok := object["treatment"]; ok && len(treatment) > 0 {
		treatment["name"] = name
	}
	if len(treatment) > 0 {
		object["treatment"] = treatment
	}
	if err := fill(&row.Batch, object); err != nil {
		row.Faults = append(row.Faults, Field{Name: "row", Detail: "cannot be read: " + err.Error()})
	}
	return row
}

// fill goes by way of JSON, so that a sheet and a request are read by one set of rules.
func fill(batch *NewBatch, object map[string]any) error {
	text, err := json.Marshal(object)
	if err != nil {
		return err
	}
	return json.Unmarshal(text, batch)
}

func textCell(cell string) (any, error) { return cell, nil }

func dateCell(cell string) (any, error) { return ParseDate(cell) }

func countCell(cell string) (any, error) {
	n, err := strconv.Atoi(cell)
	if err != nil {
		return nil, fmt.Errorf("is %q, and must be a whole number", cell)
	}
	return n, nil
}

func numberCell(cell string) (any, error) {
	x, err := strconv.ParseFloat(cell, 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return nil, fmt.Errorf("is %q, and must be a number with a decimal point", cell)
	}
	return x, nil
}

func decimalCell(cell string) (any, error) {
	d, err := ParseDecimal(cell)
	if err != nil {
		return nil, fmt.Errorf("is %q, and must be a decimal number of at most four places", cell)
	}
	return d, nil
}

func yesNoCell(cell string) (any, error) {
	switch strings.ToLower(cell) {
	case "yes", "true":
		return true, nil
	case "no", "false":
		return false, nil
	}
	return nil, fmt.Errorf("is %q, and must be yes or no", cell)
}

func parentsCell(cell string) (any, error) { return ParseParents(cell) }

func heatCell(cell string) (any, error) {
	if value, err := yesNoCell(cell); err == nil {
		return value, nil
	}
	var heat BottomHeat
	if err := heat.UnmarshalJSON([]byte(cell)); err != nil {
		return nil, fmt.Errorf("is %q, and must be yes, no or a temperature from 5 to 45 °C", cell)
	}
	return heat, nil
}

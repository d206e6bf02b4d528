package rules

import (
	"fmt"
	"slices"
	"strings"

	"withybed/models"
)

// CheckTag refuses a record number that another batch of the stand and day bears,
// be it stored or beside this one on the same sheet.
func CheckTag(batch *models.Batch, stored, beside []models.Batch) error {
	var whose string
	switch other := sameTag(batch, stored); {
	case other != nil:
		whose = "the bundle of batch " + other.Code
	case sameTag(batch, beside) != nil:
		whose = "another row"
	default:
		return nil
	}
	err := models.InvalidField("record-number-taken", "record_number", *batch.RecordNumber,
		"is %q, and %s of that stand and day bears it", *batch.RecordNumber, whose)
	err.Kind = models.Conflict
	return err
}

func sameTag(batch *models.Batch, others []models.Batch) *models.Batch {
	if batch.RecordNumber == nil {
		return nil
	}
	for i := range others {
		if tag := others[i].RecordNumber; tag != nil && models.NameKey(*tag) == models.NameKey(*batch.RecordNumber) {
			return &others[i]
		}
	}
	return nil
}

// SameCut warns where a batch of the stand and day has the same cutter and as
// many stems: it may have been entered twice.
func SameCut(batch *models.Batch, sameDay []models.Batch) []string {
	for i := range sameDay {
		other := &sameDay[i]
		if other.StemsCut == batch.StemsCut && models.NameKey(other.CollectedBy) == models.NameKey(batch.CollectedBy) {
			return []string{fmt.Sprintf("the same stand, day, cutter and stems as batch %s: was it entered twice?", other.Code)}
		}
	}
	return nil
}

// WithStems adds stems to the sums of a ledger by day, in order.
func WithStems(days []models.LedgerDay, more models.LedgerDay) []models.LedgerDay {
	at, found := slices.BinarySearchFunc(days, more, func(a, b models.LedgerDay) int { return a.TakenOn.Compare(b.TakenOn) })
	days = slices.Clone(days)
	if !found {
		return slices.Insert(days, at, more)
	}
	days[at].Stems += more.Stems
	days[at].Parents += more.Parents
	return days
}

// DayProblems gathers every problem of every row of a day sheet.
type DayProblems struct {
	fields  []models.Field
	invalid *models.Error // the first problem that no rule refused
	refusal *models.Error // the first refusal by a harvest rule
}

// Unreadable notes the cells of a row that could not be read.
func (p *DayProblems) Unreadable(row models.DayRow) {
	for _, field := range row.Faults {
		p.note(row, field, models.Errorf(models.Invalid, "invalid", "a cell cannot be read"))
	}
}

// mendable are the kinds of error that the person who wrote the sheet can mend.
var mendable = []models.Kind{models.Refused, models.Unknown, models.Invalid, models.Conflict}

// Add notes an error of a row, and says whether it is one a person can mend. A
// field whose cell could not be read is not told a second time as missing, and of
// a row that could not be read nothing more is told.
func (p *DayProblems) Add(row models.DayRow, err error) bool {
	problem := models.AsError(err)
	if problem == nil || !slices.Contains(mendable, problem.Kind) {
		return false
	}
	if unread(row, "row") {
		return true
	}
	if problem.Kind == models.Refused {
		p.note(row, models.Field{Name: "stems_cut", Detail: "cannot be: " + problem.Detail, Value: row.Batch.StemsCut}, problem)
	}
	for _, field := range problem.Fields {
		if near := problem.Suggestions; len(near) > 0 {
			field.Detail += " (near: " + strings.Join(near, ", ") + ")"
		}
		if !unread(row, field.Name) {
			p.note(row, field, problem)
		}
	}
	return true
}

// unread says that the cell of a field could not be read; "row" is the whole row.
func unread(row models.DayRow, field string) bool {
	return slices.ContainsFunc(row.Faults, func(f models.Field) bool { return f.Name == field })
}

func (p *DayProblems) note(row models.DayRow, field models.Field, problem *models.Error) {
	field.Name = fmt.Sprintf("line %d: %s", row.Line, field.Name)
	p.fields = append(p.fields, field)
	switch {
	case problem.Kind != models.Refused && p.invalid == nil:
		p.invalid = problem
	case problem.Kind == models.Refused && p.refusal == nil:
		p.refusal = problem
	}
}

// Err is nil where nothing was noted. It is a refusal only where nothing but
// harvest rules stand in the way.
func (p *DayProblems) Err() error {
	first := p.invalid
	if first == nil {
		first = p.refusal
	}
	if first == nil {
		return nil
	}
	return &models.Error{
		Kind: first.Kind, Code: first.Code, Detail: "no row of the day sheet was entered",
		Fields: p.fields, Suggestions: first.Suggestions, Allowed: first.Allowed, Binding: first.Binding,
	}
}

package rules

import (
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"hash/maphash"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"withybed/models"
)

// UsualFinal is the days after sticking from which a last check in a file is
// final, unless another number is given.
const UsualFinal = 84

// CheckFile is what a plain file of checks holds.
type CheckFile struct {
	Batches  []Watched // in the order of their names
	Rows     int
	Warnings []string
}

// The columns of a file of checks.
var (
	checkColumns = []string{"batch", "treatment", "stuck_on", "cuttings", "checked_on", "rooted", "lost", "withdrawn", "finished_on", "block"}
	checkNeeds   = []string{"batch", "stuck_on", "cuttings", "checked_on", "rooted", "lost"}
)

// ReadChecks reads a file of checks: CSV (RFC 4180) in UTF-8, a line of column
// names first, then one check of one batch a row, in any order. Counts are totals
// to date: rooted ever so far (empty: roots were not examined), lost before
// rooting, withdrawn unrooted. A batch nobody has checked has one row without
// checked_on. finalAt is the days after sticking from which a last check is final.
//
// Nothing is guessed: every row that cannot be is told with its line, all at
// once, as a models.Error of kind Invalid, and then nothing is read. The file is
// gone through once and never held whole. Told of each is called now and then with
// the rows read so far, and may be nil.
func ReadChecks(from io.Reader, finalAt int, told func(rows int)) (CheckFile, error) {
	r := checkReader{
		batches: map[string]*fileBatch{}, facts: map[fileFacts]*fileFacts{},
		days: map[string]models.Date{}, words: map[string]string{}, keys: map[string]map[string]string{},
	}
	if err := r.read(from, told); err != nil {
		return CheckFile{}, err
	}
	r.batches = nil // what is read of a long file is held once
	slices.SortFunc(r.all, func(a, b *fileBatch) int { return cmp.Compare(a.id, b.id) })
	file := CheckFile{Rows: r.count, Warnings: nearlyOne(r.all), Batches: r.watched(finalAt)}
	if err := r.faults.err(); err != nil {
		return CheckFile{}, err
	}
	if len(file.Batches) == 0 {
		return CheckFile{}, models.Errorf(models.Invalid, "invalid", "the file of checks has no rows below its column names")
	}
	return file, nil
}

// nearlyOne tells of names that differ in case only: they may be one batch. Of a
// million names next to none do, so that keys are kept where their hashes come again.
func nearlyOne(all []*fileBatch) []string {
	seed := maphash.MakeSeed()
	hash := func(b *fileBatch) uint64 { return maphash.String(seed, models.NameKey(b.id)) }
	again := repeated(all, hash)
	var warnings []string
	first := map[string]string{}
	for _, b := range all {
		if len(again) == 0 || !again[hash(b)] {
			continue
		}
		key := models.NameKey(b.id)
		if other, there := first[key]; there {
			warnings = append(warnings, fmt.Sprintf("batches %q and %q are taken as two: write the name alike where they are one", other, b.id))
			continue
		}
		first[key] = b.id
	}
	return warnings[:min(len(warnings), mostWarnings)]
}

// repeated are the hashes that come more than once.
func repeated(all []*fileBatch, hash func(*fileBatch) uint64) map[uint64]bool {
	hashes := make([]uint64, len(all))
	for i, b := range all {
		hashes[i] = hash(b)
	}
	slices.Sort(hashes)
	again := map[uint64]bool{}
	for i := 1; i < len(hashes); i++ {
		if hashes[i] == hashes[i-1] {
			again[hashes[i]] = true
		}
	}
	return again
}

// mostWarnings is how many batches are warned of.
const mostWarnings = 20

// checkReader reads rows. What comes again is kept once.
type checkReader struct {
	columns map[string]int
	count   int // of rows, those that cannot be among them
	rows    []fileRow
	all     []*fileBatch // in the order in which they are named, then in that of names
	batches map[string]*fileBatch
	facts   map[fileFacts]*fileFacts
	days    map[string]models.Date
	words   map[string]string
	keys    map[string]map[string]string // by treatment, shared by its batches
	faults  lineFaults
}

// toldEvery is how many rows are read between two words of how far it is.
const toldEvery = 50_000

func (r *checkReader) read(from io.Reader, told func(rows int)) error {
	in := csv.NewReader(from)
	in.FieldsPerRecord, in.ReuseRecord = -1, true
	header, err := in.Read()
	if errors.Is(err, io.EOF) {
		return models.Errorf(models.Malformed, "malformed", "the file of checks is empty: its first line names the columns, such as %s", strings.Join(checkNeeds, ","))
	}
	if _, slip := notCSV(err); slip != nil || err == nil && garbled(header) {
		return models.Errorf(models.Malformed, "malformed", "line 1 of the file of checks is not CSV in UTF-8: save it again as CSV in UTF-8")
	}
	if err != nil {
		return fmt.Errorf("read the file of checks: %w", err)
	}
	if err := r.header(header); err != nil {
		return err
	}
	width := len(header)
	for {
		cells, err := in.Read()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if line, slip := notCSV(err); slip != nil {
			r.faults.add(line, "row", nil, "is not CSV: %s", slip)
			continue
		}
		if err != nil {
			return fmt.Errorf("read the file of checks: %w", err)
		}
		line, _ := in.FieldPos(0)
		if blank(cells) {
			continue // as spreadsheets leave at the end
		}
		if r.count++; told != nil && r.count%toldEvery == 0 {
			told(r.count)
		}
		if len(cells) != width {
			r.faults.add(line, "row", nil, "has %d cells, and the file has %d columns", len(cells), width)
			continue
		}
		r.row(line, cells)
	}
}

// notCSV is what is wrong with a row that is not CSV, and the line it begins on.
func notCSV(err error) (line int, slip error) {
	var parse *csv.ParseError
	if errors.As(err, &parse) {
		return parse.StartLine, parse.Err
	}
	return 0, nil
}

// garbled says that cells are not text in UTF-8, or hold a NUL.
func garbled(cells []string) bool {
	return slices.ContainsFunc(cells, func(cell string) bool { return !utf8.ValidString(cell) || strings.ContainsRune(cell, 0) })
}

func blank(cells []string) bool {
	return !slices.ContainsFunc(cells, func(cell string) bool { return strings.TrimSpace(cell) != "" })
}

// header finds the columns.
func (r *checkReader) header(names []string) error {
	var f models.Faults
	var near []string
	r.columns = map[string]int{}
	for i, name := range names {
		name = strings.ToLower(strings.TrimSpace(strings.TrimPrefix(name, "\ufeff")))
		_, twice := r.columns[name]
		switch {
		case !slices.Contains(checkColumns, name):
			f.Add("unknown-column", fmt.Sprintf("%q", name), nil, "is not a column of a file of checks: they are %s", strings.Join(checkColumns, ", "))
			near = append(near, Near(name, checkColumns)...)
		case twice:
			f.Add("invalid", name, nil, "is there twice")
		}
		r.columns[name] = i
	}
	for _, name := range checkNeeds {
		if _, there := r.columns[name]; !there {
			f.Add("invalid", name, nil, "is a column that is missing")
		}
	}
	err := f.Err()
	if known := models.AsError(err); known != nil {
		known.Detail, known.Suggestions = "the file of checks cannot be read", near
	}
	return err
}

// mostFaults is how many values at fault are told.
const mostFaults = 1000

// lineFaults gathers what is wrong, line by line.
type lineFaults struct {
	fields []models.Field
	lines  []int
	more   int
}

func (f *lineFaults) add(line int, name string, value any, format string, args ...any) {
	if len(f.fields) == mostFaults {
		f.more++
		return
	}
	f.lines = append(f.lines, line)
	f.fields = append(f.fields, models.Field{Name: fmt.Sprintf("line %d: %s", line, name), Detail: fmt.Sprintf(format, args...), Value: value})
}

// err tells what is wrong in the order of lines.
func (f *lineFaults) err() error {
	if len(f.fields) == 0 {
		return nil
	}
	order := make([]int, len(f.fields))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(f.lines[a], f.lines[b]) })
	err := models.Errorf(models.Invalid, "invalid", "the file of checks has values that cannot be, so nothing was read")
	for _, i := range order {
		err.Fields = append(err.Fields, f.fields[i])
	}
	if f.more > 0 {
		err.Detail += fmt.Sprintf("; %d more are not shown", f.more)
	}
	return err
}

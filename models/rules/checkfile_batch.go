package rules

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"withybed/models"
	"withybed/models/stats"
)

// fileBatch is a batch of a file while its rows are gathered.
type fileBatch struct {
	id    string
	first fileFacts // of its first row, which the others must repeat
	line  int
	rows  []fileRow
}

func (f fileFacts) told() bool { return !f.stuckOn.IsZero() && f.cuttings > 0 }

// fileFacts are what every row of a batch repeats.
type fileFacts struct {
	stuckOn, finishedOn models.Date
	cuttings            int32
	treatment, block    string
}

// fileRow is one check: totals to date, rooted -1 where roots were not examined.
// Without a day it says that there was no check.
type fileRow struct {
	on                      models.Date
	rooted, lost, withdrawn int32
	line                    int32
}

// row reads one row. One that cannot be read is left out of what its batch is
// held to, so that one slip is told once.
func (r *checkReader) row(line int, cells []string) {
	b := r.batch(line, cells)
	if b == nil {
		return
	}
	known := len(r.faults.fields) + r.faults.more
	facts := fileFacts{
		stuckOn: r.day(line, cells, "stuck_on"), finishedOn: r.day(line, cells, "finished_on"),
		cuttings: r.count(line, cells, "cuttings", 1), treatment: r.text(line, cells, "treatment"), block: r.text(line, cells, "block"),
	}
	row := fileRow{line: int32(line), on: r.day(line, cells, "checked_on"), rooted: -1}
	r.counts(line, cells, &row)
	if r.cell(cells, "stuck_on") == "" {
		r.faults.add(line, "stuck_on", nil, "is empty, and must be the day they were stuck")
	}
	if !b.first.told() {
		b.first, b.line = facts, line
	} else {
		b.agree(&r.faults, line, facts)
	}
	if len(r.faults.fields)+r.faults.more == known {
		b.rows = append(b.rows, row)
	}
}

// batch is the batch that a row names, or nil where it names none.
func (r *checkReader) batch(line int, cells []string) *fileBatch {
	cell := r.cell(cells, "batch")
	if b := r.batches[cell]; b != nil {
		return b
	}
	id := models.Clean(cell)
	switch {
	case garbled(cells[r.columns["batch"]:][:1]):
		r.faults.add(line, "batch", nil, notText)
		return nil
	case id == "":
		r.faults.add(line, "batch", nil, "is empty, and must name the batch")
		return nil
	}
	b := r.batches[id]
	if b == nil {
		id = strings.Clone(id)
		b = &fileBatch{id: id, line: line}
		r.batches[id] = b
	}
	return b
}

const notText = "is not text in UTF-8: save the file again as CSV in UTF-8"

// counts reads the totals of a check, of which there are none without one.
func (r *checkReader) counts(line int, cells []string, row *fileRow) {
	if r.cell(cells, "checked_on") == "" {
		for _, name := range []string{"rooted", "lost", "withdrawn"} {
			if cell := r.cell(cells, name); cell != "" && cell != "0" {
				r.faults.add(line, name, cell, "is %s without a day: fill in checked_on", cell)
			}
		}
		return
	}
	if r.cell(cells, "rooted") != "" {
		row.rooted = r.count(line, cells, "rooted", 0)
	}
	row.lost = r.count(line, cells, "lost", 0)
	if r.cell(cells, "withdrawn") != "" {
		row.withdrawn = r.count(line, cells, "withdrawn", 0)
	}
}

// agree wants a row to repeat what the first row of its batch says.
func (b *fileBatch) agree(f *lineFaults, line int, facts fileFacts) {
	differs := func(name string, value, first any) {
		f.add(line, name, value, "is %v, and line %d says %v of batch %s: all rows of a batch must agree", value, b.line, first, b.id)
	}
	if facts.stuckOn != b.first.stuckOn && !facts.stuckOn.IsZero() {
		differs("stuck_on", facts.stuckOn, b.first.stuckOn)
	}
	if facts.cuttings != b.first.cuttings && facts.cuttings > 0 {
		differs("cuttings", facts.cuttings, b.first.cuttings)
	}
	for _, c := range []struct{ name, value, first string }{
		{"treatment", facts.treatment, b.first.treatment}, {"block", facts.block, b.first.block},
		{"finished_on", facts.finishedOn.String(), b.first.finishedOn.String()},
	} {
		if models.NameKey(c.value) != models.NameKey(c.first) {
			differs(c.name, orNothing(c.value), orNothing(c.first))
		}
	}
	b.first.treatment, b.first.block = oneSpelling(b.first.treatment, facts.treatment), oneSpelling(b.first.block, facts.block)
}

// oneSpelling is the same of two spellings of a name, whichever came first.
func oneSpelling(first, other string) string {
	if models.NameKey(first) != models.NameKey(other) {
		return first
	}
	return min(first, other)
}

func orNothing(text string) string { return cmp.Or(text, "nothing") }

// cell is a cell by the name of its column, or nothing where there is no such
// column.
func (r *checkReader) cell(cells []string, name string) string {
	i, there := r.columns[name]
	if !there {
		return ""
	}
	return strings.TrimSpace(cells[i])
}

func (r *checkReader) text(line int, cells []string, name string) string {
	cell := r.cell(cells, name)
	if known, ok := r.words[cell]; ok {
		return known
	}
	if garbled([]string{cell}) {
		r.faults.add(line, name, nil, notText)
		return ""
	}
	clean := strings.Clone(models.Clean(cell))
	r.words[strings.Clone(cell)] = clean
	return clean
}

func (r *checkReader) day(line int, cells []string, name string) models.Date {
	cell := r.cell(cells, name)
	if cell == "" {
		return models.Date{}
	}
	if day, known := r.days[cell]; known {
		return day
	}
	day, err := models.ParseDate(cell)
	if err != nil {
		r.faults.add(line, name, strings.Clone(cell), "cannot be: %s", err)
		return models.Date{}
	}
	r.days[strings.Clone(cell)] = day
	return day
}

// count reads a whole number from least on.
func (r *checkReader) count(line int, cells []string, name string, least int) int32 {
	cell := r.cell(cells, name)
	n, err := strconv.Atoi(cell)
	switch {
	case cell == "":
		r.faults.add(line, name, nil, "is empty, and must be a whole number")
	case err != nil:
		r.faults.add(line, name, strings.Clone(cell), "is %q, and must be a whole number", cell)
	case n < least || n > models.MaxCount:
		r.faults.add(line, name, n, "is %d, and must be from %d to %d", n, least, models.MaxCount)
	default:
		return int32(n)
	}
	return 0
}

// watched puts the rows of a batch in order and turns totals into what each look
// found.
func (b *fileBatch) watched(r *checkReader, finalAt int) Watched {
	f := &r.faults
	w := Watched{Lot: stats.Lot{ID: b.id, Cuttings: int(b.first.cuttings)}, StuckOn: b.first.stuckOn, Block: b.first.block, FinalAt: finalAt, Keys: r.keysOf(b.first.treatment)}
	if !b.first.told() {
		return w
	}
	w.Lot.Finished = !b.first.finishedOn.IsZero()
	if w.Lot.Finished && b.first.finishedOn.Before(b.first.stuckOn) {
		f.add(b.line, "finished_on", b.first.finishedOn, "is %s, before batch %s was stuck on %s", b.first.finishedOn, b.id, b.first.stuckOn)
	}
	slices.SortStableFunc(b.rows, func(x, y fileRow) int { return cmp.Or(x.on.Compare(y.on), cmp.Compare(x.line, y.line)) })
	total := fileRow{}
	for i := range b.rows {
		if b.repeats(f, i) {
			continue
		}
		if look, ok := b.look(f, b.rows[i], &total); ok {
			w.Lot.Looks = append(w.Lot.Looks, look)
		}
	}
	return w
}

// keysOf are what batches of a treatment are grouped by.
func (r *checkReader) keysOf(treatment string) map[string]string {
	keys, known := r.keys[treatment]
	if !known {
		keys = map[string]string{}
		if treatment != "" {
			keys["treatment"] = treatment
		}
		r.keys[treatment] = keys
	}
	return keys
}

// repeats says that a row has the day of the one before it. If it is the same it
// counts once; if not, both cannot be.
func (b *fileBatch) repeats(f *lineFaults, i int) bool {
	if i == 0 || b.rows[i].on != b.rows[i-1].on {
		return false
	}
	before, row := b.rows[i-1], b.rows[i]
	if line := before.line; row.rooted != before.rooted || row.lost != before.lost || row.withdrawn != before.withdrawn {
		f.add(int(line), "checked_on", row.on, "is %s, and line %d has other counts of batch %s on that day: leave one of them", row.on, row.line, b.id)
		f.add(int(row.line), "checked_on", row.on, "is %s, and line %d has other counts of batch %s on that day: leave one of them", row.on, line, b.id)
	}
	return true
}

// look is what a row found since the row before it; ok is false for what is none.
func (b *fileBatch) look(f *lineFaults, row fileRow, total *fileRow) (stats.Look, bool) {
	if row.on.IsZero() {
		return stats.Look{}, false
	}
	line, day := int(row.line), row.on.Sub(b.first.stuckOn)
	look := stats.Look{Day: day, Saw: stats.SawRoots}
	if row.rooted < 0 {
		look.Saw, row.rooted = stats.SawLosses, total.rooted
	}
	look.Rooted, look.Lost, look.Withdrawn = int(row.rooted-total.rooted), int(row.lost-total.lost), int(row.withdrawn-total.withdrawn)
	switch {
	case day < 0:
		f.add(line, "checked_on", row.on, "is %s, before batch %s was stuck on %s", row.on, b.id, b.first.stuckOn)
	case !b.first.finishedOn.IsZero() && row.on.After(b.first.finishedOn):
		f.add(line, "checked_on", row.on, "is %s, after batch %s was finished on %s", row.on, b.id, b.first.finishedOn)
	case day == 0 && row.rooted+row.lost+row.withdrawn > 0:
		f.add(line, "checked_on", row.on, "is %s, the day batch %s was stuck: nothing can have rooted or been lost by then; date it a day later, or correct the number stuck", row.on, b.id)
	case b.falls(f, &row, total):
	case row.rooted+row.lost+row.withdrawn > b.first.cuttings:
		f.add(line, "rooted", row.rooted, "makes %d rooted + %d lost + %d withdrawn = %d of batch %s on %s, and only %d were stuck",
			row.rooted, row.lost, row.withdrawn, row.rooted+row.lost+row.withdrawn, b.id, row.on, b.first.cuttings)
	default:
		*total = row
		return look, day > 0
	}
	return stats.Look{}, false
}

// falls says that a total is less than on an earlier day.
func (b *fileBatch) falls(f *lineFaults, row, total *fileRow) bool {
	falls := false
	for _, c := range []struct {
		name     string
		now, was int32
	}{{"rooted", row.rooted, total.rooted}, {"lost", row.lost, total.lost}, {"withdrawn", row.withdrawn, total.withdrawn}} {
		if c.now < c.was {
			f.add(int(row.line), c.name, c.now, "is %d, and was %d on %s (line %d): totals to date of batch %s cannot fall", c.now, c.was, total.on, total.line, b.id)
			falls = true
		}
	}
	return falls
}

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
	first *fileFacts // of its first row, which the others must repeat
	line  int32
	place int32 // among all batches, in the order in which they are named
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
	batch                   int32 // its place
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
	facts := r.keep(fileFacts{
		stuckOn: r.day(line, cells, "stuck_on"), finishedOn: r.day(line, cells, "finished_on"),
		cuttings: r.number(line, cells, "cuttings", 1), treatment: r.text(line, cells, "treatment"), block: r.text(line, cells, "block"),
	})
	row := fileRow{batch: b.place, line: int32(line), on: r.day(line, cells, "checked_on"), rooted: -1}
	r.counts(line, cells, &row)
	if r.cell(cells, "stuck_on") == "" {
		r.faults.add(line, "stuck_on", nil, "is empty, and must be the day they were stuck")
	}
	if !b.first.told() {
		b.first, b.line = facts, int32(line)
	} else if facts != b.first {
		b.agree(&r.faults, line, facts)
		b.first = r.keep(b.first.inOneSpelling(facts))
	}
	if len(r.faults.fields)+r.faults.more == known {
		r.rows = append(r.rows, row)
	}
}

// keep is where the same facts are kept for all batches that share them.
func (r *checkReader) keep(facts fileFacts) *fileFacts {
	kept := r.facts[facts]
	if kept == nil {
		kept = new(fileFacts)
		*kept = facts
		r.facts[facts] = kept
	}
	return kept
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
		b = &fileBatch{id: id, line: int32(line), place: int32(len(r.all)), first: r.keep(fileFacts{})}
		r.batches[id] = b
		r.all = append(r.all, b)
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
		row.rooted = r.number(line, cells, "rooted", 0)
	}
	row.lost = r.number(line, cells, "lost", 0)
	if r.cell(cells, "withdrawn") != "" {
		row.withdrawn = r.number(line, cells, "withdrawn", 0)
	}
}

// agree wants a row to repeat what the first row of its batch says.
func (b *fileBatch) agree(f *lineFaults, line int, facts *fileFacts) {
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
}

// inOneSpelling are facts with the names spelled as in both.
func (f *fileFacts) inOneSpelling(other *fileFacts) fileFacts {
	one := *f
	one.treatment, one.block = oneSpelling(f.treatment, other.treatment), oneSpelling(f.block, other.block)
	return one
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

// number reads a whole number from least on.
func (r *checkReader) number(line int, cells []string, name string, least int) int32 {
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

// watched are the batches, in their order, with what their rows found.
func (r *checkReader) watched(finalAt int) []Watched {
	slices.SortFunc(r.rows, func(a, b fileRow) int {
		return cmp.Or(cmp.Compare(a.batch, b.batch), a.on.Compare(b.on), cmp.Compare(a.line, b.line))
	})
	ends := make([]int32, len(r.all)+1) // where the rows of each end, by place, after a 0
	for i, row := range r.rows {
		ends[row.batch+1] = int32(i + 1)
	}
	for i := range r.all {
		ends[i+1] = max(ends[i+1], ends[i])
	}
	all, looks := make([]Watched, 0, len(r.all)), make([]stats.Look, 0, len(r.rows))
	for i, b := range r.all {
		var w Watched
		w, looks = b.watched(r, r.rows[ends[b.place]:ends[b.place+1]], looks, finalAt)
		all = append(all, w)
		r.all[i] = nil
	}
	return all
}

// watched turns the totals of a batch's rows, in order, into what each look found,
// which it adds to the looks.
func (b *fileBatch) watched(r *checkReader, rows []fileRow, looks []stats.Look, finalAt int) (Watched, []stats.Look) {
	f := &r.faults
	w := Watched{Lot: stats.Lot{ID: b.id, Cuttings: int(b.first.cuttings)}, StuckOn: b.first.stuckOn, Block: b.first.block, FinalAt: finalAt, Keys: r.keysOf(b.first.treatment)}
	if !b.first.told() {
		return w, looks
	}
	w.Lot.Finished = !b.first.finishedOn.IsZero()
	if w.Lot.Finished && b.first.finishedOn.Before(b.first.stuckOn) {
		f.add(int(b.line), "finished_on", b.first.finishedOn, "is %s, before batch %s was stuck on %s", b.first.finishedOn, b.id, b.first.stuckOn)
	}
	from, total := len(looks), fileRow{}
	for i, row := range rows {
		if i > 0 && b.repeats(f, rows[i-1], row) {
			continue
		}
		if look, ok := b.look(f, row, &total); ok {
			looks = append(looks, look)
		}
	}
	if len(looks) > from {
		w.Lot.Looks = slices.Clip(looks[from:])
	}
	return w, looks
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
func (b *fileBatch) repeats(f *lineFaults, before, row fileRow) bool {
	if row.on != before.on {
		return false
	}
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
	look := stats.Look{Day: int32(day), Saw: stats.SawRoots}
	if row.rooted < 0 {
		look.Saw, row.rooted = stats.SawLosses, total.rooted
	}
	look.Rooted, look.Lost, look.Withdrawn = row.rooted-total.rooted, row.lost-total.lost, row.withdrawn-total.withdrawn
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

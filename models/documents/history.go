package documents

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"withybed/models"
	"withybed/models/rules"
)

// History is what happened to a batch, one sentence a record, in the order of
// the days and, on one day, of entry. A review and a correction count for the day in
// the nursery's place on which they were entered.
func History(r *models.BatchRecord, place *time.Location) []models.HistoryLine {
	lines := []line{cutLine(r)}
	lines = append(lines, waitingLines(r)...)
	lines = append(lines, trayLines(r)...)
	for i := range r.Decisions {
		d := &r.Decisions[i]
		lines = append(lines, newLine(d.DecidedOn, d.Entry, d.EnteredAt, decided(d)))
	}
	for i := range r.Reviews {
		v := &r.Reviews[i]
		lines = append(lines, newLine(models.DateIn(v.EnteredAt, place), v.Entry, v.EnteredAt, reviewed(v)))
	}
	for i := range r.Corrections {
		c := &r.Corrections[i]
		lines = append(lines, newLine(models.DateIn(c.EnteredAt, place), c.Entry, c.EnteredAt, Corrected(c)))
	}
	for i := range r.Determinations {
		d := &r.Determinations[i]
		lines = append(lines, newLine(d.DeterminedOn, d.Entry, d.EnteredAt, named(d)))
	}
	slices.SortStableFunc(lines, line.compare)
	told := make([]models.HistoryLine, len(lines))
	for i, l := range lines {
		told[i] = l.HistoryLine
	}
	return told
}

// line is a sentence with the number of its entry.
type line struct {
	models.HistoryLine
	number int
}

func newLine(on models.Date, number int, at time.Time, text string) line {
	return line{models.HistoryLine{Entry: &number, On: on, Text: text, EnteredAt: at}, number}
}

// elsewhere is a line that is corrected at another batch, and so has no number here.
func (l line) elsewhere() line {
	l.Entry = nil
	return l
}

func (l line) compare(o line) int {
	return cmp.Or(l.On.Compare(o.On), cmp.Compare(l.number, o.number))
}

// cutLine begins the history. A sister begins where its cuttings were split off.
func cutLine(r *models.BatchRecord) line {
	if r.SplitFrom != "" {
		text := fmt.Sprintf("%s split off %s, cut on %s", models.Counted(r.Cuttings, "cutting"), r.SplitFrom, r.CollectedOn)
		return newLine(models.Later(r.WaitingFrom, r.CollectedOn), 0, r.EnteredAt, text)
	}
	text := fmt.Sprintf("%s %s and made %s", did(r.CollectedBy, "cut"), models.Counted(r.StemsCut, "stem"), models.Counted(r.Cuttings, "cutting")) + drawn(r)
	if r.AlreadyCut {
		text += told("; recorded against a rule", r.RefusedBy) + told("; reason", r.Reason)
	}
	return newLine(r.CollectedOn, 0, r.EnteredAt, text)
}

// drawn is on whose share and on which permit a batch was cut, and what it draws there
// where that is neither its stems nor its cuttings.
func drawn(r *models.BatchRecord) string {
	text := ""
	if r.Crew != "" {
		text += ", from the share of " + r.Crew
	}
	if r.Permit == "" {
		return text
	}
	text += ", on permit " + r.Permit
	if r.PermitUnit == models.InBundles || r.PermitUnit == models.InKG {
		text += fmt.Sprintf(" (%s %s)", r.PermitQuantity, r.PermitUnit)
	}
	return text
}

func waitingLines(r *models.BatchRecord) []line {
	var lines []line
	for i := range r.Splits {
		s := &r.Splits[i]
		lines = append(lines, newLine(s.SplitOn, s.Entry, s.EnteredAt, splitOff(s)).elsewhere())
	}
	for i := range r.Moves {
		m := &r.Moves[i]
		moved := newLine(m.MovedOn, m.Entry, m.EnteredAt, movedTo(m))
		if !rules.CorrectedBy(r, m.Entry, m.ID) { // how a sister's cuttings waited before they were split off
			moved = moved.elsewhere()
		}
		lines = append(lines, moved)
	}
	return lines
}

func trayLines(r *models.BatchRecord) []line {
	var lines []line
	if s := r.Sticking; s != nil {
		lines = append(lines, newLine(s.StuckOn, s.Entry, s.EnteredAt, stuck(s)))
	}
	after := rules.Tallies(r)
	for i := range r.Checks {
		c := &r.Checks[i]
		tally, ok := after[c.Entry]
		lines = append(lines, newLine(c.CheckedOn, c.Entry, c.EnteredAt, looked(c, unrootedAfter(c, &tally, ok))))
	}
	for i := range r.Pottings {
		k := &r.Pottings[i]
		tally := after[k.Entry]
		lines = append(lines, newLine(k.PottedOn, k.Entry, k.EnteredAt, potted(k, tally.Live())))
	}
	return lines
}

// unrootedAfter is the number of unrooted ones a check left in the tray, worked
// out where it was not given. A look at a part leaves it open.
func unrootedAfter(c *models.Check, tally *models.Tally, known bool) *int {
	if c.Unrooted != nil || c.Examined != nil || !known {
		return c.Unrooted
	}
	return &tally.Unrooted
}

// did is who did something, or only that it was done.
func did(who, what string) string {
	return strings.TrimSpace(someone(who) + " " + what)
}

// someone is whom a sentence speaks of: a code, or one who has none.
func someone(who string) string {
	if who == models.NotListed {
		return "someone " + who
	}
	return who
}

// told is a detail with what it is, where there is one.
func told(what, detail string) string {
	if detail == "" {
		return ""
	}
	return what + ": " + detail
}

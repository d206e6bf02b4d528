package documents

import (
	"fmt"
	"strings"

	"withybed/models"
)

// The measures of a plot of text.
const (
	mostLines  = 20
	leastPlot  = 24 // the narrowest a plot of text is, in characters
	axisMargin = 6  // "100 %|"
	linesBelow = 3  // lines below the plot: axis, days, what they are
)

// CurveText draws the share rooted by day as text, one letter a group, in at most
// 20 lines of a width in characters: 72 where it is 0, never under 24. Letters are
// small beyond the last day with enough cuttings under watch; where groups meet
// there is a star. Of more than MostGroups groups the first are drawn, and it says
// how many are not. It is empty where nobody has looked at anything.
func CurveText(report models.CurveReport, width int) string {
	groups := lookedAt(report)
	if len(groups) == 0 {
		return ""
	}
	if width <= 0 {
		width = usualWidth
	}
	width = max(width, leastPlot)
	drawn := groups[:min(len(groups), MostGroups)]
	words := curveWords(report.By, drawn)
	if more := len(groups) - len(drawn); more > 0 {
		words = append(words, fmt.Sprintf("%d more are not drawn", more))
	}
	t := newTextPlot(width-axisMargin, mostLines-linesBelow-len(words), max(1, lastDay(drawn)))
	for i := range drawn {
		t.curve(&drawn[i], rune(groupLetter(i)[0]))
	}
	lines := append(t.lines(), words...)
	for i := range lines {
		lines[i] = strings.TrimRight(shorten(lines[i], width), " ")
	}
	return strings.Join(lines, "\n") + "\n"
}

// curveWords say which group a letter is.
func curveWords(by []string, groups []models.RootingCurve) []string {
	words := make([]string, len(groups))
	for i := range groups {
		words[i] = groupLetter(i) + "  " + groupName(by, groups[i].Key)
	}
	return words
}

// textPlot is a field of characters: rows of percent from all at the top to none,
// columns of days from the first after sticking to the last.
type textPlot struct {
	cells [][]rune
	last  int
}

func newTextPlot(columns, rows, last int) *textPlot {
	t := &textPlot{cells: make([][]rune, rows), last: last}
	for i := range t.cells {
		t.cells[i] = []rune(strings.Repeat(" ", columns))
	}
	return t
}

// day is the day at the end of a column.
func (t *textPlot) day(column int) int { return t.last * (column + 1) / len(t.cells[0]) }

// row is the row of a share.
func (t *textPlot) row(share float64) int {
	bottom := len(t.cells) - 1
	return min(bottom, max(0, bottom-int(share*float64(bottom)+0.5)))
}

func (t *textPlot) curve(c *models.RootingCurve, mark rune) {
	next, share := 0, 0.0
	for column := range t.cells[0] {
		day := t.day(column)
		for next < len(c.Curve) && c.Curve[next].Day <= day {
			share = c.Curve[next].RootedLower
			next++
		}
		t.put(t.row(share), column, textMark(c, t.day(column-1), mark))
		if next == len(c.Curve) {
			return
		}
	}
}

// textMark is the letter of a group, small where too few were watched after a day.
func textMark(c *models.RootingCurve, day int, mark rune) rune {
	if c.Tau == nil || day >= *c.Tau {
		return mark - 'A' + 'a'
	}
	return mark
}

func (t *textPlot) put(row, column int, mark rune) {
	cell := &t.cells[row][column]
	if *cell != ' ' {
		mark = '*'
	}
	*cell = mark
}

// lines are the plot with its axes.
func (t *textPlot) lines() []string {
	named := map[int]string{t.row(1): "100 %", t.row(0.5): " 50 %", t.row(0): "  0 %"}
	var lines []string
	for i, row := range t.cells {
		lines = append(lines, fmt.Sprintf("%5s|%s", named[i], string(row)))
	}
	columns := len(t.cells[0])
	last := fmt.Sprint(t.last)
	half := fmt.Sprint(t.last / 2)
	days := "0" + strings.Repeat(" ", max(1, columns/2-len(half))) + half
	days += strings.Repeat(" ", max(1, columns-len(days)-len(last)+1)) + last
	return append(lines, "     +"+strings.Repeat("-", columns), "     "+days, "      share rooted, by days after sticking")
}

package cli

import (
	"cmp"
	"strings"

	"charm.land/lipgloss/v2"
	"charm.land/lipgloss/v2/table"

	"withybed/models/documents"
)

// usualWidth is how wide tables are where the width of the terminal is unknown.
const usualWidth = 80

// column is a column of a table. Numbers stand to the right. A column of free
// text gives way, over several lines, where the table would be too wide; codes,
// days and numbers are never broken.
type column struct {
	title string
	right bool
	text  bool
}

func col(title string) column     { return column{title: title} }
func numCol(title string) column  { return column{title: title, right: true} }
func textCol(title string) column { return column{title: title, text: true} }

const (
	gutter       = 2  // blanks between columns
	leastText    = 14 // the narrowest a column of text becomes
	widestColumn = 60 // the widest a column of text is, however wide the terminal
)

// table prints rows under their titles, or the sentence for none.
func (s *session) table(columns []column, rows [][]string, none string) {
	if len(rows) == 0 {
		s.say("%s", none)
		return
	}
	width := s.env.Width
	if width == 0 {
		width = usualWidth
	}
	_, _ = s.out.WriteString(layTable(columns, rows, width, s.env.coloured())) // the writer keeps its error
}

// tableWith prints rows as table does, each with a text below it, indented. Their
// columns are none of free text.
func (s *session) tableWith(columns []column, rows [][]string, below func(row int) string) {
	width := cmp.Or(s.env.Width, usualWidth)
	lines := strings.SplitAfter(layTable(columns, rows, width, s.env.coloured()), "\n")
	_, _ = s.out.WriteString(lines[0]) // the writer keeps its error
	for i := range rows {
		_, _ = s.out.WriteString(lines[i+1])
		for line := range strings.Lines(fold(documents.Printable(below(i)), max(leastText, width-gutter))) {
			_, _ = s.out.WriteString(strings.Repeat(" ", gutter) + strings.TrimRight(line, " \n") + "\n")
		}
	}
}

// layTable is a table as text, as wide as it must be and at most width, if its
// columns of text can give way so far.
func layTable(columns []column, rows [][]string, width int, coloured bool) string {
	headers := make([]string, len(columns))
	for i, c := range columns {
		headers[i] = c.title
	}
	cleaned := make([][]string, len(rows))
	for i, row := range rows {
		cleaned[i] = make([]string, len(row))
		for j, cell := range row {
			cleaned[i][j] = strings.ReplaceAll(documents.Printable(cell), "\n", " ")
		}
	}
	widths := columnWidths(columns, cleaned, width)
	for _, row := range cleaned {
		for j := range row {
			row[j] = fold(row[j], widths[j])
		}
	}
	t := table.New().Headers(headers...).Rows(cleaned...).Border(lipgloss.HiddenBorder()).
		BorderTop(false).BorderBottom(false).BorderLeft(false).BorderRight(false).BorderColumn(false).BorderHeader(false).
		StyleFunc(func(row, col int) lipgloss.Style { return cellStyle(columns, widths, row, col, coloured) })
	return trimLines(t.Render())
}

func cellStyle(columns []column, widths []int, row, col int, coloured bool) lipgloss.Style {
	style := lipgloss.NewStyle().Width(widths[col])
	if col < len(columns)-1 {
		style = style.Width(widths[col] + gutter).PaddingRight(gutter)
	}
	if columns[col].right {
		style = style.Align(lipgloss.Right)
	}
	if row == table.HeaderRow && coloured {
		style = style.Bold(true)
	}
	return style
}

// columnWidths are as wide as what stands in the columns; where that is too much,
// the widest column of text gives way first.
func columnWidths(columns []column, rows [][]string, width int) []int {
	widths := make([]int, len(columns))
	total := gutter * (len(columns) - 1)
	for i, c := range columns {
		widths[i] = lipgloss.Width(c.title)
		for _, row := range rows {
			widths[i] = max(widths[i], lipgloss.Width(row[i]))
		}
		if c.text {
			widths[i] = min(widths[i], widestColumn)
		}
		total += widths[i]
	}
	for ; total > width; total-- {
		widest := widestText(columns, widths)
		if widest < 0 {
			break
		}
		widths[widest]--
	}
	return widths
}

// widestText is the widest column of text that can still give way, or -1.
func widestText(columns []column, widths []int) int {
	widest := -1
	for i, c := range columns {
		least := max(leastText, lipgloss.Width(c.title))
		if c.text && widths[i] > least && (widest < 0 || widths[i] > widths[widest]) {
			widest = i
		}
	}
	return widest
}

// trimLines is a text without blanks at the ends of its lines, ended by one
// line break.
func trimLines(text string) string {
	var b strings.Builder
	for line := range strings.Lines(strings.TrimRight(text, "\n ")) {
		b.WriteString(strings.TrimRight(line, " \n") + "\n")
	}
	return b.String()
}

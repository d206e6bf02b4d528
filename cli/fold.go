package cli

import (
	"strings"

	"charm.land/lipgloss/v2"
)

// fold breaks the lines of a text at blanks where they are longer than width.
// Nothing else is a place to break: days and codes are full of dashes. What is
// folded keeps the indent of its line.
func fold(text string, width int) string {
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		lines[i] = foldLine(line, width)
	}
	return strings.Join(lines, "\n")
}

func foldLine(line string, width int) string {
	if lipgloss.Width(line) <= width {
		return line
	}
	rest := strings.TrimLeft(line, " ")
	indent := line[:len(line)-len(rest)]
	var b strings.Builder
	used := 0
	for _, word := range glued(strings.Fields(rest)) {
		length := lipgloss.Width(word)
		switch {
		case used == 0:
			b.WriteString(indent)
			used = len(indent)
		case used+1+length > width:
			b.WriteString("\n" + indent)
			used = len(indent)
		default:
			b.WriteByte(' ')
			used++
		}
		b.WriteString(word)
		used += length
	}
	return b.String()
}

// glued keeps a percent sign or a degree with its number.
func glued(words []string) []string {
	var kept []string
	for _, word := range words {
		if last := len(kept) - 1; last >= 0 && (strings.HasPrefix(word, "%") || strings.HasPrefix(word, "°")) {
			kept[last] += " " + word
			continue
		}
		kept = append(kept, word)
	}
	return kept
}

package cli

import (
	"strings"

	"charm.land/lipgloss/v2"
	"github.com/spf13/cobra"
)

// examples are commands as the help shows them, gone on with on the next line
// before a flag where they are long.
func examples(commands ...string) string {
	var b strings.Builder
	for _, command := range commands {
		b.WriteString("  ")
		used := 2
		for i, part := range strings.Split(command, " --") {
			if i > 0 {
				part = " --" + part
			}
			if i > 0 && used+lipgloss.Width(part)+len(" \\") > usualWidth {
				b.WriteString(" \\\n     ")
				used = 5
			}
			b.WriteString(part)
			used += lipgloss.Width(part)
		}
		b.WriteString("\n")
	}
	return strings.TrimRight(b.String(), "\n")
}

// foldHelp sets the long texts of a command, and of all below it, in lines of
// the usual width.
func foldHelp(cmd *cobra.Command) {
	cmd.Long = fold(joinLines(cmd.Long), usualWidth)
	for _, child := range cmd.Commands() {
		foldHelp(child)
	}
}

// joinLines makes one line of each paragraph. Lines that begin with a blank stay
// as they are.
func joinLines(text string) string {
	lines := strings.Split(text, "\n")
	joined := lines[:1]
	for _, line := range lines[1:] {
		before := joined[len(joined)-1]
		if before == "" || line == "" || strings.HasPrefix(before, " ") || strings.HasPrefix(line, " ") {
			joined = append(joined, line)
		} else {
			joined[len(joined)-1] = before + " " + line
		}
	}
	return strings.Join(joined, "\n")
}

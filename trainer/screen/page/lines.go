package page

import (
	"slices"
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"footfall/drills/memory"
	"footfall/trainer/screen/theme"
)

// Squeezed takes blank rows out of a view, the last first, until it has no more
// than some rows.
func Squeezed(rows []string, most int) []string {
	rows = slices.Clone(rows)
	for i := len(rows) - 1; i >= 0 && len(rows) > most; i-- {
		if rows[i] == "" {
			rows = slices.Delete(rows, i, i+1)
		}
	}
	return rows
}

// Wrapped breaks a text into lines of a width at its spaces alone, so that frets,
// degrees, chord symbols and dates stay whole ("8-x-8-9-8-x"); a word that is longer
// than a line is cut. A wide character takes its two columns even of one.
func Wrapped(text string, width int) string {
	width = max(1, width)
	var lines []string
	for paragraph := range strings.SplitSeq(text, "\n") {
		line := ""
		for i, word := range strings.Split(paragraph, " ") {
			switch {
			case i > 0 && ansi.StringWidth(line)+1+ansi.StringWidth(word) <= width:
				line += " " + word
				continue
			case i > 0:
				lines = append(lines, strings.TrimRight(line, " "))
			}
			for line = word; ansi.StringWidth(line) > width; {
				cut := ansi.Truncate(line, width, "")
				if ansi.StringWidth(cut) == 0 {
					cut = ansi.Truncate(line, 2, "")
				}
				lines = append(lines, cut)
				line = ansi.TruncateLeft(line, ansi.StringWidth(cut), "")
			}
		}
		lines = append(lines, line)
	}
	return strings.Join(lines, "\n")
}

// Cut is Wrapped in at most so many lines: where there are more, the last is cut off, and
// ends in dots.
func Cut(text string, width, most int, dots string) []string {
	lines := strings.Split(Wrapped(text, width), "\n")
	if len(lines) > most {
		lines[most-1] = ansi.Truncate(strings.Join(lines[most-1:], " "), max(1, width), dots)
	}
	return lines[:min(len(lines), most)]
}

// Beside puts lines at the right of others, which take a width, with a rule between
// them, in so many rows at most.
func Beside(t *theme.Theme, left []string, width int, right []string, rows int) []string {
	rows = min(rows, max(len(left), len(right)))
	out := make([]string, 0, rows)
	for i := range rows {
		line := ""
		if i < len(left) {
			line = ansi.Truncate(left[i], width, "")
		}
		line += strings.Repeat(" ", max(0, width-lipgloss.Width(line))) + " " + t.Dim.Render(t.Glyphs.Wire)
		if i < len(right) && right[i] != "" {
			line += " " + right[i]
		}
		out = append(out, line)
	}
	return out
}

// Sentence makes a sentence of a reason.
func Sentence(why string) string {
	r := []rune(why)
	return strings.ToUpper(string(r[:1])) + string(r[1:]) + "."
}

// DayOf writes a day, which is written like 2026-12-03, as players do: "Thursday, Dec 3".
func DayOf(day string) string { return memory.Dated(day, "Monday, Jan 2") }

// ByDay writes a day as it is said on another: "Dec 3", and "Jan 3, 2027" of another year.
func ByDay(day, on string) string {
	if memory.Dated(day, "2006") == memory.Dated(on, "2006") {
		return memory.Dated(day, "Jan 2")
	}
	return memory.Dated(day, "Jan 2, 2006")
}

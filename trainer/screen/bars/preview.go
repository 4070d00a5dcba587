package bars

import (
	"strings"

	"github.com/charmbracelet/lipgloss"

	"footfall/harmony/tune"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

// Bars of a preview: at most so many a line, each so wide.
const (
	barsALine = 8
	barWidth  = 20
)

// Preview writes a tune's chords, a line or more a section, where there are rows
// for all of them.
func Preview(th *theme.Theme, t *tune.Tune, width, rows int) []string {
	name := 0
	for _, s := range t.Sections {
		name = max(name, lipgloss.Width(th.Words(s.Name)))
	}
	name = min(name, 20)
	count := barsALine
	for count > 1 && name+3+count*barWidth > width {
		count /= 2
	}
	var lines []string
	for _, s := range t.Sections {
		for first := 0; first < len(s.Bars); first += count {
			label := ""
			if first == 0 {
				label = th.Words(s.Name)
			}
			line := th.Dim.Render(fit(label, name)) + " " + th.Dim.Render("|")
			for i := first; i < min(len(s.Bars), first+count); i++ {
				line += " " + fit(th.Words(chordsOf(&s.Bars[i])), barWidth-3) + th.Dim.Render(" |")
			}
			lines = append(lines, line)
		}
	}
	if len(t.Form) > 0 {
		form := strings.Split(page.Wrapped(th.Words("form "+strings.Join(t.Form, " ")), width), "\n")
		lines = append(append(lines, ""), form...)
	}
	if len(lines) > rows {
		return nil
	}
	return lines
}

// chordsOf lists the chords of a bar.
func chordsOf(b *tune.Bar) string {
	var names []string
	for _, c := range b.Chords {
		names = append(names, c.Chord.String())
	}
	return strings.Join(names, " ")
}

package bars

import (
	"slices"
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

// Preview writes a tune's chords, a line or more a section, with its bass line in degrees
// below them where there are rows for all of that; nothing where there are not even rows
// for the chords.
func Preview(th *theme.Theme, t *tune.Tune, width, rows int) []string {
	for _, line := range []bool{true, false} {
		if lines := preview(th, t, width, line); len(lines) <= rows {
			return lines
		}
	}
	return nil
}

func preview(th *theme.Theme, t *tune.Tune, width int, line bool) (lines []string) {
	name := 0
	for _, s := range t.Sections {
		name = max(name, lipgloss.Width(th.Words(s.Name)))
	}
	name = min(name, 20)
	count := barsALine
	for count > 1 && name+3+count*barWidth > width {
		count /= 2
	}
	bar := th.Dim.Render("|")
	for _, s := range t.Sections {
		for first := 0; first < len(s.Bars); first += count {
			label := ""
			if first == 0 {
				label = th.Words(s.Name)
			}
			chords, bass := th.Dim.Render(fit(label, name))+" "+bar, strings.Repeat(" ", name+1)+bar
			row := s.Bars[first:min(len(s.Bars), first+count)]
			for i := range row {
				chords += " " + fit(spread(th, chordsOf(&row[i])), barWidth-3) + " " + bar
				bass += " " + fit(spread(th, lineOf(th, &row[i])), barWidth-3) + " " + bar
			}
			lines = append(lines, chords)
			if line && slices.ContainsFunc(row, func(b tune.Bar) bool { return b.Bass != nil }) {
				lines = append(lines, bass, "")
			}
		}
	}
	if lines = trimmed(lines); len(t.Form) > 0 {
		form := strings.Split(page.Wrapped(th.Words("form "+strings.Join(t.Form, " ")), width), "\n")
		lines = append(append(lines, ""), form...)
	}
	return lines
}

// trimmed takes blank lines off the end.
func trimmed(lines []string) []string {
	for len(lines) > 0 && lines[len(lines)-1] == "" {
		lines = lines[:len(lines)-1]
	}
	return lines
}

// word is what stands in a bar from a part of it on, counted from 0 to 1.
type word struct {
	at   float64
	text string
}

// spread writes words where they belong in a bar, or as soon after that as there is room;
// close together where they would not fit so.
func spread(th *theme.Theme, words []word) string {
	text, packed := "", ""
	for _, w := range words {
		if text != "" {
			text, packed = text+" ", packed+" "
		}
		says := th.Words(w.text)
		text = fit(text, max(lipgloss.Width(text), int(w.at*(barWidth-2)))) + says
		packed += says
	}
	if lipgloss.Width(text) > barWidth-3 {
		return packed
	}
	return text
}

// chordsOf lists the chords of a bar.
func chordsOf(b *tune.Bar) (words []word) {
	for _, c := range b.Chords {
		words = append(words, word{float64(c.Slot) / float64(c.Slots), c.Chord.String()})
	}
	return words
}

// lineOf lists the notes of a bar's line as degrees.
func lineOf(th *theme.Theme, b *tune.Bar) (words []word) {
	for i, beat := range b.Bass {
		words = append(words, word{float64(i) / float64(len(b.Bass)), Bass(th, beat)})
	}
	return words
}

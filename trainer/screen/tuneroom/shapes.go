package tuneroom

import (
	"strings"

	"github.com/charmbracelet/lipgloss"

	"footfall/harmony/tune"
	"footfall/harmony/tune/edit"
)

// laid is a token of the shapes row where it is drawn: from a column of its bar on, in one
// of the rows that the shapes of a line of bars take.
type laid struct {
	beat, row, from int
	text            string
}

// lay lays out the shapes of a bar so that each is whole: from its beat on, or as far
// before it as the bar's end asks, in the first row that is free there. What leaves a beat
// to the program gives way to a shape, but at the beat kept.
func lay(b *tune.Bar, g grid, beats, kept int) (all []laid) {
	var ends []int // by row: where it is free
	for i := range b.Shapes {
		l := laid{beat: i, text: b.Shapes[i].String()}
		wide := lipgloss.Width(l.text) + 1
		if i == kept {
			wide = max(wide, g.beat) // what is typed over it shows in its beat
		}
		l.from = max(0, min(i*g.beat, beats*g.beat-wide))
		if b.Shapes[i].Frets == nil && i != kept && len(ends) > 0 && ends[0] > l.from {
			continue
		}
		for l.row < len(ends) && ends[l.row] > l.from {
			l.row++
		}
		if l.row == len(ends) {
			ends = append(ends, 0)
		}
		ends[l.row] = l.from + wide
		all = append(all, l)
	}
	return all
}

// shapes draws the shapes of a line of bars, in as many rows as they take to be whole.
func (p *Page) shapes(g grid, r edit.Range) (lines []string) {
	at, here, beats := p.doc.At(), p.doc.Index(p.doc.At()), p.beats(r)
	onRow := at.Row == tune.ShapesRow && r.Has(here)
	bars, rows := make([][]laid, 0, r.Last-r.First+1), 1
	for i := r.First; i <= r.Last; i++ {
		kept := -1
		if onRow && i == here {
			kept = at.Beat
		}
		bar := lay(p.doc.Bar(p.doc.Place(i)), g, beats, kept)
		if bar == nil && kept >= 0 {
			bar = []laid{{beat: kept, from: kept * g.beat}}
		}
		for _, l := range bar {
			rows = max(rows, l.row+1)
		}
		bars = append(bars, bar)
	}
	for row := range rows {
		name, look := "", p.Theme.Dim
		if row == 0 {
			name = "  " + tune.ShapesRow.String()
		}
		if onRow {
			look = p.Theme.Text
		}
		line := look.Render(fit(name, label))
		for i, bar := range bars {
			line += p.Theme.Dim.Render("|")
			column := 0
			for _, l := range bar {
				if l.row != row {
					continue
				}
				text := " " + l.text
				if onRow && r.First+i == here && l.beat == at.Beat {
					if p.typing {
						text = " " + fit(p.Theme.Words(p.input.Value()), max(lipgloss.Width(l.text), g.beat-1))
					}
					text = p.Theme.Selected.Render(p.Theme.Glyphs.Pointer + strings.TrimPrefix(text, " "))
				}
				line += strings.Repeat(" ", l.from-column) + text
				column = l.from + lipgloss.Width(text)
			}
			line += strings.Repeat(" ", max(0, beats*g.beat-column))
		}
		lines = append(lines, line+p.Theme.Dim.Render("|"))
	}
	return lines
}

// Package bars draws a bar of an arrangement as columns a beat: chords, degrees
// with their direction, and hits. It draws what it is given and knows no music.
package bars

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/lipgloss"

	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/screen/theme"
)

// Labels name the rows of a drawing, from the top.
var Labels = []string{"beat", "chord", "degree", "hit"}

// LabelWidth is the columns of a label.
const LabelWidth = 8

// Drawing says what to draw.
type Drawing struct {
	Arrangement *fretboard.Arrangement
	Bar         tune.FormBar
	// Cell is the columns of a beat, at least 6.
	Cell int
	// Here is the beat that is picked out, 0 for none; Off its second half.
	Here int
	Off  bool
}

// Width returns the columns of a bar.
func (d Drawing) Width() int { return d.Cell * d.Arrangement.Tune.Meter.Beats() }

// Draw returns the rows that Labels names, each as wide as the bar.
func Draw(t *theme.Theme, d Drawing) []string {
	m := d.Arrangement.Tune.Meter
	half := d.Cell / 2
	here := func(beat int, off bool) bool { return d.Here == beat && d.Off == off }
	pick := func(off bool, beat int, s string) string {
		if here(beat, off) {
			return t.Selected.Render(s)
		}
		return s
	}
	bar := d.Bar.Bar
	struck := d.Arrangement.Hits(d.Bar.Number)
	count, chords, degrees, hits := "", "", "", ""
	for i := range m.Beats() {
		first, second := "", ""
		if i < len(bar.Bass) {
			first = bar.Bass[i].First.String()
			if bar.Bass[i].Split {
				second = bar.Bass[i].Second.String()
			}
		}
		// The present beat shows without colour too.
		beat, and := fmt.Sprint(i+1), ""
		if here(i+1, false) {
			beat = "[" + beat + "]"
		}
		if here(i+1, true) {
			and = "[+]"
		}
		count += pick(false, i+1, pad(beat, half)) + pick(true, i+1, pad(and, d.Cell-half))
		degrees += pick(false, i+1, pad(first, half)) + pick(true, i+1, pad(second, d.Cell-half))
		hit := ""
		if struck[i] != tune.NoHit {
			hit = struck[i].String()
		}
		hits += pad(hit, d.Cell)
		for off, column := range []int{i * d.Cell, i*d.Cell + half} {
			if bar.ChangesAt(m, i+1, off == 1) {
				c, _ := bar.ChordAt(m, i+1, off == 1)
				chords = place(chords, column, c.String())
			}
		}
	}
	return []string{count, t.Strong.Render(pad(t.Words(chords), d.Width())), degrees, hits}
}

// place writes a text at a column, or a blank behind what reaches past it.
func place(row string, column int, text string) string {
	if w := lipgloss.Width(row); w >= column && w > 0 {
		return row + " " + text
	}
	return pad(row, column) + text
}

func pad(s string, width int) string {
	return s + strings.Repeat(" ", max(0, width-lipgloss.Width(s)))
}

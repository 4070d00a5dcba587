// Package aside is the pane that stands beside a page where there is room: what is said
// of the thing at hand, the chords of its tune, and how firmly what lies on the neck is
// kept.
package aside

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/lipgloss"

	"footfall/drills/progress"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/screen/bars"
	"footfall/trainer/screen/neck"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

// From Width columns and Height rows on a page has a pane beside it.
const Width, Height = 110, 30

// Fits reports whether there is room for a pane.
func Fits(width, height int) bool { return width >= Width && height >= Height }

// Left is the columns that a page keeps where a pane stands beside it.
func Left(width int) int { return width * 11 / 20 }

// Line is something said, in its look; "" is a blank line.
type Line struct {
	Look lipgloss.Style
	Text string
}

// Pane is what the pane shows, from above: what leaves no room for what is above it is
// left out.
type Pane struct {
	Lines []Line
	// Tune is drawn with its chords, nil for none; Says stands before its title.
	Tune *tune.Tune
	Says string
	// Notes come below it.
	Notes []Line
	// Places are shaded on the neck.
	Neck   fretboard.Neck
	Places []progress.KeptPlace
}

// Facts are a tune's key, meter and tempo.
func Facts(t *tune.Tune) string {
	minor := ""
	if t.Key.Minor {
		minor = "m"
	}
	return fmt.Sprintf("%s%s %d/%d %g", t.Key.Tonic, minor, t.Meter.Upper, t.Meter.Lower, t.Tempo)
}

// Beside puts the pane at the right of a page's lines, on a terminal of so many columns
// and rows.
func (p Pane) Beside(t *theme.Theme, lines []string, width, rows int) []string {
	left := Left(width)
	return page.Beside(t, lines, left, p.draw(t, width-left-5, rows), rows)
}

func (p Pane) draw(t *theme.Theme, width, rows int) []string {
	var lines []string
	add := func(l Line) {
		for text := range strings.SplitSeq(page.Wrapped(t.Words(l.Text), width), "\n") {
			lines = append(lines, l.Look.Render(text))
		}
	}
	for _, l := range p.Lines {
		add(l)
	}
	if len(p.Lines) > 0 {
		lines = append(lines, "")
	}
	var kept []string
	if len(p.Places) > 0 {
		high := rows / 3
		if rows >= 50 {
			high = rows / 2
		}
		kept = append([]string{t.Dim.Render("What you keep, on the neck")}, strings.Split(neck.Kept(t, p.Neck, p.Places, width, high), "\n")...)
		kept = append(kept, strings.Split(t.Dim.Render(page.Wrapped(neck.ShadesMean(t), width)), "\n")...)
	}
	if p.Tune != nil {
		add(Line{t.Strong, p.Says + p.Tune.Title})
		add(Line{t.Dim, Facts(p.Tune) + " BPM"})
		if p.Tune.Trains != "" {
			add(Line{t.Text, p.Tune.Trains})
		}
		if chart := bars.Preview(t, p.Tune, width, rows-len(lines)-2-len(kept)); len(chart) > 0 {
			lines = append(append(lines, ""), chart...)
		}
		lines = append(lines, "")
	}
	for _, n := range p.Notes {
		if len(lines)+len(kept)+3 < rows {
			add(n)
			lines = append(lines, "")
		}
	}
	if len(lines)+len(kept) <= rows {
		lines = append(lines, kept...)
	}
	return lines[:min(len(lines), rows)]
}

// Package aside is the pane that stands beside a page where there is room: what is said
// of the thing at hand, the bars of its tune, what else is to be known of it, and how
// firmly what lies on the neck is kept.
package aside

import (
	"fmt"
	"slices"
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

// Block is lines that belong together, below a title, "" for none.
type Block struct {
	Title string
	Lines []Line
}

// Pane is what the pane shows, from above: what leaves no room for what is above it is
// left out.
type Pane struct {
	Lines []Line
	// Tune is drawn with its bars, nil for none; Says stands before its title, and Far
	// below it tells how far it is.
	Tune      *tune.Tune
	Says, Far string
	// Blocks come below it, each that has room.
	Blocks []Block
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

// wrapped writes lines in a width.
func wrapped(t *theme.Theme, lines []Line, width int) (out []string) {
	for _, l := range lines {
		for text := range strings.SplitSeq(page.Wrapped(t.Words(l.Text), width), "\n") {
			out = append(out, l.Look.Render(text))
		}
	}
	return out
}

// Below adds blocks below a page's lines, a blank line before each, those that have room
// in so many rows.
func Below(t *theme.Theme, lines []string, blocks []Block, width, rows int) []string {
	for _, b := range blocks {
		block := wrapped(t, b.Lines, width)
		if b.Title != "" {
			block = append([]string{t.Dim.Render(b.Title)}, block...)
		}
		if len(lines) > 0 {
			block = append([]string{""}, block...)
		}
		if len(b.Lines) > 0 && len(lines)+len(block) <= rows {
			lines = append(lines, block...)
		}
	}
	return lines
}

func (p Pane) draw(t *theme.Theme, width, rows int) []string {
	lines := wrapped(t, p.Lines, width)
	kept := p.kept(t, width, min(rows/3, 2*len(p.Neck.Tuning)))
	room := rows - len(kept) - 1
	if p.Tune != nil {
		if len(lines) > 0 {
			lines = append(lines, "")
		}
		about := []Line{{t.Strong, p.Says + p.Tune.Title}, {t.Dim, Facts(p.Tune) + " BPM"}}
		if p.Far != "" {
			about = append(about, Line{t.Text, page.Sentence(p.Far)})
		} else if p.Tune.Trains != "" {
			about = append(about, Line{t.Text, p.Tune.Trains})
		}
		lines = append(lines, wrapped(t, about, width)...)
		if chart := bars.Preview(t, p.Tune, width, room-len(lines)-1); len(chart) > 0 {
			lines = append(append(lines, ""), chart...)
		}
	}
	lines = Below(t, lines, p.Blocks, width, room)
	if len(lines) <= room && len(kept) > 0 {
		if len(lines) > 0 {
			lines = append(lines, "")
		}
		// The strings stand as far apart as there is room.
		for apart := 4; apart > 2; apart-- {
			if taller := p.kept(t, width, apart*len(p.Neck.Tuning)); len(lines)+len(taller) <= rows {
				kept = taller
				break
			}
		}
		lines = append(lines, kept...)
	}
	return lines[:min(len(lines), rows)]
}

// kept shades the neck, in about so many rows.
func (p Pane) kept(t *theme.Theme, width, high int) []string {
	if !slices.ContainsFunc(p.Places, func(k progress.KeptPlace) bool { return k.Learning+k.Firm > 0 }) {
		return nil // nothing was met yet
	}
	lines := append([]string{t.Dim.Render("What you keep, on the neck")}, strings.Split(neck.Kept(t, p.Neck, p.Places, width, high), "\n")...)
	return append(lines, strings.Split(t.Dim.Render(page.Wrapped(neck.ShadesMean(t), width)), "\n")...)
}

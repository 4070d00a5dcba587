package play

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/lipgloss"

	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/screen/bars"
	"footfall/trainer/screen/neck"
	"footfall/trainer/sound"
)

// drawBars draws as many bars side by side as there is room for, the present one
// among them, with the marks of what was heard below.
func (p *Page) drawBars(at shown) []string {
	a := p.session.Arrangement()
	beats, room := a.Tune.Meter.Beats(), p.width-bars.LabelWidth-4
	// Two bars side by side where their beats fit, more on a wide terminal.
	count := max(2, room/(10*beats+3))
	cell := min(10, (room/count-3)/beats)
	if cell < 6 {
		count = 1
		cell = min(10, max(6, (room-3)/beats))
	}
	loop := p.session.Bars()
	here := p.here()
	first := loop.First + (here-loop.First)/count*count
	if here < loop.First || here > loop.Last {
		first = here
	}
	labels := append([]string{""}, bars.Labels...)
	if p.session.Listens() {
		labels = append(labels, "heard")
	}
	rows := make([]string, len(labels))
	head := rows[:1]
	for i, label := range labels {
		rows[i] = p.theme.Dim.Render(fmt.Sprintf("  %-*s", bars.LabelWidth, label))
	}
	for n := first; n < first+count && n <= max(loop.Last, here); n++ {
		fb := p.form[n-1]
		d := bars.Drawing{Arrangement: a, Bar: fb, Cell: cell}
		if n == at.bar && at.state == sound.Playing {
			d.Here, d.Off = at.beat, at.off
		}
		title := fmt.Sprintf("%s %d", fb.Section, n)
		if fb.Bar.Words != "" {
			title += "  " + p.theme.Words(fb.Bar.Words)
		}
		head[0] += fit(title, d.Width()) + " " + p.theme.Dim.Render("|") + " "
		for i, r := range bars.Draw(p.theme, d) {
			rows[i+1] += fit(r, d.Width()) + " " + p.theme.Dim.Render("|") + " "
		}
		if p.session.Listens() {
			rows[len(rows)-1] += p.marks(n, cell) + "   "
		}
	}
	return rows
}

// fit cuts or pads a text to a width.
func fit(s string, width int) string {
	if lipgloss.Width(s) > width {
		s = lipgloss.NewStyle().MaxWidth(width).Render(s)
	}
	return s + strings.Repeat(" ", max(0, width-lipgloss.Width(s)))
}

// marks writes how each beat of a bar went so far: ok, early or late by how many
// milliseconds, missed, or what was wrong.
func (p *Page) marks(bar, cell int) string {
	beats := p.session.Arrangement().Tune.Meter.Beats()
	half := cell / 2
	row := ""
	for i := range beats {
		row += fit(p.mark(tune.Position{Bar: bar, Beat: i + 1}), half)
		row += fit(p.mark(tune.Position{Bar: bar, Beat: i + 1, Off: true}), cell-half)
	}
	return row
}

// The marks of a verdict, told apart without colour.
var markText = map[take.Verdict]string{
	take.Missed: "--", take.NotHeard: "..", take.WrongString: "str", take.WrongOctave: "oct", take.WrongPitch: "bad",
}

func (p *Page) mark(at tune.Position) string {
	for _, kind := range []fretboard.Kind{fretboard.BassEvent, fretboard.ShapeEvent} {
		m, ok := p.session.MarkOf(at, kind)
		if !ok {
			continue
		}
		if m.Verdict == take.Matched {
			if kind == fretboard.BassEvent && p.shapeFault(at) {
				continue
			}
			return p.theme.Role(fretboard.Right).Render(fmt.Sprintf("%+.0f", ms(m.Offset)))
		}
		return p.theme.Role(fretboard.Wrong).Render(markText[m.Verdict])
	}
	return ""
}

// shapeFault reports whether the shape struck at a place went wrong, which then
// is what the mark says.
func (p *Page) shapeFault(at tune.Position) bool {
	m, ok := p.session.MarkOf(at, fretboard.ShapeEvent)
	return ok && m.Verdict != take.Matched
}

// drawNeck draws what is to be held now, and the next bass place ahead.
func (p *Page) drawNeck(at shown) string {
	a := p.session.Arrangement()
	here := tune.Position{Bar: p.here(), Beat: 1}
	if at.state == sound.Playing {
		here = tune.Position{Bar: at.bar, Beat: at.beat, Off: at.off}
	}
	now, next := around(a, here, p.session.Bars())
	var marks []fretboard.Mark
	for _, e := range now {
		for s, fret := range e.Frets {
			if fret >= 0 {
				place := fretboard.Place{String: len(e.Frets) - s, Fret: fret}
				marks = append(marks, fretboard.Mark{Place: place, Text: p.neck.DegreeAt(place, e.Chord).String(), Role: fretboard.Right})
			}
		}
		marks = append(marks, fretboard.Mark{Place: e.Place, Text: e.Degree.String(), Role: fretboard.Right})
	}
	if next != nil {
		marks = append(marks, fretboard.Mark{Place: next.Place, Text: next.Degree.String(), Role: fretboard.Next})
	}
	return neck.Draw(p.theme, neck.Drawing{Neck: p.neck, Marks: marks, Width: p.width - 4})
}

// around finds the events that sound at a place in the loop and the bass note
// after them, which is the loop's first at its end.
func around(a *fretboard.Arrangement, here tune.Position, loop take.Bars) (now []*fretboard.Event, next *fretboard.Event) {
	var first *fretboard.Event
	for i := range a.Events {
		e := &a.Events[i]
		if e.At.Bar < loop.First || e.At.Bar > loop.Last {
			continue
		}
		if first == nil && e.Kind == fretboard.BassEvent {
			first = e
		}
		if after(e.At, here) {
			if e.Kind == fretboard.BassEvent {
				return now, e
			}
			continue
		}
		if len(now) > 0 && now[0].At != e.At {
			now = now[:0]
		}
		now = append(now, e)
	}
	return now, first
}

func after(a, b tune.Position) bool {
	if a.Bar != b.Bar {
		return a.Bar > b.Bar
	}
	if a.Beat != b.Beat {
		return a.Beat > b.Beat
	}
	return a.Off && !b.Off
}

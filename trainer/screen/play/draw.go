package play

import (
	"fmt"

	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/screen/bars"
	"footfall/trainer/screen/neck"
	"footfall/trainer/sound"
)

// drawBars draws as many bars as there is room for, the present one among them,
// with the marks of what was heard below.
func (p *Page) drawBars(at shown, rows int) []string {
	loop := p.along.Bars()
	c := bars.Chart{
		Arrangement: p.along.Arrangement(), Form: p.form, First: loop.First, Last: loop.Last, Width: p.width, Height: rows,
		At: tune.Position{Bar: p.here(), Beat: 1},
	}
	if at.state == sound.Playing {
		c.At, c.Picked = tune.Position{Bar: at.bar, Beat: at.beat, Off: at.off}, true
	}
	if p.along.Listens() {
		c.Heard = p.mark
	}
	return bars.Draw(p.theme, c)
}

// The marks of a verdict, told apart without colour.
var markText = map[take.Verdict]string{
	take.Missed: "--", take.NotHeard: "..", take.Unsure: "??", take.WrongString: "str", take.WrongOctave: "oct", take.WrongPitch: "bad",
}

func (p *Page) mark(at tune.Position) string {
	if p.along.Free() {
		return p.verdict(at)
	}
	for _, kind := range []fretboard.Kind{fretboard.BassEvent, fretboard.ShapeEvent} {
		m, ok := p.along.MarkOf(at, kind)
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
	m, ok := p.along.MarkOf(at, fretboard.ShapeEvent)
	return ok && m.Verdict != take.Matched
}

// drawNeck draws what is to be held now, and the next bass place ahead.
func (p *Page) drawNeck(at shown) string {
	a := p.along.Arrangement()
	here := tune.Position{Bar: p.here(), Beat: 1}
	if at.state == sound.Playing {
		here = tune.Position{Bar: at.bar, Beat: at.beat, Off: at.off}
	}
	now, next := around(a, here, p.along.Bars())
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
	return neck.Draw(p.theme, neck.Drawing{Neck: p.neck, Marks: marks, Width: p.width - 4, Height: p.height / 3})
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
		if after(e.When(), here) {
			if e.Kind == fretboard.BassEvent {
				return now, e
			}
			continue
		}
		if len(now) > 0 && now[0].When() != e.When() {
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

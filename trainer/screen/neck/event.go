package neck

import (
	"fmt"
	"math"
	"strings"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

// Event marks what an event of an arrangement plays, in the places of a neck: its degrees,
// or its fingers.
func Event(n fretboard.Neck, e *fretboard.Event, fingers bool, role fretboard.Role) []fretboard.Mark {
	if e.Kind == fretboard.ShapeEvent {
		if fingers {
			return Shape(n, e.Frets, e.Fingers, e.Chord, role)
		}
		return Shape(n, e.Frets, nil, e.Chord, role)
	}
	text := e.Degree.String()
	if fingers {
		text = fmt.Sprint(e.Finger)
	}
	return []fretboard.Mark{{Place: e.Place, Text: text, Role: role}}
}

// Shape marks a shape, frets and fingers low string first, with its degrees over a chord;
// with its fingers where they are given.
func Shape(n fretboard.Neck, frets, fingers []int, over harmony.Chord, role fretboard.Role) (marks []fretboard.Mark) {
	for s, fret := range frets {
		if fret < 0 {
			continue
		}
		at := fretboard.Place{String: len(frets) - s, Fret: fret}
		text := n.DegreeAt(at, over).String()
		if s < len(fingers) {
			text = fmt.Sprint(fingers[s])
		}
		marks = append(marks, fretboard.Mark{Place: at, Text: text, Role: role})
	}
	return marks
}

// more writes a difference in whole numbers; none is "+0".
func more(cost float64) string { return fmt.Sprintf("%+d", int(math.Round(cost))) }

// Choices lists shapes to choose from at a hit over a chord, those around the one picked,
// with what each costs the hand and the voices beside the first; in so many rows, a heading
// among them.
func Choices(t *theme.Theme, n fretboard.Neck, over harmony.Chord, all []fretboard.Choice, picked, rows int) []string {
	line := func(pointer, number, frets, degrees, hand, voices string) string {
		return fmt.Sprintf("  %s %5s  %-*s  %-16s  %8s  %8s", pointer, number, 3*len(n.Tuning)-1, frets, degrees, hand, voices)
	}
	lines := []string{t.Dim.Render(line(" ", "shape", "frets", "degrees", "the hand", "the voices"))}
	count := min(len(all), rows-1)
	first := max(0, min(picked-count/2, len(all)-count))
	for i := first; i < first+count; i++ {
		c, pointer, look := all[i], " ", t.Text
		if i == picked {
			pointer, look = t.Glyphs.Pointer, t.Selected
		}
		var degrees []string
		for _, m := range Shape(n, c.Frets, nil, over, fretboard.Plain) {
			degrees = append(degrees, m.Text)
		}
		lines = append(lines, page.Clickable(page.Row, i, look.Render(line(pointer, fmt.Sprint(i+1), fretboard.FormatFrets(c.Frets), strings.Join(degrees, " "),
			more(c.Hand-all[0].Hand), more(c.Voices-all[0].Voices)))))
	}
	return lines
}

package neck

import (
	"fmt"
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

// Choices lists shapes to choose from at a hit over a chord, those around the one picked,
// with what each asks of the hand and how the voices lead beside the first; in so many rows,
// a heading among them.
func Choices(t *theme.Theme, n fretboard.Neck, over harmony.Chord, all []fretboard.Choice, picked, rows int) []string {
	line := func(pointer, number, frets, degrees, hand, voices string) string {
		return fmt.Sprintf("  %s %5s  %-*s  %-16s  %-12s  %s", pointer, number, 3*len(n.Tuning)-1, frets, degrees, hand, voices)
	}
	lines := []string{t.Dim.Render(line(" ", "shape", "frets", "degrees", "for the hand", "voice leading"))}
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
		hand, voices := "as arranged", ""
		if i > 0 {
			hand, voices = c.HandBeside(all[0]), c.VoicesBeside(all[0])
		}
		lines = append(lines, page.Clickable(page.Row, i, look.Render(line(pointer, fmt.Sprint(i+1), fretboard.FormatFrets(c.Frets), strings.Join(degrees, " "), hand, voices))))
	}
	return lines
}
